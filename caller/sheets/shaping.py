"""The shaping of a piece in the words of a knitting pattern: what is done before which rows."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import Any

from caller.calling.words.numbers import plural
from caller.pattern.bed import Side
from caller.pattern.pattern import Pattern
from caller.pattern.shaping import TOOL_STITCHES, Kind, Shaping

_NEAR = 1  # rows: waits that differ by no more are one slope


@dataclass(frozen=True)
class Slope:
    """The same done before each of these rows, from the bottom up, at even distances.

    `sides` are "left", "right" or both; `edge` is where the edge lies in the end, by side.
    """

    kind: Kind
    stitches: int
    sides: tuple[Side, ...]
    rows: tuple[int, ...]
    edges: tuple[str, ...]


def slopes(pattern: Pattern) -> list[Slope]:
    """All of the shaping, from the bottom up."""
    done: dict[tuple[Kind, int, tuple[Side, ...]], list[int]] = {}
    for row in range(2, pattern.script.rows + 1):
        by_what = sorted(pattern.script.shapings(row), key=_what)
        for (kind, stitches), alike in groupby(by_what, _what):
            sides = tuple(sorted(one.side for one in alike))
            done.setdefault((kind, stitches, sides), []).append(row)
    found = [
        Slope(*what, tuple(rows), _edges(pattern, rows[-1], what[2]))
        for what, every in done.items()
        for rows in _even(every)
    ]
    return sorted(found, key=lambda slope: slope.rows)


def _what(shaping: Shaping) -> tuple[Kind, int]:
    return shaping.kind, shaping.stitches


def _edges(pattern: Pattern, row: int, sides: tuple[Side, ...]) -> tuple[str, ...]:
    first, last = pattern.script.in_work(row)
    return tuple(pattern.bed.label(first if side == "left" else last) for side in sides)


def _even(rows: list[int]) -> Iterator[list[int]]:
    """Stretches of rows whose distances differ by one at most."""
    stretch: list[int] = []
    for row in rows:
        waits = [later - earlier for earlier, later in pairwise([*stretch, row])]
        if waits and max(waits) - min(waits) > _NEAR:
            yield stretch
            stretch = []
        stretch.append(row)
    yield stretch


def as_json(pattern: Pattern) -> dict[str, Any] | None:
    """The shaping as plain data; None for a rectangle."""
    if not pattern.chart.shaped:
        return None
    widths = [last - first + 1 for first, last in map(pattern.script.in_work, _rows(pattern))]
    return {
        "method": pattern.shaping,
        "widest": max(widths),
        "stitches_left": widths[-1],
        "slopes": [
            {
                "do": slope.kind,
                "stitches": slope.stitches,
                "sides": list(slope.sides),
                "before_rows": list(slope.rows),
                "edges": list(slope.edges),
            }
            for slope in slopes(pattern)
        ],
    }


def outline_lines(pattern: Pattern) -> Iterator[str]:
    """How wide the piece is, and what is done before which rows; nothing of a rectangle."""
    data = as_json(pattern)
    if data is None:
        return
    left = data["stitches_left"]
    yield (
        f"Shaped: {data['widest']} stitches at the widest, {left} "
        f"{plural(left, 'stitch', 'stitches')} at the end."
    )
    yield from map(_line, slopes(pattern))


def as_lines(pattern: Pattern) -> Iterator[str]:
    """The same, and how it is done."""
    yield from outline_lines(pattern)
    if not pattern.chart.shaped:
        return
    yield (
        f"Fully fashioned: move the {TOOL_STITCHES} edge stitches together with a transfer tool, "
        "one needle in to decrease; one out to increase, and fill the empty needle from the stitch "
        "beside it. An end that hangs there goes with its stitch."
        if pattern.shaping == "fully fashioned"
        else "Simple: to decrease, move the last stitch onto its neighbour; to increase, bring the "
        "next needle into work."
    )
    yield (
        "Stitches are bound off and cast on where the carriage stands, with the end named there. "
        "Your machine's manual comes first; this is common practice."
    )


def _rows(pattern: Pattern) -> range:
    return range(1, pattern.script.rows + 1)


def _line(slope: Slope) -> str:
    """ "Before rows 155 to 217: decrease 1 on each side, every 2 or 3 rows, 26 times, to L53"."""
    where = f"the {slope.sides[0]}" if len(slope.sides) == 1 else "each side"
    told = f"{slope.kind} {slope.stitches} on {where}"
    edge = f"{plural(len(slope.edges), 'edge')} {' and '.join(slope.edges)}"
    first, last = slope.rows[0], slope.rows[-1]
    if first == last:
        return f"Before row {first}: {told}, {edge}."
    waits = sorted({later - earlier for earlier, later in pairwise(slope.rows)})
    every = " or ".join(map(str, waits))
    often = "every row" if waits == [1] else f"every {every} rows"
    return (
        f"Before rows {first} to {last}: {told}, {often}, {len(slope.rows)} times; "
        f"in the end {edge}."
    )
