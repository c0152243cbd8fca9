"""Making a chart knittable: fewer supplies and fewer ends, with as little change as possible.

Every run of a row is a yarn to lay and a joint to cross, and every supply is two ends to weave in.
Tidying looks for the chart with the least energy (see `energy`): the colour error of what is
changed, and a price for each run and each supply. Two kinds of steps take turns until nothing
changes: the exactly best rows between their neighbours, first the even rows and then the odd ones
(`rows`), and doing without whole blocks of colour (`merge`). The price is raised until
the supplies are as few as wanted (`price_search`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from caller.checks import whole
from caller.errors import ChartError, SettingError
from caller.pattern.chart import Chart
from caller.pattern.picture.colour import RGB, differences
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.links import Cells
from caller.pattern.tidy.price_search import Costing, fewest_changes, keep_bounds
from caller.pattern.workload import single_stitches

Progress = Callable[[float], None]

_MOST_ERRORS = 100_000_000  # as many stitches times yarns as fit into the memory of most computers
_LARGEST_ERROR = 1e9
_TRIES = 20


@dataclass(frozen=True)
class TidySettings:
    """What the knitter asks for.

    No run shorter than `shortest_run` stitches; no block of colour of `specks` stitches or fewer
    (4-connected); at most `at_once` supplies hanging in a row and `in_all` in the whole work, None
    for as many as it takes. A supply less is worth a colour error of `price` in any case, a price
    of 0 changes only what the other settings demand.

    Raises SettingError for what makes no sense.
    """

    shortest_run: int = 1
    specks: int = 0
    at_once: int | None = None
    in_all: int | None = None
    price: float = 0.0

    def __post_init__(self) -> None:
        whole(SettingError, "A shortest run", self.shortest_run, 1)
        whole(SettingError, "A largest speck", self.specks, 0)
        if self.at_once is not None:
            whole(SettingError, "A number of supplies at once", self.at_once, 1)
        if self.in_all is not None:
            whole(SettingError, "A number of supplies in all", self.in_all, 1)
        if not 0 <= self.price < float("inf"):  # written so that NaN fails too
            raise SettingError(
                f"A price of {self.price} for a supply cannot be used", "give 0 or a colour error."
            )


@dataclass(frozen=True)
class Effort:
    """What a chart asks of the knitter. `colour_changes` are the joints between runs of a row."""

    colour_changes: int
    supplies: int
    at_once: int
    longest_carry: int
    single_stitches: int


@dataclass(frozen=True, eq=False)
class TidyReport:
    """What tidying did: `changed` (rows, stitches) marks the stitches in another yarn than before.

    `price` is the colour error that a supply less was worth in the end; `lost_yarns` are the
    numbers of yarns that the chart no longer uses.
    """

    changed: NDArray[np.bool_]
    before: Effort
    after: Effort
    price: float
    lost_yarns: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class TidyResult:
    chart: Chart
    report: TidyReport


def yarn_errors(chart: Chart, colours: Sequence[RGB]) -> NDArray[np.float32]:
    """The colour error of every stitch in every yarn when only the chart is known.

    CIEDE2000 between its yarn's colour and the other's, shape (rows, stitches, yarns).
    """
    return differences(colours, colours).astype(np.float32)[chart.cells]


def tidy(
    script: RowScript,
    errors: NDArray[np.float32],
    settings: TidySettings,
    max_carry: int,
    max_rest_rows: int = 0,
    progress: Progress | None = None,
) -> TidyResult:
    """Tidy the script's chart; the same answer on every computer.

    `errors` (rows, stitches, yarns) is the colour error of knitting a stitch in a yarn; only how
    much more it is than in the stitch's own yarn counts. `max_carry` and `max_rest_rows` are those
    of `assign_supplies`, which counts the supplies. `progress` is told the part done, 0 to 1.

    Raises SettingError for settings that do not fit the chart and ChartError when the supplies
    cannot be kept to, or when nothing but a single colour would be left.
    """
    chart = script.chart
    _check(chart, errors, settings)
    yarns, numbers = np.unique(chart.cells, return_inverse=True)
    start = numbers.reshape(chart.cells.shape).astype(np.uint8)

    def plan(cells: Cells) -> SupplyPlan:
        laid = replace(script, chart=Chart(yarns[cells]))
        return assign_supplies(laid, max_carry, max_rest_rows)

    before = after = plan(start)
    cells, price = start, 0.0
    if len(yarns) > 1:
        costing = Costing(start, yarns, errors.astype(np.float32, copy=False))
        goes_right = (np.arange(chart.rows) % 2 == 0) == (script.first_direction == "right")
        most = np.full(chart.rows, settings.at_once or chart.stitches)
        draft = Draft(start, costing.total, goes_right, max_carry, settings.shortest_run, most)
        cells, after, price = _found(draft, costing, settings, plan, max_rest_rows, progress)
    changed = cells != start
    report = TidyReport(
        changed=changed,
        before=_effort(before),
        after=_effort(after),
        price=price,
        lost_yarns=tuple(np.setdiff1d(yarns, yarns[cells]).tolist()),
    )
    return TidyResult(Chart(yarns[cells]), report)


def _found(
    draft: Draft,
    costing: Costing,
    settings: TidySettings,
    plan: Callable[[Cells], SupplyPlan],
    max_rest_rows: int,
    progress: Progress | None,
) -> tuple[Cells, SupplyPlan, float]:
    """The tidied cells, their supplies, and the price of a supply as a colour error."""

    def supplies(draft: Draft) -> int:
        return plan(draft.cells).total if max_rest_rows else draft.supplies

    told = _ever_further(progress)
    fewest = draft.cells.shape[1]
    for _ in range(_TRIES):
        keep_bounds(draft, settings.specks, costing.typical)
        least_price = costing.price(settings.price)
        found, price = fewest_changes(
            draft, costing, least_price, settings.in_all, settings.specks, supplies, told
        )
        if found.cells.min() == found.cells.max():
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
        draft.most = np.maximum(draft.most - tighter, 1)
    raise ChartError(
        f"With supplies at rest the fullest row cannot be brought down to {settings.at_once} "
        f"supplies at once; the fewest that were reached are {fewest}.",
        f"Allow at least {fewest}, or let no supply rest.",
    )


def _ever_further(progress: Progress | None) -> Progress:
    done = 0.0

    def told(part: float) -> None:
        nonlocal done
        done = max(done, min(part, 1.0))
        if progress:
            progress(done)

    return told


def _check(chart: Chart, errors: NDArray[np.float32], settings: TidySettings) -> None:
    yarns = int(chart.cells.max()) + 1
    if errors.shape[:2] != chart.cells.shape or errors.ndim != 3 or errors.shape[2] < yarns:
        raise ChartError(
            f"The colour errors have the shape {errors.shape} and do not fit a chart of "
            f"{chart.rows} rows, {chart.stitches} stitches and {yarns} yarns."
        )
    if errors.size > _MOST_ERRORS:
        raise ChartError(
            f"A chart of {chart.rows} rows, {chart.stitches} stitches and {yarns} yarns is too "
            "large to tidy",
            "crop the picture or use fewer colours.",
        )
    if not (np.abs(errors) < _LARGEST_ERROR).all():  # written so that NaN fails too
        raise ChartError(
            "A colour error of the chart is not a number or far too large", "work them out again."
        )
    if settings.shortest_run > chart.stitches:
        raise SettingError(
            f"No run can be {settings.shortest_run} stitches long in a chart {chart.stitches} "
            "stitches wide",
            "choose a shorter shortest run.",
        )
    if settings.specks >= chart.stitches:
        raise SettingError(
            f"Specks of {settings.specks} stitches are as long as the whole row of "
            f"{chart.stitches}",
            "choose smaller ones.",
        )


def _effort(plan: SupplyPlan) -> Effort:
    return Effort(
        colour_changes=len(plan.script.runs.row) - plan.script.rows,
        supplies=plan.total,
        at_once=plan.at_once,
        longest_carry=int(plan.carry.max()),
        single_stitches=int(single_stitches(plan).sum()),
    )
