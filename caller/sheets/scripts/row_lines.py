"""What the page and the large print tell of a pattern and of each run."""

from collections.abc import Iterator
from dataclasses import dataclass

from caller.calling.words.numbers import plural
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
    end: str

    @property
    def more(self) -> str:
        count = "1 stitch" if self.stitches == 1 else f"{self.stitches} stitches"
        return f"from {self.first}, {count}, bobbin {self.end}"


def facts(pattern: Pattern) -> list[str]:
    """How large the work is and where it lies, how many rows it has and how many ends."""
    script, bed, plan = pattern.script, pattern.bed, pattern.supply_plan
    first, last = bed.label(script.first_needle), bed.label(script.last_needle)
    return [
        f"{pattern.chart.stitches} stitches, from {first} to {last}.",
        f"{script.rows} rows, from the bottom up.",
        f"{plan.total} {plural(plan.total, 'end')} to hang in all, at most {plan.at_once} at once.",
    ]


def run_lines(pattern: Pattern, number: int) -> Iterator[RunLine]:
    """The runs of a row in the order in which they are knitted."""
    label = pattern.bed.label
    for entry in pattern.supply_plan.row(number):
        run = entry.run
        name = pattern.yarns[run.yarn].name
        yield RunLine(
            run.yarn, name, label(run.first), label(run.last), run.stitches, _end(pattern, entry)
        )


def _end(pattern: Pattern, entry: SuppliedRun) -> str:
    """The bobbin's number and what is done with it: "2", "2; new", "1; carried 3; cut"."""
    bobbin = int(pattern.supply_plan.bobbins.bobbin[entry.supply - 1])
    done = [
        "new" if entry.start == "join" else "",
        f"carried {entry.carry}" if entry.carry else "",
        "cut" if entry.end == "cut" else "",
    ]
    return "; ".join([str(bobbin), *filter(None, done)])
