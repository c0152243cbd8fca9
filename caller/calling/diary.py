"""What the moves of a work tell: sittings, the time a row takes, rows unravelled, what is left."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import pairwise
from math import ceil
from statistics import median, quantiles

from caller.calling.kept import Kept, Move
from caller.calling.pace import FEWEST_TIMES
from caller.calling.place import Place

QUICKEST_S = 3.0
"""A row that was passed sooner was not knitted: somebody looked for their place. (Assumed.)"""
_LATEST = 60  # rows; the pace of long ago is another one


@dataclass(frozen=True)
class Sitting:
    """One session: its rows as they were called, and how many were knitted and unravelled in it."""

    began: datetime
    ended: datetime
    first_row: int
    last_row: int
    knitted: int = 0
    unravelled: int = 0

    @property
    def minutes(self) -> float:
        return (self.ended - self.began).total_seconds() / 60


@dataclass(frozen=True)
class KnittedRow:
    """A row that was knitted: when it was finished, and how many seconds it took."""

    row: int
    at: datetime
    seconds: float


@dataclass(frozen=True)
class Estimate:
    """What is left: rows, the hours of knitting (the likeliest, and between which), and the day on
    which it is finished at the rows a day so far, None where that cannot be told yet."""

    rows: int
    row_s: float
    hours: float
    least_hours: float
    most_hours: float
    day: date | None


@dataclass(frozen=True)
class Diary:
    """A work as its moves tell it; `rows` is the height of its chart."""

    place: Place
    rows: int
    sittings: tuple[Sitting, ...]
    knitted: tuple[KnittedRow, ...]
    unravelled: int
    estimate: Estimate | None
    marked: frozenset[int] = frozenset()
    remarks: Mapping[int, str] = field(default_factory=dict)


def diary(kept: Kept, moves: Sequence[Move]) -> Diary:
    """The diary of a work. A row that was knitted twice counts with its last time."""
    sittings: list[Sitting] = []
    knitted: dict[int, KnittedRow] = {}
    for of_sitting in _by_sitting(moves):
        sittings.append(_sitting(of_sitting, knitted))
    rows = tuple(sorted(knitted.values(), key=lambda one: one.at))
    return Diary(
        kept.place,
        kept.laying.rows,
        tuple(sittings),
        rows,
        sum(sitting.unravelled for sitting in sittings),
        _estimate(kept, sittings, rows),
        kept.marked,
        kept.remarks,
    )


def _by_sitting(moves: Iterable[Move]) -> Iterator[list[Move]]:
    together: list[Move] = []
    for move in moves:
        if together and move.sitting != together[0].sitting:
            yield together
            together = []
        together.append(move)
    if together:
        yield together


def _sitting(moves: Sequence[Move], knitted: dict[int, KnittedRow]) -> Sitting:
    """One sitting; the rows knitted in it are added, and those unravelled taken away."""
    spent_s: dict[int, float] = defaultdict(float)
    done = unravelled = 0
    for before, move in pairwise(moves):
        row, there = before.place.row, move.place.row
        spent_s[row] += max(0.0, (move.at - before.at).total_seconds())
        if move.command == "unravel" and there < row:
            unravelled += row - there
            for gone in range(there, row):
                knitted.pop(gone, None)
                spent_s.pop(gone, None)
        elif there == row + 1 and move.command in ("next", "follow", ""):
            took_s = spent_s.pop(row)
            if took_s >= QUICKEST_S:
                knitted[row] = KnittedRow(row, move.at, took_s)
                done += 1
    first, last = moves[0], moves[-1]
    return Sitting(first.at, last.at, first.place.row, last.place.row, done, unravelled)


def _estimate(
    kept: Kept, sittings: Sequence[Sitting], knitted: Sequence[KnittedRow]
) -> Estimate | None:
    left = kept.laying.rows + 1 - kept.place.row
    if left <= 0 or len(knitted) < FEWEST_TIMES:
        return None
    took_s = [one.seconds for one in knitted[-_LATEST:]]
    low, _, high = quantiles(took_s, n=4, method="inclusive")
    row_s = median(took_s)
    return Estimate(
        left, row_s, left * row_s / 3600, left * low / 3600, left * high / 3600,
        _day(sittings, knitted, left),
    )  # fmt: skip


def _day(sittings: Sequence[Sitting], knitted: Sequence[KnittedRow], left: int) -> date | None:
    """The day of the last row at the rows a day so far; None before a second day."""
    first, last = sittings[0].began.date(), sittings[-1].ended.date()
    days = (last - first).days + 1
    if days < 2:
        return None
    return last + timedelta(days=ceil(left * days / len(knitted)))
