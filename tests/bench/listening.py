"""How well spoken commands are heard: python tests/bench/listening.py [--engine NAME]

Prints one table: hits and wrong answers of every word through noise, rooms and the caller's own
voice; what strangers and other people's talk set off; how late, how dear. Thresholds may be chosen
with --tune, which uses other speakers and other talk than the table does.

Everything is made or fetched by itself (speakers.py and negatives.py say from where) and kept in
the user's cache: the first run takes about an hour, the next minutes; --quick takes minutes at
once. Synthetic speakers, no real microphone: optimistic figures.
"""

import argparse
import json
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
import conditions
import costs
import human_words
import negatives
import speakers
import trials
from engines import HEARD_TAKES, Beside, Engine, English, Own, Sphinx, Vosk, opening
from speakers import Speaker

from caller.calling.commands import PHRASES
from caller.errors import CallerError

AIMS = {
    "english": "clean 98 %, carriage 10 dB 95 %, 5 dB 85 %, ratchet and machines 10 dB 90 %, "
    "room 0.5 s 1 m 90 %, 20 dB softer 95 %, wrong <= 0.2 %, <= 0.5 false accepts an hour",
    "beside": "as english, and <= 2 false accepts an hour in the owner's own talk",
    "own": "98 % clean, 90 % carriage 10 dB, wrong <= 0.5 %, <= 0.5 false accepts an hour, "
    "decision <= 0.45 s, < 10 % of a core, 250 MB",
    "pocketsphinx": "<= 4 false accepts an hour",
    "vosk": "none set",
}


def words(engine: Engine, people: Sequence[Speaker], asked: argparse.Namespace) -> dict[str, Any]:
    tried = conditions.conditions()
    if asked.quick:
        tried = [one for one in tried if one.name in ("clean", "pink 10 dB", "carriage 10 dB")]
    if asked.only:
        tried = [one for one in tried if one.name in ("clean", *asked.only)]
    heard = trials.say_words(engine, people, tried, HEARD_TAKES[: asked.takes], asked.every)
    print(f"\n{engine.name}: {len(engine.words)} words, {len(people)} speakers; aims: ", end="")
    print(AIMS[engine.name])
    print(f"  {'':18} {'hit':32} {'wrong':28} close  decision s (median, 95th)")
    for name, one in heard.items():
        late = np.percentile(one.late_s, [50, 95]) if one.late_s else [np.nan, np.nan]
        print(f"  {name:18} {one.hit!s:32} {one.mistaken!s:28} {one.close:5}  ", end="")
        print(f"{late[0]:.2f}, {late[1]:.2f}")
    for name, one in heard.items():
        if name not in ("clean", "carriage 10 dB"):
            continue
        shares = ", ".join(f"{word} {one.hits[word]}/{one.words[word]}" for word in engine.words)
        print(f"  hits by word, {name}: {shares}")
        worst = one.worst_words().items()
        told = ", ".join(f"{who} {word} {hits}/{of}" for who, (word, hits, of) in worst)
        print(f"  each speaker's worst word, {name}: {told}")
    return {
        name: {
            "said": dict(one.words),
            "hits": dict(one.hits),
            "wrong": dict(one.wrong),
            "close": one.close,
            "late_s": [round(float(late), 3) for late in np.sort(one.late_s)],
        }
        for name, one in heard.items()
    }


def talk_of(part: str, readers: list[Speaker], quick: bool) -> dict[str, Callable[[], list[Any]]]:
    """The talk that there is, by the name of its source."""
    found: dict[str, Callable[[], list[Any]]] = {}
    for source in negatives.SOURCES:
        if source.part == ("report" if part == "report" else "choose") and (
            not quick or "English" in source.name
        ):
            found[source.name] = lambda source=source: negatives.talk(source)
    fast = [reader for reader in readers if reader.engine != "kokoro"]
    if part == "report" and not quick:
        found["licence, read by synthesis"] = lambda: negatives.licence_read(fast)
    return found


def talk(
    engine: Engine,
    people: Sequence[Speaker],
    part: str,
    quick: bool,
    most: float = 30.0,
    only: Sequence[str] = (),
    gap_s: float = trials.GAP_IN_TALK_S,
) -> dict[str, dict[str, Any]]:
    """What the talk of a part sets off, at most so many minutes of each source, or of these."""
    owners = _one_of_each_kind(people) if engine.personal else people[:1]
    listeners = [opening(engine, owner) for owner in owners]
    total = trials.Passed()
    print(f"  other people's talk, to {len(listeners)} recogniser(s) in turn:")
    kept = {}
    for name, sounds_of in talk_of(part, list(people), quick).items():
        if only and name not in only:
            continue
        try:
            sound = negatives.first_minutes(sounds_of(), most)
        except (ImportError, OSError, subprocess.CalledProcessError) as error:
            print(f"    {name}: left out ({error})")
            continue
        passed = trials.let_pass(listeners, sound, f"{engine.name}: {name}", gap_s)
        total.hours += passed.hours
        total.segments += passed.segments
        total.accepted += passed.accepted
        total.unasked += passed.unasked
        kept[name] = _told(name, passed)
    kept["all"] = _told("all", total)
    return kept


def _one_of_each_kind(people: Sequence[Speaker]) -> list[Speaker]:
    return list({one.engine: one for one in people}.values())


def _told(name: str, passed: trials.Passed) -> dict[str, Any]:
    print(
        f"    {name:28} {passed.hours * 60:5.1f} min, {passed.segments:5} segments: {passed.rate} "
        f"{dict(passed.accepted) or ''}"
        + (f", {passed.unasked} passed over where nothing was asked" if passed.unasked else ""),
        flush=True,
    )
    return {
        "hours": passed.hours,
        "segments": passed.segments,
        "accepted": dict(passed.accepted),
        "unasked": passed.unasked,
    }


