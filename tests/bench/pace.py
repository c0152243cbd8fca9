"""How far voice and hand are apart: pace.py [--pattern sailing-boat] [--hand 4]

A simulated knitter follows the session of a demo pattern. Assumed, not observed: laying a yarn
takes 4 s on average (spread 30 %), begins when the clause has been heard, and one yarn comes after
the other; the pass of the carriage takes 5 s, a press or a word 0.5 s. The voice is espeak at the
default rate. Of rows of five yarns and more it prints, for each mode, how many yarns were said but
not yet laid at the worst moment of a row (what the knitter must hold in memory), how long the
hands wait for the voice in a row, and how long a row takes.
"""

import argparse
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from caller.calling.acts import row_acts
from caller.calling.commands import Command
from caller.calling.portions import portion, portions, run_count
from caller.calling.session import Answer, begin, step
from caller.calling.words.clauses import run_clauses
from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.pattern import Pattern
from caller.pattern.storage.pattern_file import load
from caller.settings import CallSettings

DEMOS = Path(__file__).parents[2] / "demo_patterns"
LONG = 5  # yarns in a row
PASS_S, PRESS_S, SPREAD = 5.0, 0.5, 0.3
MODES = {
    "whole rows": CallSettings(runs_at_once=0),
    "whole rows, a pause of 2 s": CallSettings(runs_at_once=0, pause_s=2.0),
    **{f"portions of {most}": CallSettings(runs_at_once=most) for most in (6, 5, 4, 3, 2, 1)},
    "portions of 4, following": CallSettings(follow=True),
}


@dataclass
class Knitter:
    """Hands that lay what they have heard, and what was measured, an entry a long row."""

    pattern: Pattern
    settings: CallSettings
    voice: EspeakVoice
    hand_s: float
    rows: int
    chance: np.random.Generator = field(default_factory=lambda: np.random.default_rng(5))
    held: list[int] = field(default_factory=list)
    waited_s: list[float] = field(default_factory=list)
    row_s: list[float] = field(default_factory=list)
    _spoken: dict[str, float] = field(default_factory=dict)

    def knit(self) -> None:
        now_s = 0.0
        answer = begin(self.pattern, self.settings, None, self.voice.rate_wpm, now_s)
        while answer.state.setting_up is not None:
            answer = step(self.pattern, self.settings, answer.state, Command.NEXT, now_s)
        while answer.state.place.row <= self.rows:
            now_s, answer = self._row(now_s, answer)

    def _row(self, began_s: float, answer: Answer) -> tuple[float, Answer]:
        """Knit a row from its first portion on; when the next one begins, and its answer."""
        row, heard_s, laid_s = answer.state.place.row, [], []
        free_s, begins_s = began_s, began_s
        while True:
            ends_s = self._hear(answer, begins_s, heard_s)
            for at_s in heard_s[len(laid_s) :]:
                free_s = max(free_s, at_s) + self._lays_s()
                laid_s.append(free_s)
            last = portions(self.pattern, self.settings, row)[-1] == answer.state.place.run
            if last:
                begins_s = max(free_s, ends_s) + PASS_S + PRESS_S
            elif answer.goes_on_s is not None:
                begins_s = max(ends_s, begins_s + answer.goes_on_s)
            else:
                begins_s = max(free_s, ends_s) + PRESS_S
            answer = step(self.pattern, self.settings, answer.state, Command.NEXT, begins_s)
            if last:
                break
        if len(laid_s) >= LONG:
            self.held.append(
                max(sum(laid > at_s for laid in laid_s[: n + 1]) for n, at_s in enumerate(heard_s))
            )
            busy_s = sum(np.diff([began_s, *laid_s])) - len(laid_s) * self.hand_s
            self.waited_s.append(float(busy_s))
            self.row_s.append(begins_s - began_s)
        return begins_s, answer

    def _hear(self, answer: Answer, begins_s: float, heard_s: list[float]) -> float:
        """Note when each yarn of the portion has been said; when all has been said."""
        place = answer.state.place
        acts = row_acts(self.pattern, place.row)
        count = run_count(self.pattern, place.row)
        first, last = portion(portions(self.pattern, self.settings, place.row), count, place.run)
        runs = run_clauses(self.pattern, acts, self.settings)[first:last]
        waiting = [clause.said for clause in runs]
        at_s = begins_s
        for clause in answer.say:
            at_s += self._says_s(clause.said)
            if waiting and clause.said == waiting[0]:
                heard_s.append(at_s)
                waiting.pop(0)
            at_s += clause.pause_s
        heard_s += [at_s] * len(waiting)  # plain rows are not told yarn by yarn
        return at_s

    def _says_s(self, text: str) -> float:
        if text not in self._spoken:
            self._spoken[text] = sum(block.seconds for block in self.voice.render(text))
        return self._spoken[text]

    def _lays_s(self) -> float:
        return self.hand_s * float(self.chance.lognormal(-(SPREAD**2) / 2, SPREAD))


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--pattern", default="sailing-boat")
    options.add_argument("--hand", type=float, default=4.0, help="seconds to lay a yarn")
    options.add_argument("--tiny", action="store_true", help="a few rows, to see that it runs")
    chosen = options.parse_args()
    pattern = load(DEMOS / f"{chosen.pattern}.toml")
    rows = min(8, pattern.script.rows) if chosen.tiny else pattern.script.rows
    voice = EspeakVoice()
    print("| mode | held at the worst, mean and most | hands wait, s a row | a row, s |")
    print("|---|---|---|---|")
    for name, settings in MODES.items():
        knitter = Knitter(pattern, settings, voice, chosen.hand, rows)
        knitter.knit()
        held, waited, took = map(np.array, (knitter.held, knitter.waited_s, knitter.row_s))
        told = f"{held.mean():.1f}, {held.max()} | {waited.mean():.1f} | {took.mean():.1f}"
        print(f"| {name} | {told} |", flush=True)


if __name__ == "__main__":
    main()
