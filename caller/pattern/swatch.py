"""From measured swatches to the gauge and to the yarn in a stitch.

The usual swatch is 40 stitches by 60 rows, the needle 21 marked on each side so that the 40 are
easily found; it rests, and three readings are taken and their mean used (practice of the trade).
"""

from collections.abc import Sequence
from dataclasses import dataclass

from caller.checks import within
from caller.errors import GaugeError, YarnError
from caller.pattern.gauge import Gauge
from caller.pattern.units import mm
from caller.pattern.yarn_counts import FINEST_TEX, HEAVIEST_TEX

MOST_SPREAD = 0.05
"""Readings of one swatch further apart than this are worth measuring again."""
SHORTEST_LOOP_MM, LONGEST_LOOP_MM = 1.0, 200.0

_MOST = 2000  # stitches, rows, cm or in
_OVER = {"cm": 10.0, "in": 4.0}  # the length that a gauge is told over


@dataclass(frozen=True)
class SwatchReading:
    """One reading: so many stitches measure `width`, and so many rows `height`, in `unit`.

    The unit is "cm" or "in". Raises GaugeError for what no swatch has.
    """

    stitches: float
    rows: float
    width: float
    height: float
    unit: str = "cm"

    def __post_init__(self) -> None:
        if self.unit not in _OVER:
            raise GaugeError(
                f"A swatch is measured in cm or in, not in {self.unit!r}.", "Use one of them."
            )
        for what, value, unit in (
            ("A swatch", self.stitches, "stitches"),
            ("A swatch", self.rows, "rows"),
            ("A swatch width", self.width, self.unit),
            ("A swatch height", self.height, self.unit),
        ):
            within(GaugeError, what, value, 0.1 if unit == self.unit else 1, _MOST, unit)
        Gauge(self.stitches / self.width, self.rows / self.height, 1, self.unit)


@dataclass(frozen=True)
class SwatchGauge:
    """The mean gauge of some readings; `warning` is a sentence when they differ too much."""

    gauge: Gauge
    warning: str | None


def swatch_gauge(readings: Sequence[SwatchReading]) -> SwatchGauge:
    """The mean of the readings' gauges, over 10 cm or 4 in, to two decimals.

    Raises GaugeError when there is no reading or the readings mix cm and in.
    """
    if not readings:
        raise GaugeError("There is no reading of the swatch", "measure its width and height.")
    unit = readings[0].unit
    if any(reading.unit != unit for reading in readings):
        raise GaugeError(
            "The swatch is measured partly in cm and partly in inches", "measure it in one unit."
        )
    over = _OVER[unit]
    stitches = [reading.stitches / reading.width * over for reading in readings]
    rows = [reading.rows / reading.height * over for reading in readings]
    gauge = Gauge(round(_mean(stitches), 2), round(_mean(rows), 2), over, unit)
    sentences = [
        f"The readings differ by {_spread(found):.0%} in {what} ({min(found):.3g} to "
        f"{max(found):.3g} over {over:g} {unit}); let the swatch rest and measure it again."
        for what, found in (("stitches", stitches), ("rows", rows))
        if _spread(found) > MOST_SPREAD + 1e-9
    ]
    return SwatchGauge(gauge, " ".join(sentences) or None)


def unravelled_loop_mm(stitches: float, length: float, unit: str) -> float:
    """The loop length, when so many stitches unravelled gave `length` of yarn (cm, in, yd, m, mm).

    Raises GaugeError for a length that no stitch has, SettingError for another unit.
    """
    within(GaugeError, "An unravelled piece", stitches, 1, 1_000_000, "stitches")
    return _loop(mm(length, unit) / stitches)


def weighed_loop_mm(mass_g: float, tex: float, stitches: float) -> float:
    """The loop length, when a swatch of so many stitches weighs `mass_g` in yarn of `tex`.

    The length is the mass over the linear density. Weigh plain knitting only, without its cast-on
    and bind-off. Raises YarnError or GaugeError for numbers that cannot be.
    """
    within(YarnError, "A swatch mass", mass_g, 0.01, 10_000, "g")
    within(YarnError, "A yarn", tex, FINEST_TEX, HEAVIEST_TEX, "tex")
    within(GaugeError, "A weighed swatch", stitches, 1, 1_000_000, "stitches")
    return _loop(mass_g / tex * 1_000_000 / stitches)


def _loop(loop_mm: float) -> float:
    if not SHORTEST_LOOP_MM <= loop_mm <= LONGEST_LOOP_MM:  # written so that NaN fails too
        raise GaugeError(
            f"This comes to {loop_mm:.3g} mm of yarn in a stitch, and a stitch takes "
            f"{SHORTEST_LOOP_MM:g} to {LONGEST_LOOP_MM:g} mm.",
            "Count and measure again.",
        )
    return loop_mm


def _mean(found: Sequence[float]) -> float:
    return sum(found) / len(found)


def _spread(found: Sequence[float]) -> float:
    """The largest difference between readings as a part of their mean, 0.05 being 5 %."""
    return (max(found) - min(found)) / _mean(found)
