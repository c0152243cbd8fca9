"""How a pattern lies on the bed and which chart it is, so that a change is seen."""

import zlib
from dataclasses import dataclass, replace

from caller.pattern.bed import Direction
from caller.pattern.pattern import Pattern


@dataclass(frozen=True)
class Laying:
    """What must be the same from one evening to the next.

    `rows` is the height of the chart and `chart` the CRC-32 of its cells, as eight hexadecimal
    digits. `first_needle` is the label of the leftmost needle; it and `first_direction` are None in
    places that older versions kept.
    """

    rows: int
    chart: str
    first_needle: str | None = None
    first_direction: Direction | None = None

    def same_chart(self, other: "Laying") -> bool:
        return (self.rows, self.chart) == (other.rows, other.chart)

    def same_on_bed(self, other: "Laying") -> bool:
        """Whether both lie on the same needles and begin the same way, as far as that is known."""
        return all(
            None in (mine, theirs) or mine == theirs
            for mine, theirs in (
                (self.first_needle, other.first_needle),
                (self.first_direction, other.first_direction),
            )
        )


def laying_of(pattern: Pattern) -> Laying:
    """Which chart the pattern has, and how it lies on the bed."""
    script = pattern.script
    return Laying(
        script.rows,
        checksum(pattern, script.rows + 1),
        pattern.bed.label(script.first_needle),
        pattern.first_direction,
    )


def checksum(pattern: Pattern, row: int) -> str:
    """The CRC-32 of the rows below this one, as eight hexadecimal digits; they are knitted when the
    row is called."""
    return f"{zlib.crc32(pattern.chart.cells[: row - 1].tobytes()):08x}"


def laid_as(pattern: Pattern, laying: Laying) -> Pattern:
    """The pattern laid as it was before; BedError where it does not fit the bed so."""
    return replace(
        pattern,
        first_needle=laying.first_needle or pattern.first_needle,
        first_direction=laying.first_direction or pattern.first_direction,
    )