def own_calls(engine: Engine, people: Sequence[Speaker]) -> dict[str, Any]:
    """The caller's own clauses with quiet between, harder than the running speech they are."""
    listeners = [opening(engine, people[0])]
    label = f"{engine.name}: own calls"
    return _told(
        "the caller's own clauses", trials.let_pass(listeners, negatives.own_clauses(), label)
    )


def tune(engine: Engine, people: Sequence[Speaker], quick: bool) -> None:
    """Hits, wrong answers and false accepts over the strictness, on the part for choosing."""
    tried = [one for one in conditions.conditions() if one.name in ("clean", "carriage 10 dB")]
    for strictness in (0, 25, 50, 75, 100):
        stricter = Own(strictness, engine.words)
        heard = trials.say_words(stricter, people, tried, HEARD_TAKES)
        print(f"\nstrictness {strictness}")
        for name, one in heard.items():
            print(f"  {name:18} hit {one.hit}, wrong {one.mistaken}")
        talk(stricter, people, "choose", quick)


def opened(asked: argparse.Namespace) -> list[Engine]:
    """The engines asked for that open here; why the others do not goes to standard error."""
    found: list[Engine] = []
    makers: dict[str, Callable[[], Engine]] = {
        "own": lambda: Own(words=PHRASES) if asked.phrases else Own(),
        "english": English,
        "beside": lambda: Beside(taught=PHRASES) if asked.phrases else Beside(),
        "pocketsphinx": Sphinx,
        "vosk": lambda: Vosk(asked.model),
    }
    for name in [asked.engine] if asked.engine else list(makers):
        if name == "vosk" and asked.model is None:
            print("vosk: left out (give a folder with --model)", file=sys.stderr)
            continue
        try:
            engine = makers[name]()
            engine.recogniser_of(speakers.speakers()[0])
        except (CallerError, ImportError) as error:
            print(f"{name}: left out ({error})", file=sys.stderr)
            continue
        found.append(engine)
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--engine", choices=sorted(AIMS), help="only this one")
    parser.add_argument("--model", type=Path, help="folder of a Vosk model")
    parser.add_argument(
        "--part",
        choices=("choose", "check", "report"),
        default="check",
        help="speakers and talk; the report is run once, when all is chosen (default check)",
    )
    parser.add_argument("--quick", action="store_true", help="fewer speakers, conditions and talk")
    parser.add_argument(
        "--every", type=int, default=2, help="noise and rooms by one word in so many (default 2)"
    )
    parser.add_argument("--takes", type=int, default=2, help="of each word, clean (default 2)")
    parser.add_argument(
        "--minutes",
        type=float,
        default=600.0,
        help="of each source of talk (default all); 0 for the words alone",
    )
    parser.add_argument(
        "--speaker", action="append", default=[], metavar="NAME", help="only this one"
    )
    parser.add_argument(
        "--source", action="append", default=[], metavar="NAME", help="talk of this source only"
    )
    parser.add_argument(
        "--gap",
        type=float,
        default=trials.GAP_IN_TALK_S,
        help="seconds of quiet between the lines of talk (default 0.5); from a second on each "
        "counts as said by itself",
    )
    parser.add_argument("--talk", action="store_true", help="other people's talk and nothing else")
    parser.add_argument("--phrases", action="store_true", help="teach all phrases in own voice")
    parser.add_argument(
        "--only",
        action="append",
        default=[],
        metavar="CONDITION",
        help='words clean and in this condition, such as "room 0.5 s", and nothing else',
    )
    parser.add_argument("--tune", action="store_true", help="own voice over its strictness")
    parser.add_argument("--json", type=Path, help="write the counts to this file")
    asked = parser.parse_args()
    parts = {part: speakers.speakers(part) for part in speakers.PARTS}
    if asked.quick:
        parts = {name: people[::4] for name, people in parts.items()}
    for name, people in parts.items():
        print(f"{name}: {len(people)} speakers: {', '.join(one.name for one in people)}")
    if asked.speaker:
        parts = {
            name: [one for one in people if one.name in asked.speaker]
            for name, people in parts.items()
        }
    if asked.tune:
        tune(Own(words=PHRASES) if asked.phrases else Own(), parts["choose"], asked.quick)
        return
    kept: dict[str, Any] = {}
    for engine in opened(asked):
        people = parts[asked.part]
        if asked.talk:
            found = talk(
                engine, people, asked.part, asked.quick, asked.minutes, asked.source, asked.gap
            )
            kept[engine.name] = {"talk": found}
            continue
        kept[engine.name] = {"words": words(engine, people, asked)}
        if asked.only or not asked.minutes:
            continue
        if engine.name == "english":
            human_words.told()
        if isinstance(engine, Own):
            right, wrong = trials.say_as_stranger(engine, people)
            print(f"  strangers say the same words: taken for it {right}, for another {wrong}")
        fast = [one for one in people if one.engine != "kokoro"]
        for kind, (share, taken) in trials.say_what_was_not_taught(engine, fast).items():
            print(f"  the speakers' own other words, {kind} the commands' names: {share} ", end="")
            print(dict(taken.most_common(12)) or "")
        kept[engine.name]["talk"] = talk(
            engine, people, asked.part, asked.quick, asked.minutes, asked.source, asked.gap
        )
        kept[engine.name]["own calls"] = own_calls(engine, people)
        kept[engine.name]["costs"] = costs.told(engine, people[0])
    if asked.json:
        asked.json.write_text(json.dumps(kept, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
