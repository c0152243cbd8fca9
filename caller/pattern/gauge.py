"""Gauge: how many stitches and rows cover a length of fabric."""

import re
from dataclasses import dataclass

from caller.checks import one_of
from caller.errors import GaugeError

CM_PER_INCH = 2.54
_FEWEST, _MOST = 0.5, 40.0  # stitches or rows per cm: thick rope to the finest industrial bed
_NUMBER = r"(\d+(?:[.,]\d+)?)"
_WRITTEN = re.compile(
    rf"\s*{_NUMBER}\s*[x×]\s*{_NUMBER}\s*/\s*(\d+(?:[.,]\d+)?)?\s*(cm|in)\s*", re.IGNORECASE
)


@dataclass(frozen=True)
class Gauge:
    """Stitches and rows over one length of `over` units, the unit being "cm" or "in".

    Kept as the knitter measured it, so that the pattern file shows the same numbers again.
    Raises GaugeError for what no fabric has.
    """

    stitches: float
    rows: float
    over: float = 10.0
    unit: str = "cm"

    def __post_init__(self) -> None:
        one_of(GaugeError, "unit of the gauge", self.unit, ("cm", "in"))
        if not 0 < self.over < float("inf"):
            raise GaugeError(
                f"The gauge is measured over {self.over} {self.unit}", "use 10 cm or 4 in."
            )
        for what, per_cm in (
            ("stitches", self.stitches_per_cm),
            ("rows", self.rows_per_cm),
        ):
            if not _FEWEST / 10 <= per_cm <= _MOST:  # written so that NaN fails too
                raise GaugeError(
                    f"A gauge of {getattr(self, what):g} {what} to {self.over:g} {self.unit} is "
                    "no knitted fabric",
                    f"count the {what} over 10 cm of a swatch again.",
                )

    @property
    def stitches_per_cm(self) -> float:
        return self.stitches / self._cm

    @property
    def rows_per_cm(self) -> float:
        return self.rows / self._cm

    @property
    def _cm(self) -> float:
        return self.over * (CM_PER_INCH if self.unit == "in" else 1.0)

    def written(self) -> str:
        """As the knitter writes it: "32x42/10cm"; `parse_gauge` reads it back."""
        over = "" if self.over == 1 else f"{self.over:g}"
        return f"{self.stitches:g}x{self.rows:g}/{over}{self.unit}"


def parse_gauge(text: str) -> Gauge:
    """Read "8x10.5/in", "32x42/10cm" or "30 x 39 / 10 cm": stitches x rows / length.

    Raises GaugeError when the text is not written so.
    """
    found = _WRITTEN.fullmatch(text)
    if found is None:
        raise GaugeError(
            f"The gauge {text!r} is not written as stitches x rows / length",
            "write it like 32x42/10cm or 8x10.5/in.",
        )
    stitches, rows, over, unit = found.groups()
    return Gauge(_number(stitches), _number(rows), _number(over or "1"), unit.lower())


def _number(text: str) -> float:
    return float(text.replace(",", "."))
