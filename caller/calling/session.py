"""The session as a pure function: the place, and what each command does to it."""

from dataclasses import dataclass

from caller.calling import wording
from caller.calling.commands import Command
from caller.calling.wording import Utterance
from caller.pattern.pattern import Pattern


@dataclass(frozen=True)
class Place:
    """The row being called: 1 to the number of rows, or one more when the picture is finished."""

    row: int


@dataclass(frozen=True)
class Answer:
    """What a command leads to: the new place, what is said, and whether the session ends.

    The loop keeps the place on the disk before it says a word.
    """

    place: Place
    say: Utterance
    leave: bool = False


def begin(pattern: Pattern, kept: int | None) -> Answer:
    """Open a session at the kept row, or at row 1 when none is kept."""
    rows = pattern.script.rows
    if kept is None:
        return Answer(Place(1), wording.opening(pattern) + _call(pattern, 1))
    if kept > rows:
        return Answer(Place(rows + 1), wording.finished(rows))
    return Answer(Place(kept), wording.carrying_on(kept, rows) + _call(pattern, kept))


def step(pattern: Pattern, place: Place, command: Command) -> Answer:
    """The answer to a command at a place. Total: every command has an answer at every place."""
    rows, row = pattern.script.rows, place.row
    match command:
        case Command.NEXT:
            return _at(pattern, row + 1)
        case Command.REPEAT:
            return _at(pattern, row)
        case Command.BACK if row == 1:
            return Answer(place, wording.first_row() + _call(pattern, 1))
        case Command.BACK:
            return _at(pattern, row - 1)
        case Command.WHERE if row > rows:
            return Answer(place, wording.finished(rows))
        case Command.WHERE:
            return Answer(place, wording.whereabouts(pattern.script.row(row), rows))
        case Command.HELP:
            return Answer(place, wording.help_text())
        case Command.LEAVE:
            return Answer(place, wording.leaving(row, rows), leave=True)


def _at(pattern: Pattern, row: int) -> Answer:
    """Call this row, or say that the picture is finished when it lies past the last."""
    rows = pattern.script.rows
    if row > rows:
        return Answer(Place(rows + 1), wording.finished(rows))
    return Answer(Place(row), _call(pattern, row))


def _call(pattern: Pattern, row: int) -> Utterance:
    return wording.row_call(pattern, pattern.script.row(row))
