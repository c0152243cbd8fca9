"""Swatches: the mean of readings, their spread, and the yarn in a stitch."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.errors import GaugeError, SettingError, YarnError
from caller.pattern.gauge import Gauge, parse_gauge
from caller.pattern.swatch import (
    SwatchReading,
    swatch_gauge,
    unravelled_loop_mm,
    weighed_loop_mm,
)

units = st.sampled_from(["cm", "in"])


def test_the_usual_swatch():
    # A swatch of 40 stitches by 60 rows, the mean of three readings, for example 30 stitches and
    # 39 rows to 10 cm: seen. 40 stitches are then 13.3 cm wide and 60 rows 15.4 cm tall (computed).
    readings = [
        SwatchReading(40, 60, 13.2, 15.4),
        SwatchReading(40, 60, 13.3, 15.3),
        SwatchReading(40, 60, 13.5, 15.4),
    ]
    found = swatch_gauge(readings)
    assert found.gauge.stitches == pytest.approx(30, abs=0.05)
    assert found.gauge.rows == pytest.approx(39, abs=0.1)
    assert (found.gauge.over, found.gauge.unit) == (10, "cm")
    assert found.warning is None


def test_inches_give_a_gauge_in_inches():
    # 5 stitches and 7 rows to the inch, as in a published worked swatch of 2009: seen.
    found = swatch_gauge([SwatchReading(40, 56, 8, 8, "in")])
    assert found.gauge == Gauge(20, 28, 4, "in")
    assert found.gauge.stitches_per_cm == pytest.approx(parse_gauge("5x7/in").stitches_per_cm)
    assert found.warning is None


def test_the_mean_is_that_of_the_gauges():
    found = swatch_gauge([SwatchReading(30, 40, 10, 10), SwatchReading(15, 22, 5, 5)])
    assert found.gauge == Gauge(30, 42)


@given(st.floats(20, 60), st.floats(20, 60), st.floats(8, 40), st.floats(8, 40), units)
def test_one_reading_is_its_own_gauge(stitches, rows, width, height, unit):
    found = swatch_gauge([SwatchReading(stitches, rows, width, height, unit)] * 3)
    # Rounding to two decimals over 10 cm or 4 in leaves at most 0.005.
    assert found.gauge.stitches / found.gauge.over * width == pytest.approx(stitches, abs=0.06)
    assert found.gauge.rows / found.gauge.over * height == pytest.approx(rows, abs=0.06)
    assert found.warning is None
    assert parse_gauge(found.gauge.written()) == found.gauge


@given(st.lists(st.floats(10, 16), min_size=2, max_size=6))
def test_a_spread_of_more_than_five_percent_is_told(widths):
    found = swatch_gauge([SwatchReading(40, 60, width, 15) for width in widths])
    gauges = [400 / width for width in widths]
    expected = (max(gauges) - min(gauges)) / (sum(gauges) / len(gauges))
    assert (found.warning is not None) == (expected > 0.05 + 1e-9)
    assert min(gauges) - 0.01 <= found.gauge.stitches <= max(gauges) + 0.01


def test_the_warning_names_what_differs():
    readings = [SwatchReading(40, 60, 13.3, 15.0), SwatchReading(40, 60, 13.3, 16.5)]
    warning = swatch_gauge(readings).warning
    assert warning == (
        "The readings differ by 10% in rows (36.4 to 40 over 10 cm); let the swatch rest and "
        "measure it again."
    )
    both = [SwatchReading(40, 60, 12, 15.0), SwatchReading(40, 60, 13.3, 16.5)]
    assert "in stitches" in swatch_gauge(both).warning
    assert "in rows" in swatch_gauge(both).warning


@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf"), 1e9])
@pytest.mark.parametrize("place", range(4))
def test_readings_that_cannot_be(value, place):
    numbers = [40, 60, 13.3, 15.4]
    numbers[place] = value
    with pytest.raises(GaugeError):
        SwatchReading(*numbers)


@pytest.mark.parametrize(
    "numbers", [(40, 60, 0.5, 15), (40, 60, 13, 1.2), (1, 60, 100, 15), (40, 1, 13, 100)]
)
def test_readings_of_no_fabric(numbers):
    with pytest.raises(GaugeError, match="no knitted fabric"):
        SwatchReading(*numbers)


@pytest.mark.parametrize("unit", ["mm", "", "CM", "inch", None])
def test_other_units(unit):
    with pytest.raises(GaugeError, match="cm or in"):
        SwatchReading(40, 60, 13, 15, unit)


def test_mixed_units_are_refused():
    with pytest.raises(GaugeError, match="measure it in one unit"):
        swatch_gauge([SwatchReading(40, 60, 13.3, 15.4), SwatchReading(40, 60, 5.2, 6.1, "in")])


def test_no_reading():
    with pytest.raises(GaugeError, match="no reading"):
        swatch_gauge([])


def test_unravelled_stitches():
    # 45 stitches took a yard, 0.80 in each: a published worked swatch of 2009, seen.
    assert unravelled_loop_mm(45, 1, "yd") == pytest.approx(0.80 * 25.4)
    assert unravelled_loop_mm(45, 36, "in") == pytest.approx(unravelled_loop_mm(45, 91.44, "cm"))
    assert unravelled_loop_mm(100, 1.36, "m") == pytest.approx(unravelled_loop_mm(100, 1360, "mm"))


@given(st.floats(2, 50), st.integers(1, 5000), st.floats(10, 1000))
def test_weighing_and_unravelling_agree(loop_mm, stitches, tex):
    metres = loop_mm * stitches / 1000
    grams = metres * tex / 1000  # tex is grams a kilometre (ISO 1144)
    if grams < 0.01:
        return
    assert weighed_loop_mm(grams, tex, stitches) == pytest.approx(loop_mm)
    assert unravelled_loop_mm(stitches, metres, "m") == pytest.approx(loop_mm)


@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf"), 1e12])
def test_measurements_that_cannot_be(value):
    for ask in (
        lambda: unravelled_loop_mm(value, 100, "cm"),
        lambda: unravelled_loop_mm(45, value, "cm"),
        lambda: weighed_loop_mm(5, 70, value),
    ):
        with pytest.raises(GaugeError):
            ask()
    for ask in (lambda: weighed_loop_mm(value, 70, 2400), lambda: weighed_loop_mm(5, value, 2400)):
        with pytest.raises(YarnError):
            ask()


@pytest.mark.parametrize("length", [1, 1000])
def test_loops_that_no_stitch_has(length):
    with pytest.raises(GaugeError, match="a stitch takes 1 to 200 mm"):
        unravelled_loop_mm(45, length, "cm")


def test_a_length_in_another_unit():
    with pytest.raises(SettingError, match="'ell' cannot be read"):
        unravelled_loop_mm(45, 1, "ell")
