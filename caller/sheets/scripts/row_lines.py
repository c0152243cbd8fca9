"""What the page and the large print tell of a pattern and of each run."""

from collections.abc import Iterator
from dataclasses import dataclass

from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import SuppliedRun


@dataclass(frozen=True)
class RunLine:
    """A run to read: its yarn's number and name, its needles' labels, and what is done with it."""

    yarn: int
    name: str
    first: str
    last: str
    stitches: int
    supply: str

    @property
    def more(self) -> str:
        count = "1 stitch" if self.stitches == 1 else f"{self.stitches} stitches"
        return f"from {self.first}, {count}, supply {self.supply}"


def facts(pattern: Pattern) -> list[str]:
    """How large the work is and where it lies, how many rows it has and how many supplies."""
    script, bed, plan = pattern.script, pattern.bed, pattern.supply_plan
    first, last = bed.label(script.first_needle), bed.label(script.last_needle)
    return [
        f"{pattern.chart.stitches} stitches, from {first} to {last}.",
        f"{script.rows} rows, from the bottom up.",
        f"{plan.total} supplies, at most {plan.at_once} at once.",
    ]


def run_lines(pattern: Pattern, number: int) -> Iterator[RunLine]:
    """The runs of a row in the order in which they are knitted."""
    label = pattern.bed.label
    for entry in pattern.supply_plan.row(number):
        run = entry.run
        name = pattern.yarns[run.yarn].name
        yield RunLine(
            run.yarn, name, label(run.first), label(run.last), run.stitches, _supply(entry)
        )


def _supply(entry: SuppliedRun) -> str:
    """The supply's number and what is done with it: "16", "19; join", "17; carry 3; cut"."""
    done = [
        "join" if entry.start == "join" else "",
        f"carry {entry.carry}" if entry.carry else "",
        "cut" if entry.end == "cut" else "",
    ]
    return "; ".join([str(entry.supply), *filter(None, done)])
