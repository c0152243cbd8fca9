"""What the caller says in a session, from the code that says it: small pieces, called in every
wording and asked everything.

Every clause and sentence is among it in some number and some yarn; what is told of a failure, and
the lessons, are not.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from typing import NamedTuple

import numpy as np

from caller.calling import beginning
from caller.calling.commands import BY_NUMBER, Command
from caller.calling.kept import Kept
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.spelling import Asked, Spelled
from caller.calling.state import Order, State
from caller.calling.words import sentences
from caller.calling.words.finishing import finishing_steps
from caller.calling.words.row_call import call, check_place
from caller.calling.words.utterance import Clause, Utterance, sentence
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.laying import laying_of
from caller.pattern.panels import PanelOf
from caller.pattern.pattern import Fabric, Pattern, SupplyRules
from caller.pattern.picture.colour_names import NAMES
from caller.pattern.yarns import Yarn
from caller.settings import FASTEST_WPM, SLOWEST_WPM, CallSettings, Wording

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
_PLAIN = (  # from the top; a, b and c are the yarns, a dot is out of work
    *("aaaaaaaa", "aaaaaaaa", "aabbacca", "aabacaba", "bbaaabba", "aaabbaaa", "aaabbaaa"),
    *("abbbbaaa", "ccaabbaa"),
)
_SHAPED = (
    *(".aaaaaa.....", "ccaabbaa....", "ccaabbaaaa..", ".caabbaaaa..", "..aabbaaaaaa"),
    *("..aaabbaaaaa", "....aaaacccc", "....aaaa...."),
)
_BOUND_OFF = ("....aaaaaaa.", ".aaaaaaaaaa.", "aaaaaaaaaaaa", "..aaaaaaaaaa", "..aaaaaaaa..")
_NUMBERS = {Command.ROW: ("2", "99"), Command.UNRAVEL: ("1", "3", "99", "x")}
_NEEDLES = ("L4", "R90", "x")
_ORDERS: tuple[Order, ...] = (
    *Command,
    *(
        Asked(command, number)
        for command in sorted(BY_NUMBER, key=lambda command: command.value)
        for number in _NUMBERS.get(command, _NEEDLES)
    ),
    *(Asked(command, "R1", "L3", True) for command in (Command.NEEDLE, Command.BOBBIN)),
    *(Asked(command, "1", "3", True) for command in (Command.ROW, Command.UNRAVEL)),
    Asked(Command.REMARK, "left sleeve"),
)
_KEYS = tuple(Spelled(key) for key in ("l", "r", "1", "space", "backspace", "enter"))
_SETTINGS = CallSettings(numbers="words", said=(), check_every_rows=2)
_ROWS = replace(_SETTINGS, crossings=True, runs_at_once=0)


class CallTexts(NamedTuple):
    """Sentences as they are said: those of the `rows`, which are heard all the time, and the
    `others`."""

    rows: tuple[str, ...]
    others: tuple[str, ...]


def names_of(pattern: Pattern | None = None) -> tuple[str, ...]:
    """What yarns are called: by the program, in its pieces, and in the pattern."""
    own = pattern.yarns if pattern else ()
    return tuple(dict.fromkeys((*NAMES, *(yarn.name for yarn in (*YARNS, *own)))))


def call_texts(pattern: Pattern | None = None) -> CallTexts:
    """What is said of any piece, and the title and the reminders of this pattern."""
    texts = _texts()
    if pattern is None:
        return texts
    own = (pattern.title, *(one.say for one in pattern.reminders))
    return CallTexts(texts.rows, (*texts.others, *own))


@cache
def _texts() -> CallTexts:
    rows = dict.fromkeys(one.said for one in _of_rows())
    others = dict.fromkeys(one.said for one in _of_sessions() if one.said not in rows)
    return CallTexts(tuple(rows), tuple(others))


def _piece(rows: tuple[str, ...], max_carry: int = 0, bed: Bed | None = None) -> Pattern:
    numbers = {".": NOT_IN_WORK, "a": 0, "b": 1, "c": 2}
    cells = np.array([[numbers[one] for one in row] for row in reversed(rows)], dtype=np.uint8)
    return Pattern(
        "A piece",
        Chart(cells),
        YARNS,
        bed or Bed(),
        Gauge(30, 40),
        fabric=Fabric(loop_mm=10),
        supply_rules=SupplyRules(max_carry, bobbin_m=0.6),
        panel=PanelOf(1, 2, 1),
    )


def _of_rows() -> Iterator[Clause]:
    wordings: tuple[Wording, ...] = ("short", "full", "changes")
    for piece in (_piece(_PLAIN, 2), _piece(_SHAPED), _piece(_BOUND_OFF)):
        for wording in wordings[: 2 if piece.chart.shaped else None]:
            settings = replace(_ROWS, wording=wording)
            for row in range(1, piece.script.rows + 1):
                yield from call(piece, settings, Place(row))
    yield from call(_piece(_PLAIN, bed=Bed(numbering="straight")), _ROWS, Place(2))


def _of_sessions() -> Iterator[Clause]:
    plain, shaped = _piece(_PLAIN, 2), _piece(_SHAPED)
    last = plain.script.rows
    yield from _session(plain, {1: _ORDERS, last // 2: _ORDERS, last: tuple(Command)})
    yield from _opened(plain, Place(last + 1))
    for piece in (shaped, _piece(_BOUND_OFF)):
        yield from begin(piece, _SETTINGS, None, SLOWEST_WPM).say
    yield from _opened(shaped, Place(3))
    for finishing in (*finishing_steps(plain, _SETTINGS), *finishing_steps(shaped, _SETTINGS)):
        yield from finishing
    yield from _alone(plain)


def _session(piece: Pattern, asked: Mapping[int, tuple[Order, ...]]) -> Iterator[Clause]:
    """A piece from its opening to its end, and what is `asked` at some rows."""
    last, now_s, answer = piece.script.rows, 0.0, begin(piece, _SETTINGS, None, SLOWEST_WPM)
    yield from answer.say
    while (place := answer.state.place).row <= last:
        if place.run == 0:
            for order in asked.get(place.row, ()):
                yield from _ordered(piece, answer.state, order)
        now_s += 60 * CallSettings.rest_minutes / (last - 1)
        answer = step(piece, _SETTINGS, answer.state, Command.NEXT, now_s)
        yield from answer.say


def _opened(piece: Pattern, kept: Place) -> Iterator[Clause]:
    """A piece opened at a place, and everything asked there."""
    answer = begin(piece, _SETTINGS, kept, SLOWEST_WPM)
    yield from answer.say
    for order in _ORDERS:
        yield from step(piece, _SETTINGS, answer.state, order).say


def _ordered(piece: Pattern, state: State, order: Order) -> Iterator[Clause]:
    """What is said to an order, at the beginning to the same again, and to each reply where it asks
    back."""
    answer = step(piece, _SETTINGS, state, order, spoken=True)
    yield from answer.say
    if state.place == Place(1):
        yield from step(piece, _SETTINGS, answer.state, order, spoken=True).say
    replies: tuple[Order, ...] = _KEYS if answer.state.spelling else ()
    if answer.state.question:
        replies = (Command.YES, Command.BACK)
    for reply in replies:
        yield from step(piece, _SETTINGS, answer.state, reply).say


def _alone(piece: Pattern) -> Iterator[Clause]:
    """What is said in no answer: at the beginning, the end, and where something goes wrong."""
    settings = _SETTINGS
    kept = Kept(Place(3), laying_of(piece), laying_of(piece), "", below="")
    other = replace(piece, chart=Chart(piece.chart.cells[:-1]))
    moved = replace(piece, first_needle="L6", first_direction="left")
    asked = (
        beginning.moved(piece, settings, kept, "a piece"),
        beginning.chart_changed(other, settings, kept),
        beginning.laying_changed(moved, settings, kept),
    )
    told: list[Utterance] = [one.asked for one in asked if one]
    told += [begin(piece, settings, place, SLOWEST_WPM).say for place in (Place(2), Place(99))]
    told += [begin(piece, settings, Place(4), SLOWEST_WPM, chosen=2).say]
    told += [beginning.as_chosen_before(moved, kept).told, sentences.for_help({})]
    told += [sentences.not_noted(3), sentences.not_understood(), sentences.marked_row()]
    told += [sentences.remarked(2, "left sleeve"), sentences.marked_row("left sleeve")]
    told += [sentences.marked(2, False, remark="left sleeve")]
    told += [sentences.hurried(check_place(piece, 2, settings), 2, 9)]
    every = [command.value for command in Command]
    told += [sentences.listening(now, {}, every) for now in (True, False)]
    told += [sentences.listening(False, {"": Command.NEXT})]
    told += [sentences.more_help({}, every)]
    told += [sentences.rate(wpm, fast) for fast, wpm in ((False, SLOWEST_WPM), (True, FASTEST_WPM))]
    told += [sentences.leaving(9, 8), sentences.finishing_ends(), sentence("I keep trying.")]
    return (one for utterance in told for one in utterance)
