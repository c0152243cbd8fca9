"""A pattern: a chart with its yarns, gauge and bed, ready to be called."""

from dataclasses import dataclass, field
from functools import cached_property

from caller.errors import ChartError, YarnError
from caller.pattern.bed import Bed
from caller.pattern.chart import MOST_YARNS, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.rows import Direction, RowScript
from caller.pattern.yarns import Yarn


@dataclass(frozen=True)
class Reminder:
    """Something to be told when a row is called."""

    row: int
    say: str


@dataclass(frozen=True)
class Pattern:
    """Everything that is knitted from.

    Yarn number i of the chart is `yarns[i]`. A picture taken as it is has no gauge. Raises
    ChartError, YarnError or BedError when the parts do not go together.
    """

    title: str
    chart: Chart
    yarns: tuple[Yarn, ...]
    bed: Bed = field(default_factory=Bed)
    gauge: Gauge | None = None
    first_direction: Direction = "right"
    reminders: tuple[Reminder, ...] = ()

    def __post_init__(self) -> None:
        if len(self.yarns) < 2:
            raise ChartError(
                "The chart has only one colour; a picture in blocks of colour needs two or more."
            )
        if len(self.yarns) > MOST_YARNS:
            raise ChartError(
                f"The chart has {len(self.yarns)} yarns; at most {MOST_YARNS} can be called. "
                "Make a chart with fewer colours: caller chart PICTURE --colours 6."
            )
        names = [yarn.name.casefold() for yarn in self.yarns]
        for index, name in enumerate(names):
            if name in names[:index]:
                raise YarnError(
                    f"Two yarns are both called {self.yarns[index].name!r}; rename one of them."
                )
        if int(self.chart.cells.max()) >= len(self.yarns):
            raise YarnError(
                f"The chart uses yarn number {int(self.chart.cells.max()) + 1}, but only "
                f"{len(self.yarns)} yarns are listed."
            )
        for reminder in self.reminders:
            if not 1 <= reminder.row <= self.chart.rows:
                raise ChartError(
                    f"The reminder {reminder.say!r} is for row {reminder.row}; "
                    f"the rows are 1 to {self.chart.rows}."
                )
        self.bed.centred(self.chart.stitches)

    @cached_property
    def script(self) -> RowScript:
        """The row script, with the work laid about the centre of the bed."""
        first = self.bed.centred(self.chart.stitches)
        return RowScript(self.chart, self.bed, first, self.first_direction)

    def reminders_at(self, row: int) -> tuple[str, ...]:
        return tuple(reminder.say for reminder in self.reminders if reminder.row == row)
