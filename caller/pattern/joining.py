"""Several pictures on one piece: side by side and above each other, repeated, with a border."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from caller.checks import whole
from caller.errors import BedError, ChartError, SettingError, YarnError
from caller.pattern.chart import Chart
from caller.pattern.panels import PanelOf
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.picture.charting import MOST_ROWS, MOST_STITCHES
from caller.pattern.picture.framing import with_margins
from caller.pattern.picture.recipe import Margins, background_yarn, panel_parts
from caller.pattern.yarns import Yarn

Cells = NDArray[np.uint8]


@dataclass(frozen=True)
class Layout:
    """How pictures lie on a piece.

    They are laid in turn, `across` of them from left to right as they are seen, and begun again for
    each of `up` bands from the bottom up; `across` 0 is each of them once. `between` stitches and
    `between_rows` rows are plain between them, `margins` around all. Raises SettingError for what
    cannot be.
    """

    across: int = 0
    up: int = 1
    between: int = 0
    between_rows: int = 0
    margins: Margins = field(default_factory=Margins)

    def __post_init__(self) -> None:
        whole(SettingError, "A number across", self.across, most=MOST_STITCHES)
        whole(SettingError, "A number up", self.up, 1, MOST_ROWS)
        whole(SettingError, "A gap", self.between, most=MOST_STITCHES, unit="stitches")
        whole(SettingError, "A gap", self.between_rows, most=MOST_ROWS, unit="rows")


def joined(
    patterns: Sequence[Pattern],
    layout: Layout,
    title: str,
    background: str | None = None,
    border: Pattern | None = None,
) -> Pattern:
    """One pattern of several, on their one bed and at their one gauge.

    What is plain is in the yarn called `background`, else in the one that most of the first
    picture's edge is in. The `border` is repeated all around, whole repeats each way, and what it
    leaves free is plain. Patterns without a gauge are pictures taken as they are, and go with any.
    Reminders go up with their pictures. Raises a BadInputError that says what does not go together.
    """
    piece = _piece(patterns, layout, background, border)
    try:
        return piece.pattern(piece.chart, piece.yarns, title, None)
    except BedError as error:
        raise BedError(
            error.finding, f"{error.remedy} Or lay fewer pictures across, or add --panels."
        ) from None


def joined_in_panels(
    patterns: Sequence[Pattern],
    layout: Layout,
    title: str,
    seam_stitches: int,
    background: str | None = None,
    border: Pattern | None = None,
) -> tuple[Pattern, ...]:
    """The same, as one pattern a panel where it is too wide for the bed."""
    piece = _piece(patterns, layout, background, border)
    return tuple(
        piece.pattern(*part)
        for part in panel_parts(piece.chart, piece.yarns, title, piece.first.bed, seam_stitches)
    )


@dataclass(frozen=True)
class _Piece:
    """What is joined: its chart and yarns, and the pattern that all else is taken from."""

    first: Pattern
    chart: Chart
    yarns: tuple[Yarn, ...]
    reminders: tuple[Reminder, ...]

    def pattern(
        self, chart: Chart, yarns: tuple[Yarn, ...], title: str, panel: PanelOf | None
    ) -> Pattern:
        return replace(
            self.first,
            title=title,
            chart=chart,
            yarns=yarns,
            first_needle=None,
            source=None,
            reminders=self.reminders,
            panel=panel,
        )


def _piece(
    patterns: Sequence[Pattern], layout: Layout, background: str | None, border: Pattern | None
) -> _Piece:
    every = [*patterns, border] if border else list(patterns)
    first = next((one for one in every if one.gauge is not None), every[0])
    for one in every:
        _check_goes_with(first, one)
    yarns = _yarns(every)
    plain = _plain(patterns[0], yarns, background)
    charts = [_numbered(one, yarns) for one in every]
    cells, reminders = _laid(patterns, charts[: len(patterns)], layout, plain, first)
    if border:
        cells, up = _bordered(cells, charts[-1], plain)
        reminders = [replace(one, row=one.row + up) for one in reminders]
    margins = layout.margins
    chart = with_margins(Chart(cells), plain, margins.sides, margins.below, margins.above)
    reminders = [replace(one, row=one.row + margins.below) for one in reminders]
    ordered = dict.fromkeys(sorted(reminders, key=lambda one: one.row))
    return _Piece(first, chart, yarns, tuple(ordered))


def _check_goes_with(first: Pattern, other: Pattern) -> None:
    """One bed, one gauge, one side that shows, and no needle out of work."""
    if other.chart.shaped:
        raise ChartError(
            f"{other.title} is shaped, and a shaped piece is not joined to others",
            "knit it by itself.",
        )
    if other.gauge is None or first.gauge is None:
        return
    ours, theirs = first.gauge, other.gauge
    pairs = (
        (ours.stitches_per_cm, theirs.stitches_per_cm),
        (ours.rows_per_cm, theirs.rows_per_cm),
    )
    if any(abs(a - b) > 1e-9 for a, b in pairs):
        raise SettingError(
            f"{first.title} is at {ours.written()} and {other.title} at {theirs.written()}",
            "a piece has one gauge: make one of them anew with row-caller chart and --gauge.",
        )
    if first.bed != other.bed:
        raise BedError(
            f"{first.title} and {other.title} are for different beds", "make one of them anew."
        )
    if first.seen_from != other.seen_from:
        raise SettingError(
            f"{first.title} shows its picture on the {first.seen_from} side, {other.title} on the "
            f"{other.seen_from} side",
            "make one of them anew with --seen-from.",
        )


def _yarns(patterns: Sequence[Pattern]) -> tuple[Yarn, ...]:
    """The yarns of all, each once. A picture taken as it is has no names of its own."""
    found: list[Yarn] = []
    for pattern in sorted(patterns, key=lambda one: one.gauge is None):
        for yarn in pattern.yarns:
            named = [one for one in found if one.name.casefold() == yarn.name.casefold()]
            coloured = [one for one in found if one.colour == yarn.colour]
            if coloured and (coloured == named or pattern.gauge is None):
                continue
            if named or coloured:
                one = (named or coloured)[0]
                raise YarnError(
                    f"The yarn {yarn.name} {yarn.colour} of {pattern.title} and the yarn "
                    f"{one.name} {one.colour} of another pattern are alike in name or colour only",
                    "give both the same name and colour, or neither.",
                )
            found.append(yarn)
    return tuple(found)


def _same(yarns: tuple[Yarn, ...], yarn: Yarn) -> Yarn:
    return next(one for one in yarns if one.colour == yarn.colour)


def _plain(pattern: Pattern, yarns: tuple[Yarn, ...], name: str | None) -> int:
    """The number of the yarn for what is plain; YarnError for a name that is none of theirs."""
    if name is not None:
        return background_yarn(pattern.chart, yarns, name)
    return yarns.index(_same(yarns, pattern.yarns[background_yarn(pattern.chart, pattern.yarns)]))


def _numbered(pattern: Pattern, yarns: tuple[Yarn, ...]) -> Cells:
    """The chart by the numbers of all yarns."""
    numbers = [yarns.index(_same(yarns, yarn)) for yarn in pattern.yarns]
    return np.array(numbers, dtype=np.uint8)[pattern.chart.cells]


def _laid(
    patterns: Sequence[Pattern], charts: list[Cells], layout: Layout, plain: int, first: Pattern
) -> tuple[Cells, list[Reminder]]:
    across = layout.across or len(charts)
    heights, widths = np.array([chart.shape for chart in charts]).T
    _check_size(across * int(widths.min()), layout.up * int(heights.min()))
    turn = np.arange(layout.up * across).reshape(layout.up, across) % len(charts)
    if first.seen_from == "knit":
        turn = turn[:, ::-1]  # as it hangs, the purl side facing
    columns, bands = widths[turn].max(axis=0), heights[turn].max(axis=1)
    width = int(columns.sum()) + layout.between * (across - 1)
    height = int(bands.sum()) + layout.between_rows * (layout.up - 1)
    _check_size(width, height)
    cells = np.full((height, width), plain, dtype=np.uint8)
    reminders = []
    lefts = np.cumsum(columns) - columns + layout.between * np.arange(across)
    bottoms = np.cumsum(bands) - bands + layout.between_rows * np.arange(layout.up)
    for band, column in np.ndindex(*turn.shape):
        which = int(turn[band, column])
        rows, stitches = charts[which].shape
        bottom = int(bottoms[band] + (bands[band] - rows) // 2)
        left = int(lefts[column] + (columns[column] - stitches) // 2)
        cells[bottom : bottom + rows, left : left + stitches] = charts[which]
        for one in patterns[which].reminders:
            reminders.append(replace(one, row=one.row + bottom))
    return cells, reminders


def _bordered(cells: Cells, tile: Cells, plain: int) -> tuple[Cells, int]:
    """The piece within a frame of whole repeats, and the rows that now lie below it."""
    rows, stitches = tile.shape
    up, across = (-(-size // side) + 2 for size, side in zip(cells.shape, tile.shape, strict=True))
    _check_size(across * stitches, up * rows)
    framed = np.tile(tile, (up, across))
    framed[rows:-rows, stitches:-stitches] = plain
    bottom = (framed.shape[0] - cells.shape[0]) // 2
    left = (framed.shape[1] - cells.shape[1]) // 2
    framed[bottom : bottom + cells.shape[0], left : left + cells.shape[1]] = cells
    return framed, bottom


def _check_size(stitches: int, rows: int) -> None:
    if stitches > MOST_STITCHES or rows > MOST_ROWS:
        raise ChartError(
            f"The piece would have {stitches} stitches and {rows} rows",
            f"at most {MOST_STITCHES} stitches and {MOST_ROWS} rows can be knitted.",
        )


def differences(patterns: Sequence[Pattern]) -> Iterator[str]:
    """What the whole piece takes from the first pattern alone, where another one differs."""
    first = next((one for one in patterns if one.gauge is not None), patterns[0])
    others = [one for one in patterns if one.gauge is not None]
    for what, name in (
        ("the yarn in a stitch, tails and allowance", "fabric"),
        ("the rules for carries and bobbins", "supply_rules"),
        ("the directions of the rows", "first_direction"),
    ):
        if any(getattr(one, name) != getattr(first, name) for one in others):
            yield f"{what} are taken from {first.title}."
