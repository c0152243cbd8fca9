"""Random commands against a model of the place: commands.py [--commands 100000] [--seed 1]

Spoken (as phrases that were recognised), typed, pressed and from pedals, mixed, with pauses between
them that are in a hurry, usual, and longer than a question waits; what is misheard or means nothing
is among them, and news and failures come between. Each goes through `loop.run` with the files that
keep the place, on random small pieces. `place_model.py` says after each where the knitter must be.
Every so often the session is dropped without a word, or left, and begun anew from what was kept.
Prints how many were tried and at how many the place, the waiting question, the marks or the kept
history were not as the model has them.
"""

import argparse
import random
import re
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from paired import tiny

sys.path.insert(0, str(Path(__file__).parent.parent))
from place_model import KEYS, MOVES, TELLS, Model, Piece, parts
from silent_voice import SilentVoice

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import News, NotQuiteHeard, Pressed, Spoken, Trouble, Typed, Unknown
from caller.calling.state import State, Told
from caller.calling.words.finishing import finishing_steps
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.history import History
from caller.devices.storage.journal import FileJournal
from caller.errors import SoundError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, SupplyRules
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

A_PIECE = 1_000
"""So many commands are tried on one piece."""
PAUSES_S = (0.2, 0.2, 2.0, 5.0, 8.0, 29.0, 31.0, 400.0)
DROPPED = 0.01
"""The part of the commands at which the session is dropped."""
YARNS = tuple(Yarn(name, colour) for name, colour in (("navy", "#1b2a4a"), ("rust", "#a0522d")))
ON_THE_SIDE = ("mark", "remark")
"""Kept in the history, and no moves."""
_ON_THE_PAGE = ("pagedown", "up", "pageup", "y")
_QUESTIONS = ("row", "unravel", "needle", "happened")
_TEXTS = ("mark", "remark")
_WORDS = ("check the edge", "loose", "next", "7")


class Dropped(BaseException):
    """The session is no more, as if its process had been killed."""


class Knitter:
    """Gives a session its events, one at a time, and compares after each; fulfils `Events`."""

    def __init__(
        self, chance: random.Random, pattern: Pattern, settings: CallSettings, commands: int
    ) -> None:
        self.chance, self.now_s = chance, 0.0
        self.begins = [_portions(pattern, row, settings.runs_at_once) for row in _rows(pattern)]
        ends = len(_runs(pattern, 1))
        self.hung = parts(ends, settings.runs_at_once or ends) if ends > 1 else []
        steps = len(finishing_steps(pattern, settings))
        piece = Piece(tuple(map(len, self.begins)), len(self.hung), steps)
        self.model = Model(piece)
        self.state: State | None = None
        self.shown = ""
        self.moves: list[tuple[int, int, str, str]] = []
        self.wrong: list[str] = []
        self.left_to_try = commands
        self.last: object = "the beginning"

    def put(self, event: object) -> None:
        self._lost(str(event))

    def watch(self, told: Told) -> None:
        self.state = told.answer.state

    def show(self, line: str) -> None:
        self.shown = line

    def begin(self) -> None:
        self.model, self.last = self.model.begun(self.now_s), "the beginning"
        self.moves.append((*self.place(), "start", ""))

    def place(self) -> tuple[int, int]:
        model = self.model
        if model.finished:
            return model.row, 0 if model.step is None else model.step + 1
        return model.row, self.begins[model.row - 1][model.portion]

    def get(self, timeout: float | None = None) -> Any:  # noqa: ARG002 (the queue's)
        self.compare()
        if not self.left_to_try or self.chance.random() < DROPPED:
            raise Dropped
        self.left_to_try -= 1
        self.now_s += self.chance.choice(PAUSES_S)
        before, (event, source, self.model) = self.place(), self._next()
        self.last, self.shown = event, ""
        if self.place() != before or self.model.left:
            self.moves.append((*self.place(), self.model.by, source))
        return event

    def _next(self) -> tuple[object, str, Model]:
        """What comes next, where from, and where it leads."""
        chance, model, now_s = self.chance, self.model, self.now_s
        match chance.choices(("word", "line", "key", "pedal", ""), (4, 3, 4, 2, 1))[0]:
            case "word":
                command, number = self._command()
                rival = self._number(command) if number and chance.random() < 0.4 else ""
                rival = "" if rival == number else rival
                close = bool(rival) and chance.random() < 0.6
                spoken = Spoken(Command(command), number, rival, close)
                return spoken, "word", model.spoken(command, number, rival, close, now_s)
            case "line":
                command, number = self._command()
                words = chance.choice(("", "", *_WORDS)) if command in _TEXTS else number
                line = chance.choice((f"{command} {words}".strip(),) * 6 + ("12", "", "sideways"))
                return Typed(line), "line", model.typed(line, now_s)
            case "key":
                digits = model.spelling is not None and chance.random() < 0.8
                key = chance.choice((*"0123", "l", "enter", "backspace") if digits else _PRESSED)
                paged = key in _ON_THE_PAGE and chance.random() < 0.5
                source = "page" if paged else "key"
                return Pressed(key, paged), source, model.pressed(key, now_s)
            case "pedal":
                command = chance.choice(MOVES)
                return Command(command), "pedal", model.pedal(command, now_s)
        news = News("The microphone is back."), Trouble(SoundError("It is gone", "wait."))
        return chance.choice((*news, NotQuiteHeard(), Unknown("F13"))), "", model

    def _command(self) -> tuple[str, str]:
        chance = self.chance
        command = chance.choices(
            (*MOVES, *_QUESTIONS, "yes", *_TEXTS, "finish", "pause", "listen", "leave", "tells"),
            (30, 10, 4, 10, 8, 2, 2, 12, 3, 1, 4, 1, 3, 1, 6),
        )[0]
        if command == "tells":
            return chance.choice(TELLS), ""
        return command, self._number(command)

    def _number(self, command: str) -> str:
        if command in ("needle", "happened"):
            return self.chance.choice(("L1", "R2", "R90"))
        if command not in ("row", "unravel"):
            return ""
        return str(self.chance.randint(0, self.model.piece.rows + 2))

    def compare(self) -> None:
        if (told := self._told()) != (wanted := self._wanted()):
            self._lost(f"{told}, and not {wanted}")
        row = re.search(r"Row (\d+), going (left|right)", self.shown)
        way = "right" if self.model.row % 2 else "left"
        if row and (int(row[1]), row[2]) != (self.model.row, way) and not _ahead(self.last):
            self._lost(f"{self.shown!r}, at row {self.model.row}")

    def _lost(self, what: str) -> None:
        """All that comes after is wrong too: this piece is not gone on with."""
        self.wrong.append(f"after {self.last}: {what}")
        self.left_to_try = 0

    def _told(self) -> tuple[object, ...]:
        state = self.state
        assert state is not None
        asked, spelled = state.question, state.spelling
        question = asked and (asked.command.value, asked.row, asked.count, asked.other)
        spelling = spelled and (spelled.command.value, spelled.keys)
        remarks = {row: state.remarks.get(row, "") for row in state.marked}
        place = state.place.row, state.place.run
        return place, state.setting_up, question, spelling, state.listening, remarks

    def _wanted(self) -> tuple[object, ...]:
        model, asked = self.model, self.model.question
        question = asked and (asked.command, asked.row, asked.count, asked.other)
        hanging = None if model.hanging is None else self.hung[model.hanging]
        return self.place(), hanging, question, model.spelling, model.listening, dict(model.remarks)


