"""The place in the work, and the way from one place to the one after or before it."""

from dataclasses import dataclass

from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


@dataclass(frozen=True)
class Place:
    """The row being called: 1 to the number of rows, or one more when the picture is finished.

    `run` is the first run of the piece that is being called, 0 for the row's first; rows called
    whole stay at 0.
    """

    row: int
    run: int = 0


def settled(pattern: Pattern, settings: CallSettings, place: Place) -> Place:
    """The place as this pattern and pace have it: at the beginning of a piece of a row."""
    rows = pattern.script.rows
    if place.row > rows:
        return Place(rows + 1)
    row = max(1, place.row)
    run = min(max(0, place.run), run_count(pattern, row) - 1)
    return Place(row, _begin(settings, run))


def after(pattern: Pattern, settings: CallSettings, place: Place) -> Place:
    """The next piece of the row, or the next row; the end of the work stays where it is."""
    row, run = place.row, place.run + settings.runs_at_once
    if row > pattern.script.rows:
        return place
    if place.run < run < run_count(pattern, row):
        return Place(row, run)
    return Place(row + 1)


def before(pattern: Pattern, settings: CallSettings, place: Place) -> Place | None:
    """The piece before, or the last one of the row before; None at the very beginning."""
    if place.run > 0:
        return Place(place.row, max(0, place.run - settings.runs_at_once))
    if place.row == 1:
        return None
    return Place(place.row - 1, _begin(settings, run_count(pattern, place.row - 1) - 1))


def run_count(pattern: Pattern, row: int) -> int:
    starts = pattern.script.runs.starts
    return int(starts[row] - starts[row - 1])


def _begin(settings: CallSettings, run: int) -> int:
    return run - run % settings.runs_at_once if settings.runs_at_once else 0
