"""How much yarn: the length of a loop, of a supply and of a row, and what they weigh.

The geometry of plain knitting (D. L. Munden, J. Textile Institute 50, 1959): the stitches in an
area depend on the loop length l alone, S = Ks / l², with a constant for the state of the fabric.
"""

import math
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from caller.checks import within
from caller.errors import GaugeError, SettingError, YarnError
from caller.pattern.gauge import Gauge
from caller.pattern.swatch import LONGEST_LOOP_MM, SHORTEST_LOOP_MM
from caller.pattern.yarn_counts import FINEST_TEX, HEAVIEST_TEX

Relaxation = Literal["dry", "wet", "full"]
"""The state of the measured fabric: rested dry, wetted and dried flat, or washed and tumbled."""

KS = {"dry": 19.0, "wet": 21.6, "full": 23.1}
TAIL_CM = 15.0
"""The tail for weaving in, at each end; sources give 12.5 to 15 cm."""
LONGEST_TAIL_CM = 100
ALLOWANCE = 0.10
USUAL_TIGHTNESS = (1.3, 1.5)
CAST_ON_WIDTHS = 4
"""A wrapped edge takes three to four times the width in yarn: "three times and a tenth", "four
times" (rules of the craft, seen)."""
CAST_OFF_WIDTHS = 6
"""A bind-off takes about six times its width in yarn (rule of the craft; sources agree)."""
WIDTHS_IN_A_ROW = 3
"""By the craft's rule of thumb."""
_BELIEVABLE_RATIO = (3.0, 5.0)  # loop length in stitch widths

Lengths = NDArray[np.float64]


def loop_length_mm(gauge: Gauge, relaxation: Relaxation = "wet") -> float:
    """The yarn in one stitch at this gauge: l = √(Ks / S), S being the stitches in an area.

    From one state to the next l changes by 3 to 7 %, which the usual allowance covers. A swatch
    that is unravelled and measured overrides this. Raises SettingError for another state.
    """
    if relaxation not in get_args(Relaxation):
        raise SettingError(
            f"The state {relaxation!r} of the swatch is not known",
            "it is dry (rested only), wet (wetted and dried flat) or full (washed and tumbled).",
        )
    return 10 * math.sqrt(KS[relaxation] / (gauge.stitches_per_cm * gauge.rows_per_cm))


def supply_length_m(
    stitches: ArrayLike,
    loop_mm: float,
    carry_stitches: ArrayLike,
    stitch_pitch_mm: float,
    tail_cm: float = TAIL_CM,
    allowance: float = ALLOWANCE,
    edging_stitches: ArrayLike = 0,
) -> Lengths:
    """The yarn that each supply takes, in m; `stitches` and `carry_stitches` are numbers or arrays.

    Its stitches at `loop_mm` each and its carries at the width of a stitch, as `edging_stitches`
    (see `edging_stitches`), `allowance` more than all (0.1 is 10 %), and a tail at either end,
    which needs no allowance. Raises SettingError, GaugeError or YarnError for numbers that cannot
    be.
    """
    _check_loop(loop_mm)
    within(SettingError, "A stitch width", stitch_pitch_mm, 0, 200, "mm")
    _check_tail(tail_cm)
    within(SettingError, "An allowance", allowance, 0, 1, "(0.1 is 10 %)")
    knitted = _counts(stitches, "stitches") * loop_mm
    along = _counts(carry_stitches, "carried stitches") + _counts(edging_stitches, "edge stitches")
    needed = (knitted + along * stitch_pitch_mm) * (1 + allowance) / 1000
    length: Lengths = np.asarray(needed + 2 * tail_cm / 100)
    return length


def edging_stitches(cast_on: ArrayLike, bound_off: ArrayLike) -> Lengths:
    """The yarn for stitches that are cast on and bound off, in widths of a stitch."""
    on, off = _counts(cast_on, "stitches cast on"), _counts(bound_off, "stitches bound off")
    widths: Lengths = np.asarray(CAST_ON_WIDTHS * on + CAST_OFF_WIDTHS * off)
    return widths


