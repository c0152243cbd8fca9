"""Which runs of a row are called together: as many as a memory holds while the hands lay them.

What is done at the edges of a shaped piece before a row is its first item, and its runs follow.
"""

from caller.calling.acts import row_acts
from caller.calling.changes import row_changes
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


def portions(pattern: Pattern, settings: CallSettings, row: int) -> tuple[int, ...]:
    """The first item of every portion of a row, counted from 0; (0,) where the row comes whole.

    A row in the changes wording comes whole, for what it leaves out cannot be told in part, and so
    does a row of one run. Casting on and binding off are told alone, for they take the hands long.
    """
    most, runs = settings.runs_at_once, run_count(pattern, row)
    if runs == 1 or changes_fit(pattern, settings, row):
        return (0,)
    if most and _takes_long(pattern, row):
        return (0, *(begin + 1 for begin in split(runs, most)))
    return split(item_count(pattern, row), most)


def split(count: int, most: int) -> tuple[int, ...]:
    """The beginnings of the fewest parts of at most so many; nearly equal, longer ones first.

    All together where `most` is 0.
    """
    parts = -(-count // most) if most else 1
    return tuple(-(-count * part // parts) for part in range(parts))


def portion(begins: tuple[int, ...], count: int, at: int) -> tuple[int, int]:
    """The portion with the item `at`: its first item, and the one after its last."""
    index = max(number for number, begin in enumerate(begins) if begin <= at)
    return begins[index], (*begins, count)[index + 1]


def changes_fit(pattern: Pattern, settings: CallSettings, row: int) -> bool:
    """Whether a row is told by what differs in it: where that is no more than one portion."""
    if settings.wording != "changes":
        return False
    changes = row_changes(pattern, row_acts(pattern, row))
    return changes is not None and len(changes) <= (settings.runs_at_once or len(changes))


def item_count(pattern: Pattern, row: int) -> int:
    """The runs of a row, and one more where its edges are shaped before it."""
    return run_count(pattern, row) + is_shaped(pattern, row)


def is_shaped(pattern: Pattern, row: int) -> bool:
    """Whether an edge is shaped before the row."""
    return pattern.chart.shaped and bool(pattern.script.shapings(row))


def _takes_long(pattern: Pattern, row: int) -> bool:
    """Whether stitches are cast on or bound off before the row."""
    return pattern.chart.shaped and any(
        done.kind in ("cast on", "bind off") for done in pattern.script.shapings(row)
    )


def run_count(pattern: Pattern, row: int) -> int:
    starts = pattern.script.runs.starts
    return int(starts[row] - starts[row - 1])
