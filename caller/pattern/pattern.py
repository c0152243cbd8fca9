"""A pattern: a chart with its yarns, gauge and bed, ready to be called."""

from dataclasses import dataclass, field
from functools import cached_property

from caller.checks import one_of, within
from caller.errors import ChartError, SettingError, YarnError
from caller.pattern.amounts import ALLOWANCE, LONGEST_TAIL_CM, TAIL_CM, Relaxation
from caller.pattern.bed import Bed, Direction, FabricSide
from caller.pattern.chart import MOST_YARNS, NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.panels import PanelOf
from caller.pattern.picture.source import Source
from caller.pattern.rows import RowScript
from caller.pattern.shaping import Method
from caller.pattern.supplies.plan import (
    MOST_CARRY,
    MOST_REST_ROWS,
    SupplyPlan,
    assign_supplies,
    default_max_carry,
)
from caller.pattern.swatch import LONGEST_LOOP_MM, SHORTEST_LOOP_MM
from caller.pattern.yarns import Yarn
from caller.plain_text import LONGEST_REMINDER, LONGEST_TITLE, plain


@dataclass(frozen=True)
class Reminder:
    """Something to be told when a row is called, as plain text.

    Raises ChartError when it is too long.
    """

    row: int
    say: str

    def __post_init__(self) -> None:
        object.__setattr__(self, "say", plain(self.say))
        if len(self.say) > LONGEST_REMINDER:
            raise ChartError(
                f"The reminder {self.say[:20]!r}... of row {self.row} has {len(self.say)} letters",
                f"shorten it to {LONGEST_REMINDER} or fewer.",
            )


@dataclass(frozen=True)
class Fabric:
    """How yarn becomes fabric.

    `loop_mm` is the yarn in one stitch as measured on a swatch; without it the gauge gives it, for
    a swatch in the state `relaxation`. `tail_cm` is left at each end of a supply, and `allowance`
    is added to what is knitted and carried (0.1 is 10 %). Raises SettingError for what cannot be.
    """

    loop_mm: float | None = None
    relaxation: Relaxation = "wet"
    tail_cm: float = TAIL_CM
    allowance: float = ALLOWANCE

    def __post_init__(self) -> None:
        if self.loop_mm is not None:
            within(
                SettingError, "A loop length", self.loop_mm, SHORTEST_LOOP_MM, LONGEST_LOOP_MM, "mm"
            )
        one_of(SettingError, "state of the swatch", self.relaxation, Relaxation)
        within(SettingError, "A tail", self.tail_cm, 0, LONGEST_TAIL_CM, "cm")
        within(SettingError, "An allowance", self.allowance, 0, 1, "(0.1 is 10 %)")


@dataclass(frozen=True)
class SupplyRules:
    """How far a supply may be carried, in needles, how many rows it may rest, and the metres of
    yarn that one bobbin holds.

    Without `max_carry` the gauge gives it; without `bobbin_m` a bobbin holds all that it needs.
    Raises SettingError for what cannot be.
    """

    max_carry: int | None = None
    max_rest_rows: int = 0
    bobbin_m: float | None = None

    def __post_init__(self) -> None:
        if self.max_carry is not None:
            within(SettingError, "A longest carry", self.max_carry, 0, MOST_CARRY, "needles")
        within(SettingError, "A longest rest", self.max_rest_rows, 0, MOST_REST_ROWS, "rows")
        if self.bobbin_m is not None:
            within(SettingError, "A bobbin", self.bobbin_m, 0.5, 10_000, "m")


@dataclass(frozen=True)
class Pattern:
    """Everything that is knitted from.

    Yarn number i of the chart is `yarns[i]`. The chart is as the knitter sees it, the purl side
    facing; `seen_from` is the side that shows the picture, so with "knit" the chart is the picture
    mirrored. `first_needle` is the leftmost needle's label; without it the work lies about the
    centre. A picture taken as it is has no gauge. `source` is the picture that the chart was made
    from, where that is remembered. `shaping` is how the edges of a shaped chart are increased and
    decreased, and `panel` tells which part of a wider piece it is. The title is kept as plain text.
    Raises ChartError, YarnError, BedError or SettingError when the parts do not go together.
    """

    title: str
    chart: Chart
    yarns: tuple[Yarn, ...]
    bed: Bed = field(default_factory=Bed)
    gauge: Gauge | None = None
    first_direction: Direction = "right"
    reminders: tuple[Reminder, ...] = ()
    first_needle: str | None = None
    seen_from: FabricSide = "purl"
    fabric: Fabric = field(default_factory=Fabric)
    supply_rules: SupplyRules = field(default_factory=SupplyRules)
    source: Source | None = None
    shaping: Method = "fully fashioned"
    panel: PanelOf | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "title", plain(self.title) or "A pattern")
        if len(self.title) > LONGEST_TITLE:
            raise SettingError(
                f"The title {self.title[:20]!r}... has {len(self.title)} letters",
                f"it is said aloud, so shorten it to {LONGEST_TITLE} or fewer.",
            )
        if len(self.yarns) < 2:
            raise ChartError(
                "The chart has only one colour", "a picture in blocks of colour needs two or more."
            )
        if len(self.yarns) > MOST_YARNS:
            raise ChartError(
                f"The chart has {len(self.yarns)} yarns; at most {MOST_YARNS} can be called.",
                "Make a chart with fewer colours: row-caller chart PICTURE --colours 6.",
            )
        names = [yarn.name.casefold() for yarn in self.yarns]
        for index, name in enumerate(names):
            if name in names[:index]:
                raise YarnError(
                    f"Two yarns are both called {self.yarns[index].name!r}", "rename one of them."
                )
        most = int(self.chart.cells[self.chart.cells != NOT_IN_WORK].max())
        if most >= len(self.yarns):
            raise YarnError(
                f"The chart uses yarn number {most + 1}, but only "
                f"{len(self.yarns)} yarns are listed.",
                "List a yarn for each colour.",
            )
        for reminder in self.reminders:
            if not 1 <= reminder.row <= self.chart.rows:
                raise ChartError(
                    f"The reminder {reminder.say!r} is for row {reminder.row}",
                    f"the rows are 1 to {self.chart.rows}.",
                )
        one_of(SettingError, "first direction", self.first_direction, Direction)
        one_of(SettingError, "side to be seen", self.seen_from, FabricSide)
        one_of(SettingError, "method of shaping", self.shaping, Method)
        self.bed.placed(self.chart.stitches, self.first_needle)
        if self.chart.shaped:
            self.script  # noqa: B018 - so that a shape that cannot be knitted is told at once

    @cached_property
    def script(self) -> RowScript:
        """The row script, with the work laid where it lies on the bed."""
        first = self.bed.placed(self.chart.stitches, self.first_needle)
        return RowScript(self.chart, self.bed, first, self.first_direction, self.shaping)

    @property
    def usual_carry(self) -> int:
        """The longest carry at this gauge, in needles, unless the knitter sets another."""
        return default_max_carry(self.gauge)

    @property
    def max_carry(self) -> int:
        """The longest carry that is allowed, in needles."""
        chosen = self.supply_rules.max_carry
        return self.usual_carry if chosen is None else chosen

    @cached_property
    def supply_plan(self) -> SupplyPlan:
        """Which supply knits which run, on as few supplies as the rules allow."""
        return assign_supplies(self.script, self.max_carry, self.supply_rules.max_rest_rows)

    def reminders_at(self, row: int) -> tuple[str, ...]:
        """What is to be told when this row is called."""
        return tuple(reminder.say for reminder in self.reminders if reminder.row == row)
