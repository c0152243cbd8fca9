"""How large a picture becomes: one measure settles the other."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.errors import SettingError
from caller.pattern.gauge import CM_PER_INCH, Gauge, parse_gauge
from caller.pattern.picture.sizing import sized

INCHES = parse_gauge("8x10.5/in")
COMMON = Gauge(30, 42)


@pytest.mark.parametrize(
    ("gauge", "ratio", "measures", "expected"),
    [
        # A square 96 stitches wide is 126 rows tall (computed; common practice of the trade).
        (INCHES, 1, {"stitches": 96}, (96, 126)),
        (INCHES, 1, {"rows": 126}, (96, 126)),
        # The same square in lengths: 96 / 8 = 12 in.
        (INCHES, 1, {"width_cm": 12 * CM_PER_INCH}, (96, 126)),
        (COMMON, 1, {"width_cm": 10}, (30, 42)),
        (COMMON, 1, {"height_cm": 20}, (60, 84)),
        (COMMON, 1.5, {"width_cm": 10}, (30, 63)),
        (COMMON, 1.5, {"height_cm": 10}, (20, 42)),
        (COMMON, 84 / 80, {"stitches": 80}, (80, 118)),
        (COMMON, 1, {"stitches": 80, "rows": 50}, (80, 50)),
        (COMMON, 1, {"stitches": 80, "height_cm": 10}, (80, 42)),
        (COMMON, 1, {"width_cm": 20, "rows": 7}, (60, 7)),
        (COMMON, 1e-4, {"stitches": 80}, (80, 1)),
    ],
)
def test_sizes(gauge, ratio, measures, expected):
    assert sized(gauge, ratio, **measures) == expected


@given(
    st.floats(5, 60), st.floats(5, 80), st.floats(0.2, 5), st.integers(20, 400), st.floats(5, 200)
)
def test_the_fabric_keeps_the_pictures_proportions(stitch, row, ratio, stitches, cm):
    gauge = Gauge(stitch, row)
    for measures in ({"stitches": stitches}, {"width_cm": cm}, {"height_cm": cm}):
        across, down = sized(gauge, ratio, **measures)
        width, height = across / gauge.stitches_per_cm, down / gauge.rows_per_cm
        # Within half a stitch and half a row.
        slack = 0.51 / gauge.rows_per_cm + 0.51 * ratio / gauge.stitches_per_cm
        if min(across, down) > 1:
            assert abs(height - ratio * width) <= slack


@given(st.floats(5, 60), st.floats(5, 80), st.floats(0.2, 5), st.integers(2, 400))
def test_rows_follow_from_stitches_by_the_gauge(stitch, row, ratio, stitches):
    gauge = Gauge(stitch, row)
    across, down = sized(gauge, ratio, stitches=stitches)
    assert across == stitches
    # rows = width / stitch gauge x row gauge x height-to-width ratio (practice of the trade)
    by_hand = stitches / stitch * row * ratio
    assert abs(down - max(1, by_hand)) <= 0.51


@pytest.mark.parametrize(
    ("ratio", "measures", "message"),
    [
        (1, {}, "its width or its height"),
        (1, {"stitches": 4, "width_cm": 10}, "width is given twice"),
        (1, {"rows": 4, "height_cm": 10}, "height is given twice"),
        (1, {"stitches": 0}, "A width of 0 stitches"),
        (1, {"rows": -3}, "A height of -3 rows"),
        (1, {"width_cm": 0}, "A width of 0 cm"),
        (1, {"height_cm": math.inf}, "A height of inf cm"),
        (1, {"width_cm": math.nan}, "A width of nan cm"),
        (0, {"stitches": 4}, "ratio of 0"),
        (math.nan, {"stitches": 4}, "ratio of nan"),
    ],
)
def test_measures_that_make_no_sense(ratio, measures, message):
    with pytest.raises(SettingError, match=message):
        sized(COMMON, ratio, **measures)
