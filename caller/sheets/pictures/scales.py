"""The scales along a piece: which needles and rows are labelled and ticked. All pure."""

from collections.abc import Sequence
from dataclasses import dataclass

from caller.pattern.bed import Bed

STEPS = (10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
"""Every 10th is labelled, or every so many more where that many labels find no room."""


@dataclass(frozen=True)
class Label:
    """A text at a place (a column or row, counted from 0)."""

    place: int
    text: str


@dataclass(frozen=True)
class Tick:
    """A tick at a place (a column or row, counted from 0); a tenth is longer."""

    place: int
    tenth: bool


def needle_labels(bed: Bed, first_needle: int, stitches: int, every: int = 10) -> tuple[Label, ...]:
    """The needles to label: both ends, then the two at the centre, then every 10th, by weight.

    `first_needle` is the bed position under column 0.
    """
    last = first_needle + stitches - 1
    tens = [at for at in range(first_needle, last + 1) if _number(bed, at) % every == 0]
    wanted = [first_needle, last, *bed.centre_needles, *tens]
    needles = dict.fromkeys(at for at in wanted if first_needle <= at <= last)
    return tuple(Label(at - first_needle, bed.label(at)) for at in needles)


def row_labels(rows: int, every: int = 10) -> tuple[Label, ...]:
    """The rows to label: the first, the last, then every 10th, by weight."""
    numbers = dict.fromkeys([1, rows, *range(every, rows + 1, every)])
    return tuple(Label(number - 1, str(number)) for number in numbers)


def needle_ticks(bed: Bed, first_needle: int, stitches: int) -> tuple[Tick, ...]:
    """The needles ticked: every 5th, by its number."""
    numbers = ((column, _number(bed, first_needle + column)) for column in range(stitches))
    return tuple(Tick(column, number % 10 == 0) for column, number in numbers if number % 5 == 0)


def row_ticks(rows: int) -> tuple[Tick, ...]:
    """The rows ticked: every 5th."""
    return tuple(Tick(number - 1, number % 10 == 0) for number in range(5, rows + 1, 5))


def step_for(room: float, needed: float) -> int:
    """The smallest step at which labels need no more than `room` pixels a place."""
    return next((step for step in STEPS if step * room >= needed), STEPS[-1])


def without_overlap(spans: Sequence[tuple[float, float]], gap: float) -> list[int]:
    """Which of these spans (begin, end) to keep so that none comes nearer than `gap`.

    The earlier ones have the right of way.
    """
    kept: list[int] = []
    for index, (begin, end) in enumerate(spans):
        if all(end + gap <= spans[k][0] or spans[k][1] + gap <= begin for k in kept):
            kept.append(index)
    return kept


def _number(bed: Bed, position: int) -> int:
    return bed.side_and_number(position)[1]
