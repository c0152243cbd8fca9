"""Gauge: written forms, and the proportions of a picture."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.errors import GaugeError
from caller.pattern.gauge import Gauge, parse_gauge
from caller.pattern.picture.sizing import sized


def test_a_square_of_96_stitches_is_126_rows():
    # rows = width / stitch gauge x row gauge; at 8 stitches and 10.5 rows to the inch a square 96
    # stitches wide is 126 rows tall (common practice of the trade; recomputed by hand).
    assert sized(parse_gauge("8x10.5/in"), 1.0, stitches=96) == (96, 126)


def test_units_agree():
    # 1 in = 2.54 cm exactly (international yard and pound agreement, 1959).
    inch, cm = parse_gauge("7.62x10.16/in"), parse_gauge("30x40/10cm")
    assert inch.stitches_per_cm == pytest.approx(cm.stitches_per_cm)
    assert inch.rows_per_cm == pytest.approx(cm.rows_per_cm)


@pytest.mark.parametrize(
    ("text", "gauge"),
    [
        ("8x10.5/in", Gauge(8, 10.5, 1, "in")),
        ("32x42/10cm", Gauge(32, 42, 10, "cm")),
        (" 32 X 42 / 10 CM ", Gauge(32, 42, 10, "cm")),
        ("32×42/10cm", Gauge(32, 42, 10, "cm")),
        ("30,5x44/10cm", Gauge(30.5, 44, 10, "cm")),
        ("28x36/4in", Gauge(28, 36, 4, "in")),
    ],
)
def test_written_forms(text, gauge):
    assert parse_gauge(text) == gauge
    assert parse_gauge(gauge.written()) == gauge


@pytest.mark.parametrize(
    "text",
    [
        "",
        "31",
        "32x42",
        "32x42/10",
        "x44/10cm",
        "-32x42/10cm",
        "0x44/10cm",
        "31x0/10cm",
        "nanx4/cm",
        "32x42/0cm",
        "9999x44/cm",
        "32x42/10mm",
        "32x42/10cm in",
        "1e9x4/cm",
        "infx44/10cm",
    ],
)
def test_gauges_that_cannot_be(text):
    with pytest.raises(GaugeError):
        parse_gauge(text)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 0.0, -1.0])
def test_numbers_that_are_no_gauge(value):
    for gauge in [(value, 42, 10, "cm"), (32, value, 10, "cm"), (32, 42, value, "cm")]:
        with pytest.raises(GaugeError):
            Gauge(*gauge)


@given(st.integers(2, 400), st.floats(10, 60), st.floats(10, 80))
def test_a_square_is_square_on_the_fabric(width, stitches, rows):
    gauge = Gauge(stitches, rows)
    height_cm = sized(gauge, 1.0, stitches=width)[1] / gauge.rows_per_cm
    assert height_cm == pytest.approx(width / gauge.stitches_per_cm, abs=1 / gauge.rows_per_cm)