def mass_g(length_m: ArrayLike, tex: float) -> Lengths:
    """The mass in g of yarn so many metres long; tex is grams in 1000 m.

    Raises YarnError for numbers that no yarn has.
    """
    _check_tex(tex)
    mass: Lengths = np.asarray(_counts(length_m, "metres") * tex / 1000)
    return mass


def balls(needed: float, in_a_ball: float) -> int:
    """Whole balls, when each holds `in_a_ball` metres or grams of the metres or grams `needed`."""
    within(YarnError, "A ball", in_a_ball, 0.1, 1_000_000, "m or g")
    within(YarnError, "An amount", needed, 0, 1e9, "m or g")
    return math.ceil(needed / in_a_ball - 1e-9)


def tightness_factor(tex: float, loop_mm: float) -> float:
    """K = √tex / l, l in mm: how much of the fabric its yarn covers (textbook)."""
    _check_tex(tex)
    _check_loop(loop_mm)
    return math.sqrt(tex) / loop_mm


def tightness_warning(tex: float, loop_mm: float) -> str | None:
    """A sentence when yarn and stitch go together unusually; the work is never refused for it."""
    factor = tightness_factor(tex, loop_mm)
    least, most = USUAL_TIGHTNESS
    if least <= factor <= most:
        return None
    how, why = (
        ("loose", "coned yarn at its seller's gauge often has 0.7 to 0.9; otherwise check")
        if factor < least
        else ("tight", "check")
    )
    return (
        f"The fabric would be {how}: its tightness factor is {factor:.2f}, and plain knitting "
        f"usually has {least} to {most}; {why} the yarn's count and the gauge."
    )


@dataclass(frozen=True)
class RowCheck:
    """One row's yarn in cm, worked out from its loops and by the craft's rule; both with one tail.

    `warning` is a sentence when the loops are unlikely.
    """

    worked_out_cm: float
    by_rule_cm: float
    warning: str | None


def craft_row_length(width: float, tail: float) -> float:
    """A row takes three times its width and a tail, all in one unit (rule of the craft)."""
    return WIDTHS_IN_A_ROW * width + tail


def row_check(stitches: int, loop_mm: float, gauge: Gauge, tail_cm: float = TAIL_CM) -> RowCheck:
    """Compare the yarn worked out for a row of so many stitches with the craft's rule.

    The rule gives a fifth to three tenths less than the geometry does, so only a loop of less than
    3 or more than 5 stitch widths is worth a warning. Raises GaugeError or SettingError for numbers
    that cannot be.
    """
    _check_loop(loop_mm)
    within(GaugeError, "A row", stitches, 1, 1_000_000, "stitches")
    _check_tail(tail_cm)
    ratio = loop_mm / 10 * gauge.stitches_per_cm
    least, most = _BELIEVABLE_RATIO
    warning = None
    if not least <= ratio <= most:
        warning = (
            f"A stitch takes {ratio:.1f} times its own width in yarn, and plain knitting usually "
            f"takes {least:g} to {most:g} times; check the gauge and the measured yarn."
        )
    width = stitches / gauge.stitches_per_cm
    return RowCheck(ratio * width + tail_cm, craft_row_length(width, tail_cm), warning)


def finished_size_cm(stitches: int, rows: int, gauge: Gauge) -> tuple[float, float]:
    """Width and height of the rested fabric."""
    return stitches / gauge.stitches_per_cm, rows / gauge.rows_per_cm


def _check_loop(loop_mm: float) -> None:
    within(GaugeError, "A loop length", loop_mm, SHORTEST_LOOP_MM, LONGEST_LOOP_MM, "mm")


def _check_tail(tail_cm: float) -> None:
    within(SettingError, "A tail", tail_cm, 0, LONGEST_TAIL_CM, "cm")


def _check_tex(tex: float) -> None:
    within(YarnError, "A yarn", tex, FINEST_TEX, HEAVIEST_TEX, "tex")


def _counts(values: ArrayLike, what: str) -> Lengths:
    counts = np.asarray(values, dtype=np.float64)
    if not (np.isfinite(counts) & (counts >= 0)).all():
        raise YarnError(f"The {what} must be numbers from 0 up", "one of them is not.")
    return counts
