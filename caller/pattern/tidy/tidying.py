"""Making a chart knittable: fewer supplies and fewer ends, with as little change as possible.

Every run of a row is a yarn to lay and a joint to cross, and every supply is two ends to weave in.
Tidying looks for the chart with the least energy (see `energy`): the colour error of what is
changed, and a price for each run and each supply. Two kinds of steps take turns until nothing
changes: the exactly best rows between their neighbours, first the even rows and then the odd ones
(`rows`), and doing without whole blocks of colour (`merge`). The price is raised until
the supplies are as few as wanted (`price_search`).
"""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from caller.errors import ChartError
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.picture.colour import RGB, differences
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies
from caller.pattern.tidy.bounds import apart, check, check_room, numbered, runs_needed, runs_of
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.lines import THIN, lost_lines, thin_lines
from caller.pattern.tidy.links import Cells, Mask, Numbers
from caller.pattern.tidy.price_search import Costing, fewest_changes, in_colour, keep_bounds
from caller.pattern.tidy.report import TidyReport, TidyResult, effort_of
from caller.pattern.tidy.settings import TidySettings

Progress = Callable[[float], None]

_TRIES = 20
_MENDED_LINE, _PRICED_LINE = 8, 1
"""So many times as much, and once more, counts a stitch of a thin line as any other: where a row
must be mended (twice the shortest run if that is more, so that a line is rather widened than
dropped), and where supplies are saved, the best of those tried on drawings and photographs."""


def yarn_errors(chart: Chart, colours: Sequence[RGB]) -> NDArray[np.float32]:
    """The colour error of every stitch in every yarn when only the chart is known.

    CIEDE2000 between its yarn's colour and the other's, shape (rows, stitches, yarns).
    """
    in_work = np.where(chart.cells == NOT_IN_WORK, 0, chart.cells)
    return differences(colours, colours).astype(np.float32)[in_work]


def tidy(
    script: RowScript,
    errors: NDArray[np.float32],
    settings: TidySettings,
    max_carry: int,
    max_rest_rows: int = 0,
    progress: Progress | None = None,
    kept: Mask | None = None,
) -> TidyResult:
    """Tidy the script's chart; the same answer on every computer.

    `errors` (rows, stitches, yarns) is the colour error of knitting a stitch in a yarn; only how
    much more it is than in the stitch's own yarn counts. `max_carry` and `max_rest_rows` are those
    of `assign_supplies`, which counts the supplies. `progress` is told the part done, 0 to 1. The
    stitches in `kept` (rows, stitches) do not change, whatever is asked for.

    Raises SettingError for settings that do not fit the chart and ChartError when the supplies
    cannot be kept to, or when nothing but a single colour would be left.
    """
    chart = script.chart
    check(chart, errors, settings)
    yarns, numbers = np.unique(chart.cells, return_inverse=True)
    start = numbers.reshape(chart.cells.shape).astype(np.uint8)
    outside = chart.cells == NOT_IN_WORK  # as a yarn of its own, the last one, that is kept
    in_work = yarns[yarns != NOT_IN_WORK]

    def plan(cells: Cells) -> SupplyPlan:
        laid = replace(script, chart=Chart(yarns[cells]))
        return assign_supplies(laid, max_carry, max_rest_rows)

    before = after = plan(start)
    cells, price = start, 0.0
    stays: Mask = outside.copy() if kept is None else kept | outside
    lines = np.zeros(start.shape, dtype=np.float32)
    if len(in_work) > 1:
        errors = numbered(errors, in_work, outside)
        wide = max(THIN, settings.shortest_run)
        lines = thin_lines(start, apart(start, errors), wide, outside)
        if settings.keep_thin_lines:
            stays |= lines > 0
        mending, costing = (
            Costing(start, errors, np.float32(1) + np.float32(of_a_line) * lines)
            for of_a_line in (max(_MENDED_LINE, 2 * settings.shortest_run), _PRICED_LINE)
        )
        # A row that is narrower than a run may be stays as it is.
        stays |= ((~outside).sum(axis=1) < settings.shortest_run)[:, None]
        beside = runs_of(outside)
        most = beside + (settings.at_once or chart.stitches)
        needed = runs_needed(start, stays)
        check_room(needed - beside, settings.at_once)
        draft = Draft(
            start,
            mending.total,
            script.goes_right,
            max_carry,
            settings.shortest_run,
            most,
            stays,
            len(in_work) if chart.shaped else None,
        )
        cells, after, price = _found(
            draft, mending, costing, settings, plan, needed, max_rest_rows, progress
        )
    changed = cells != start
    report = TidyReport(
        changed=changed,
        lost=lost_lines(start, cells, lines),
        kept=stays & ~outside,
        before=effort_of(before),
        after=effort_of(after),
        price=price,
        lost_yarns=tuple(np.setdiff1d(yarns, yarns[cells]).tolist()),
    )
    return TidyResult(Chart(yarns[cells]), report)


def _found(
    draft: Draft,
    mending: Costing,
    costing: Costing,
    settings: TidySettings,
    plan: Callable[[Cells], SupplyPlan],
    needed: Numbers,
    max_rest_rows: int,
    progress: Progress | None,
) -> tuple[Cells, SupplyPlan, float]:
    """The tidied cells, their supplies, and the price of a supply as a colour error."""

    def supplies(draft: Draft) -> int:
        exact = max_rest_rows or draft.outside is not None
        return plan(draft.cells).total if exact else draft.supplies

    told = _ever_further(progress)
    told(0.0)
    fewest = draft.cells.shape[1]
    for _ in range(_TRIES):
        draft.total = mending.total
        keep_bounds(draft, settings.specks, mending.typical)
        draft.total = costing.total
        draft.measure()
        least_price = costing.price(settings.price)
        found, price = fewest_changes(
            draft, costing, least_price, settings.in_all, settings.specks, supplies, told
        )
        if not in_colour(found):
            raise ChartError(
                "Tidying so much would leave a single colour",
                "allow more supplies, shorter runs or smaller specks.",
            )
        after = plan(found.cells)
        fewest = min(fewest, after.at_once)
        if settings.at_once is None or after.at_once <= settings.at_once:
            told(1.0)
            return found.cells, after, price / costing.unit
        # Supplies that rest hang there too: allow fewer runs around the rows that are too full.
        crowded = np.convolve(after.in_row > settings.at_once, np.ones(2 * max_rest_rows + 1))
        tighter = crowded[max_rest_rows : max_rest_rows + len(draft.most)] > 0
        draft.most = np.maximum(draft.most - tighter, needed)
    raise ChartError(
        f"With supplies at rest the fullest row cannot be brought down to {settings.at_once} "
        f"supplies at once; the fewest that were reached are {fewest}.",
        f"Allow at least {fewest}, or let no supply rest.",
    )


def _ever_further(progress: Progress | None) -> Progress:
    """Tells `progress` the part done, which never falls."""
    done = 0.0

    def told(part: float) -> None:
        nonlocal done
        done = max(done, part)
        if progress:
            progress(done)

    return told