_PRESSED = (*sorted(set(KEYS) - {"e"}), "9", "z")


def _ahead(event: object) -> bool:
    """Whether what was asked tells a later row."""
    return event in (Typed("changes"), Pressed("c"), Spoken(Command.CHANGES))


def _rows(pattern: Pattern) -> range:
    return range(1, pattern.chart.rows + 1)


def _runs(pattern: Pattern, row: int) -> list[int]:
    """The yarns of a row as they follow one another, counted from the chart."""
    cells = pattern.chart.cells[row - 1]
    return [int(yarn) for yarn, before in zip(cells, (-1, *cells), strict=False) if yarn != before]


def _portions(pattern: Pattern, row: int, most: int) -> list[int]:
    return parts(len(_runs(pattern, row)), most or pattern.chart.stitches)


def a_piece(chance: random.Random) -> tuple[Pattern, CallSettings]:
    rows, stitches = chance.randint(1, 9), chance.randint(1, 12)
    cells = np.array([[chance.randrange(2) for _ in range(stitches)] for _ in range(rows)])
    pattern = Pattern(
        "Piece",
        Chart(cells.astype(np.uint8)),
        YARNS,
        supply_rules=SupplyRules(max_carry=0),
    )
    settings = CallSettings(runs_at_once=chance.randint(0, 4), signals="off", rest_minutes=0)
    return pattern, replace(settings, numbers_heard=True)


def tried(seed: int, folder: Path, commands: int = A_PIECE) -> Iterator[str]:
    """So many commands on one piece, session after session; what was wrong."""
    chance = random.Random(seed)
    pattern, settings = a_piece(chance)
    knitter = Knitter(chance, pattern, settings, commands)
    place, past = folder / f"{seed}.place", folder / f"{seed}.sqlite"
    while knitter.left_to_try:
        journal = FileJournal(place, pattern, history=past)
        kept = journal.read()
        desk = Desk(
            *(SilentVoice(), SilentLoudspeaker(), journal, knitter.show, knitter),
            clock=lambda: knitter.now_s,
            watch=knitter.watch,
        )
        knitter.begin()
        journal.row_times_s = lambda: ()  # type: ignore[method-assign]  # by another clock
        try:
            loop.run(pattern, desk, kept and kept.place, settings)
            knitter.compare()
            knitter.model = replace(knitter.model, left=False)
        except Dropped:
            pass
        finally:
            journal.close()
        work = History(past).work_at(place)
        assert work is not None
        moves = [
            (move.place.row, move.place.run, move.command, move.source)
            for move in History(past).moves(work.kept.work)
            if move.command not in ON_THE_SIDE
        ]
        if moves != knitter.moves:
            knitter.wrong.append(f"the history has {moves[-5:]}, and not {knitter.moves[-5:]}")
            knitter.moves = moves
        if knitter.wrong:
            break
    yield from (f"{seed}: {wrong}" for wrong in knitter.wrong)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--commands", type=int, default=tiny(A_PIECE, 100_000))
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--tiny", action="store_true", help="one piece, to show it runs")
    wishes = options.parse_args()
    pieces, wrong = max(1, wishes.commands // A_PIECE), []
    with tempfile.TemporaryDirectory(prefix="caller-commands-") as folder:
        for number in range(pieces):
            wrong += tried(wishes.seed * 1_000_000 + number, Path(folder))
            if number % 10 == 9:
                print(f"  {(number + 1) * A_PIECE} tried, {len(wrong)} wrong so far", flush=True)
    print(f"commands: {pieces * A_PIECE} tried on {pieces} pieces, {len(wrong)} wrong")
    for one in wrong:
        print(one)


if __name__ == "__main__":
    main()
