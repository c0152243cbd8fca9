"""Pictures in words, for whoever does not see them: where each yarn lies, and what was changed."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.calling.words.numbers import counted
from caller.pattern.chart import box
from caller.pattern.pattern import Pattern

MOST_TOLD = 5
_MOSTLY = 0.5
"""The share of a yarn in one part of the piece from which it is said to lie mostly there."""
_EIGHT = np.ones((3, 3), dtype=int)  # stitches that touch at a corner hang together, as seen


@dataclass(frozen=True)
class Patch:
    """Stitches that hang together: how many, and the rows and needles between which they lie.

    Rows are numbered from 1, needles are the bed's labels; `before` and `after` are the yarns'
    names, the most common ones.
    """

    stitches: int
    first_row: int
    last_row: int
    first_needle: str
    last_needle: str
    before: str
    after: str


def yarns_in_words(pattern: Pattern) -> Iterator[str]:
    """Each yarn: its share of the stitches, and where in the piece, as it hangs, it lies."""
    cells = pattern.chart.cells
    for number, yarn in enumerate(pattern.yarns):
        mine = cells == number
        share = mine.sum() / pattern.chart.in_work
        told = "under 1" if share < 0.01 else f"{share * 100:.0f}"
        yield f"{yarn.name}: {told} percent of the stitches, {_where(pattern, mine)}{_part(mine)}."


def changed_patches(pattern: Pattern, after: NDArray[np.uint8]) -> list[Patch]:
    """Where stitches of the chart were given to other yarns, the largest places first.

    `after` (rows, stitches) holds the new numbers of the same yarns.
    """
    from scipy.ndimage import find_objects, label

    before = pattern.chart.cells
    places, _ = label(before != after, _EIGHT)
    names = [yarn.name for yarn in pattern.yarns]
    found = []
    for number, (rows, columns) in enumerate(find_objects(places), start=1):
        here = places[rows, columns] == number
        old, new = (
            names[int(np.bincount(cells[rows, columns][here]).argmax())]
            for cells in (before, after)
        )
        ends = (columns.start, columns.stop - 1)
        first, last = (pattern.bed.label(pattern.script.first_needle + end) for end in ends)
        patch = Patch(int(here.sum()), rows.start + 1, rows.stop, first, last, old, new)
        found.append(patch)
    return sorted(found, key=lambda patch: (-patch.stitches, patch.first_row))


def changes_in_words(patches: list[Patch]) -> Iterator[str]:
    """The largest patches, a line each, and how many more there are."""
    for patch in patches[:MOST_TOLD]:
        yield (
            f"{_rows(patch.first_row, patch.last_row)}, "
            f"{_needles(patch.first_needle, patch.last_needle)}: "
            f"{counted(patch.stitches, 'stitch', 'stitches')}, {patch.before} before, "
            f"{patch.after} after."
        )
    more = patches[MOST_TOLD:]
    if more:
        stitches = sum(patch.stitches for patch in more)
        yield (
            f"And {counted(len(more), 'smaller place')} with "
            f"{counted(stitches, 'stitch', 'stitches')} in all."
        )


def _where(pattern: Pattern, mine: NDArray[np.bool_]) -> str:
    rows, columns = box(mine)
    ends = (columns.start, columns.stop - 1)
    first, last = (pattern.bed.label(pattern.script.first_needle + end) for end in ends)
    lying = _rows(rows.start + 1, rows.stop)
    return f"{lying[0].lower()}{lying[1:]}, {_needles(first, last)}"


def _part(mine: NDArray[np.bool_]) -> str:
    """ ", mostly low down and on the left" where that is so."""
    told = []
    for axis, names in (
        (1, ("low down", "halfway up", "high up")),
        (0, ("on the left", "in the middle", "on the right")),
    ):
        thirds = [part.sum() for part in np.array_split(mine.sum(axis=axis), 3)]
        largest = int(np.argmax(thirds))
        if thirds[largest] > _MOSTLY * mine.sum():
            told.append(names[largest])
    return f", mostly {' and '.join(told)}" if told else ""


def _rows(first: int, last: int) -> str:
    return f"Row {first}" if first == last else f"Rows {first} to {last}"


def _needles(first: str, last: str) -> str:
    return f"at {first}" if first == last else f"from {first} to {last}"
