"""The place in the work, and the way from one place to the one after or before it."""

from dataclasses import dataclass

from caller.calling.portions import item_count, portion, portions
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


@dataclass(frozen=True)
class Place:
    """The row being called: 1 to the number of rows, or one more when the picture is finished.

    `run` is the first run of the portion that is being called, 0 for the row's first; rows called
    whole stay at 0. What is done at the edges before a row counts as a run, its first. When the
    picture is finished it is the step of the finishing that is told, counted from 1.
    """

    row: int
    run: int = 0


def settled(pattern: Pattern, settings: CallSettings, place: Place) -> Place:
    """The place as this pattern and pace have it: at the beginning of a portion of a row."""
    rows = pattern.script.rows
    if place.row > rows:
        return Place(rows + 1, max(0, place.run) if place.row == rows + 1 else 0)
    row = max(1, place.row)
    count = item_count(pattern, row)
    run = min(max(0, place.run), count - 1)
    return Place(row, portion(portions(pattern, settings, row), count, run)[0])


def finishing_step(pattern: Pattern, place: Place) -> int | None:
    """The step of the finishing that is told there, counted from 0; None where none is."""
    return place.run - 1 if place.row > pattern.script.rows and place.run > 0 else None


def after(pattern: Pattern, settings: CallSettings, place: Place) -> Place:
    """The next portion of the row, or the next row; the end of the work stays where it is."""
    row = place.row
    if row > pattern.script.rows:
        return place
    later = [run for run in portions(pattern, settings, row) if run > place.run]
    return Place(row, later[0]) if later else Place(row + 1)


def before(pattern: Pattern, settings: CallSettings, place: Place) -> Place | None:
    """The portion before, or the last one of the row before; None at the very beginning."""
    if place.run > 0:
        begins = portions(pattern, settings, place.row)
        return Place(place.row, max(run for run in begins if run < place.run))
    if place.row == 1:
        return None
    return Place(place.row - 1, portions(pattern, settings, place.row - 1)[-1])
