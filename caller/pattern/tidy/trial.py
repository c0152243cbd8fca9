"""A tidying tried on a pattern: what came of it, what it lost and what it made worse."""

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cached_property

import numpy as np

from caller.errors import ChartError
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern
from caller.pattern.picture.again import Original
from caller.pattern.picture.colour import RGB
from caller.pattern.tidy.likeness import likeness, likeness_to
from caller.pattern.tidy.links import Cells, Mask
from caller.pattern.tidy.report import Effort, TidyResult
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.shapes import Kind, ShapeChange, shape_changes
from caller.pattern.tidy.tidying import Progress, tidy, yarn_errors

_OUTSIDE = (128, 128, 128)  # how needles out of work look; the same before and after
_NEAR_ROWS = 3  # rows without loss between two places of which one is told


@dataclass(frozen=True)
class LostLines:
    """Thin lines of one yarn that went in neighbouring rows.

    Rows are numbered from 1, `first_needle` and `last_needle` are labels, `yarn` is a name.
    """

    yarn: str
    first_row: int
    last_row: int
    first_needle: str
    last_needle: str
    stitches: int


@dataclass(frozen=True)
class ChangedShapes:
    """Shapes of one yarn that changed alike at some `places` in neighbouring rows.

    `what` is the kind of a ShapeChange; the rest is as in LostLines.
    """

    what: Kind
    yarn: str
    first_row: int
    last_row: int
    first_needle: str
    last_needle: str
    places: int


@dataclass(frozen=True)
class Worse:
    """A figure of Effort that rose."""

    figure: str
    before: int
    after: int


@dataclass(frozen=True, eq=False)
class Trial:
    """What `wish` makes of `pattern`, whose picture is in `original` if it can be had."""

    pattern: Pattern
    wish: TidySettings
    result: TidyResult
    original: Original | None = None

    @cached_property
    def likeness(self) -> float:
        """How alike the two charts look, 0 to 1."""
        colours, (before, after) = _coloured(self.pattern, self.pattern.chart, self.result.chart)
        return likeness(before, after, colours)

    @cached_property
    def likeness_to_picture(self) -> tuple[float, float] | None:
        """The same to the picture, before and after; None where that cannot be had."""
        if self.original is None:
            return None
        before, after = (
            alike_to_picture(self.pattern, self.original, chart)
            for chart in (self.pattern.chart, self.result.chart)
        )
        return before, after

    @property
    def stitches_changed(self) -> int:
        return int(self.result.report.changed.sum())

    @cached_property
    def lost(self) -> tuple[LostLines, ...]:
        """The thin lines that go, by yarn and from the bottom up."""
        return tuple(_lost(self.pattern, self.result.report.lost))

    @cached_property
    def shapes(self) -> tuple[ChangedShapes, ...]:
        """What happens to letters and other shapes, by yarn and kind and from the bottom up."""
        return tuple(_shapes(self.pattern, self.result.chart))

    @property
    def worse(self) -> tuple[Worse, ...]:
        """The figures that the wish makes worse."""
        before, after = self.result.report.before, self.result.report.after
        pairs = (
            (field.name, getattr(before, field.name), getattr(after, field.name))
            for field in fields(Effort)
        )
        return tuple(Worse(*pair) for pair in pairs if pair[2] > pair[1])


def alike_to_picture(pattern: Pattern, original: Original, chart: Chart) -> float:
    """How alike a chart of the pattern's yarns looks to its picture, 0 to 1."""
    colours, (charted, after) = _coloured(pattern, original.chart, chart)
    out = (chart.cells == NOT_IN_WORK)[..., None]
    picture = np.where(out, np.array(_OUTSIDE, dtype=np.uint8), original.colours)
    return likeness_to(picture, charted, after, colours)


def _coloured(pattern: Pattern, *charts: Chart) -> tuple[list[RGB], list[Cells]]:
    """The yarns' colours and one for what is out of work, and the charts in their numbers."""
    colours = [*(yarn.rgb for yarn in pattern.yarns), _OUTSIDE]
    outside = np.uint8(len(colours) - 1)
    return colours, [np.where(chart.cells == NOT_IN_WORK, outside, chart.cells) for chart in charts]


def tried(
    pattern: Pattern,
    wish: TidySettings,
    progress: Progress | None = None,
    kept: Mask | None = None,
    original: Original | None = None,
) -> Trial:
    """Tidy the pattern's chart by its own rules; raises what `tidy` raises."""
    errors = yarn_errors(pattern.chart, [yarn.rgb for yarn in pattern.yarns])
    rules = pattern.supply_rules
    result = tidy(
        pattern.script, errors, wish, pattern.max_carry, rules.max_rest_rows, progress, kept
    )
    return Trial(pattern, wish, result, original)


def remedied(
    trial: Trial, progress: Progress | None = None, kept: Mask | None = None
) -> Trial | None:
    """The wish with a bound on the figures that it made worse; None where that does not help.

    Only ends in all and ends at once can be bounded. It helps when those figures are as low as
    before the wish.
    """
    wish = trial.wish
    for worse in trial.worse:
        if worse.figure == "supplies":
            wish = replace(wish, in_all=worse.before)
        elif worse.figure == "at_once":
            wish = replace(wish, at_once=worse.before)
    if wish == trial.wish:
        return None
    try:
        better = tried(trial.pattern, wish, progress, kept, trial.original)
    except ChartError:
        return None
    bounded = {"supplies", "at_once"}
    return better if bounded.isdisjoint(worse.figure for worse in better.worse) else None


def _lost(pattern: Pattern, lost: Mask) -> Iterator[LostLines]:
    cells, label = pattern.chart.cells, pattern.bed.label
    for number, yarn in enumerate(pattern.yarns):
        mine = lost & (cells == number)
        rows = np.flatnonzero(mine.any(axis=1))
        for near in np.split(rows, np.flatnonzero(np.diff(rows) > _NEAR_ROWS) + 1):
            if len(near) == 0:
                continue
            here = mine[near[0] : near[-1] + 1]
            columns = np.flatnonzero(here.any(axis=0)) + pattern.script.first_needle
            yield LostLines(
                yarn.name,
                int(near[0]) + 1,
                int(near[-1]) + 1,
                label(int(columns[0])),
                label(int(columns[-1])),
                int(here.sum()),
            )


def _shapes(pattern: Pattern, after: Chart) -> Iterator[ChangedShapes]:
    cells, label = pattern.chart.cells, pattern.bed.label
    found = list(shape_changes(cells, after.cells, cells == NOT_IN_WORK))
    found.sort(key=lambda one: (one.yarn, one.kind, one.rows))
    near: list[ShapeChange] = []
    for index, one in enumerate(found):
        following = found[index + 1] if index + 1 < len(found) else None
        near.append(one)
        if (
            following
            and (following.yarn, following.kind) == (one.yarn, one.kind)
            and following.rows[0] <= max(each.rows[1] for each in near) + _NEAR_ROWS
        ):
            continue
        first = pattern.script.first_needle
        yield ChangedShapes(
            one.kind,
            pattern.yarns[one.yarn].name,
            near[0].rows[0] + 1,
            max(each.rows[1] for each in near) + 1,
            label(first + min(each.columns[0] for each in near)),
            label(first + max(each.columns[1] for each in near)),
            len(near),
        )
        near = []
