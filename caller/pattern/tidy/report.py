"""What tidying did, as figures."""

from dataclasses import dataclass

from caller.pattern.chart import Chart
from caller.pattern.supplies.plan import SupplyPlan
from caller.pattern.tidy.links import Mask
from caller.pattern.workload import single_stitches


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

    `lost` marks the stitches of thin lines that went, and `kept` those that were not to change.
    `price` is the colour error that a supply less was worth in the end; `lost_yarns` are the
    numbers of yarns that the chart no longer uses.
    """

    changed: Mask
    lost: Mask
    kept: Mask
    before: Effort
    after: Effort
    price: float
    lost_yarns: tuple[int, ...]


@dataclass(frozen=True, eq=False)
class TidyResult:
    """The tidied chart, in the yarn numbers of the old one, and what was done to it."""

    chart: Chart
    report: TidyReport


def effort_of(plan: SupplyPlan) -> Effort:
    """What the plan's chart asks of the knitter."""
    return Effort(
        colour_changes=len(plan.script.runs.row) - plan.script.rows,
        supplies=plan.total,
        at_once=plan.at_once,
        longest_carry=int(plan.carry.max()),
        single_stitches=int(single_stitches(plan).sum()),
    )
