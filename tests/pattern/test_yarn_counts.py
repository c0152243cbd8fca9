"""Yarn counts against the published tables, a reference library of units, and sellers' labels."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.errors import YarnError
from caller.pattern.yarn_counts import YarnCount, parse_count


def tex(text: str) -> float:
    return parse_count(text).tex_for_mass()


@pytest.mark.parametrize(
    ("one", "other", "within"),
    [
        # ASTM D2260-03(2013), published scope, examples and factors of Table 1: seen.
        ("30 tex", "19.7 Ne", 0.005),
        ("10 Ne", "15 worsted", 1e-9),
        ("590.541 tex", "1 Ne", 1e-6),
        ("885.812 tex", "1 worsted", 1e-6),
        ("100 Nm", "59.0541 Ne", 1e-6),
        ("100 Nm", "88.5812 worsted", 1e-6),
        ("1000 Nm", "496055 yd/lb", 1e-6),
        ("10 tex", "90 denier", 1e-9),
        # tex = 590.5 / Ne = 1000 / Nm = 885.8 / worsted = denier / 9: ISO 1144 and textbooks, seen.
        ("590.5 tex", "1 Ne", 1e-4),
        ("885.8 tex", "1 worsted", 1e-4),
        ("1000 tex", "1 Nm", 1e-9),
        ("1 tex", "10 dtex", 1e-9),
        # 50 Nm x 0.5905 is about Ne 30, and Ne 30 is 19.7 tex: seen.
        ("50 Nm", "30 Ne", 0.02),
        ("Ne 30", "19.7 tex", 0.001),
    ],
)
def test_the_systems_agree_with_the_standards(one, other, within):
    assert tex(one) == pytest.approx(tex(other), rel=within)


@pytest.mark.parametrize(
    ("plied", "whole", "within"),
    [
        # 2/28 Nm = 14 Nm = 71.43 tex = 642.9 den = 1,400 m in 100 g: computed.
        ("2/28 Nm", "14 Nm", 1e-9),
        ("28/2 Nm", "71.43 tex", 1e-4),
        ("Nm 2/28", "642.9 denier", 1e-4),
        ("2/28 Nm", "1400m/100g", 1e-9),
        # The same in a seller's table: 70 tex and about 2,300 yards in 150 g; seen.
        ("2/28 Nm", "70 tex", 0.025),
        ("2/28 Nm", "2300 yd/150 g", 0.005),
        # "2-40's" cotton is 20 hanks to the pound: J. T. Taylor, Cotton Weaving and Designing, 6th
        # edition; seen.
        ("2/40 cotton", "20 Ne", 1e-9),
        # 8/2 cotton has two plies of size 8, a final count of 4, 3,360 yards to the pound: a
        # weaver's worked example of 1999; seen.
        ("8/2 cotton", "4 Ne", 1e-9),
        ("8/2 cotton", "3360 yd/lb", 1e-9),
        # 2/48 Nm is 24 Nm: a weavers' textbook; seen. 24 x 0.5905 = 14.17 in cotton: computed.
        ("2/48 Nm", "24 Nm", 1e-9),
        ("2/48 Nm", "14.17 Ne", 1e-3),
        # In a direct system the components add up: two of 21 tex make 42 tex (textbook, seen).
        ("21 tex x 2", "42 tex", 1e-9),
        ("20 tex × 2", "R 40 tex", 1e-9),
        # After R stands the whole yarn's number, whatever the folds (ISO 1139, from memory).
        ("R 40 tex/2", "40 tex", 1e-9),
        ("R 14 Nm", "2/28 Nm", 1e-9),
        # Two ends of a plied yarn knitted as one weigh twice as much (definition).
        ("2/28 Nm x 2", "7 Nm", 1e-9),
    ],
)
def test_plied_yarns(plied, whole, within):
    assert tex(plied) == pytest.approx(tex(whole), rel=within)


def test_folded_singles_add_their_masses():
    # 24s and 40s cotton folded together are 15s (examination paper on textiles, seen).
    assert tex("24 Ne") + tex("40 Ne") == pytest.approx(tex("15 Ne"))


@pytest.fixture(scope="module")
def units():
    """A library's units; made once, because it takes a moment."""
    return pytest.importorskip("pint").UnitRegistry()


@settings(deadline=None)  # the first conversion of each unit is slow
@given(st.floats(1, 400).map(lambda number: round(number, 2)))
def test_a_library_of_units_agrees(units, number):
    """Against pint, whose textile units were written by others."""
    for system, unit in [("tex", "tex"), ("dtex", "dtex"), ("denier", "denier")]:
        expected = (number * units(unit)).to("gram / kilometer").magnitude
        assert tex(f"{number} {system}") == pytest.approx(expected)
    for system, unit in [("Nm", "number_meter"), ("Ne", "number_english")]:
        expected = (1 / (number * units(unit))).to("gram / kilometer").magnitude
        assert tex(f"{number} {system}") == pytest.approx(expected)
    for label, length, mass in [
        ("m/100 g", "meter", "100 gram"),
        ("yd/50g", "yard", "50 gram"),
        ("yd/oz", "yard", "ounce"),
        ("yards per lb", "yard", "pound"),
        ("m/kg", "meter", "kilogram"),
    ]:
        expected = (units(mass) / (number * units(length))).to("gram / kilometer").magnitude
        if expected < 100_000:
            assert tex(f"{number} {label}") == pytest.approx(expected)


@given(
    st.integers(1, 12),
    st.floats(13, 200).map(lambda number: round(number, 1)),
    st.sampled_from(["Nm", "Ne", "worsted"]),
)
def test_plied_counts_read_either_way_round(plies, single, system):
    one, other = tex(f"{plies}/{single} {system}"), tex(f"{system} {single}/{plies}")
    assert one == other == pytest.approx(plies * tex(f"{single} {system}"))
    assert one == pytest.approx(tex(f"{single} {system} x {plies}"))


@given(st.floats(0.1, 100_000))
def test_every_density_in_range_is_kept(density):
    assert YarnCount(density, "as measured").tex_for_mass() == density


def test_the_count_is_kept_as_written():
    count = parse_count("  2/28   nm ")
    assert count.written == "2/28 nm"
    assert parse_count(count.written) == count


@pytest.mark.parametrize(
    "text", ["70,5 tex", "70.5 TEX", "Tex 70.5", "R70.5tex", "705 dtex", "dtex 705", "634.5 den"]
)
def test_spellings_of_one_count(text):
    assert tex(text) == pytest.approx(70.5)


@pytest.mark.parametrize("text", ["12 wpi", "12 wraps", "14 wraps per inch", "5.5 wraps/cm"])
def test_wraps_are_kept_and_give_no_mass(text):
    count = parse_count(text)
    assert count == YarnCount(None, text)
    with pytest.raises(YarnError, match="wraps give no mass"):
        count.tex_for_mass()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   ",
        "28",
        "2/28",
        "tex",
        "x 2",
        "-5 tex",
        "nan tex",
        "inf Nm",
        "1e3 tex",
        "2//28 Nm",
        "2/28/2 Nm",
        "Nm 28 Nm",
        "28 tex Nm",
        "28 Nq",
        "28 Nm extra",
        "R 2/28 Nm",
        "R 20 tex x 2",
        "400 m",
        "400 m/100",
        "m/100 g",
        "400 m/-100 g",
        "400 km/100 g",
        "wpi",
        "-3 wpi",
        "٣٠ tex",
        "20 tex x 2.5",
        "9" * 5000 + " tex",
        "20 tex x " + "9" * 5000,
    ],
)
def test_what_is_no_count(text):
    with pytest.raises(YarnError, match="is not a yarn count; write it like") as caught:
        parse_count(text)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("0 tex", "has a zero"),
        ("0.0 Nm", "has a zero"),
        ("2/0 Nm", "has a zero"),
        ("0/28 Nm", "has a zero"),
        ("0 m/100 g", "has a zero"),
        ("400 m/0 g", "has a zero"),
        ("0 wpi", "has a zero"),
        ("20 tex x 0", "0 plies"),
        ("20 tex x 13", "13 plies"),
        ("1.5/28 Nm", "1.5 plies"),
        ("20/28 Nm", "20 plies"),
        ("100001 tex", "between 0.1 and 100,000 tex"),
        ("999999999 tex", "between 0.1 and 100,000 tex"),
        ("0.009 Nm", "between 0.1 and 100,000 tex"),
        ("999999 Ne", "between 0.1 and 100,000 tex"),
        ("1 m/1 kg", "between 0.1 and 100,000 tex"),
        ("150/48 denier", "plies or filaments"),
        ("tex 20/2", "plies or filaments"),
        ("1,400 m/100 g", "could be 1400 or 1.4"),
        ("1.400 m/100 g", "could be 1400 or 1.4"),
        ("71,429 tex", "could be 71429 or 71.429"),
        ("2,300 yd/150 g", "could be 2300 or 2.3"),
    ],
)
def test_counts_that_are_refused(text, sentence):
    with pytest.raises(YarnError, match=sentence):
        parse_count(text)


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf"), 100_000.1])
def test_densities_that_no_yarn_has(density):
    with pytest.raises(YarnError, match="read the label again"):
        YarnCount(density, "as measured")


@given(st.one_of(st.text(max_size=30), st.text("0123456789/x.,R mgNtexydwpis'", max_size=20)))
def test_any_text_is_a_count_or_a_sentence(text):
    try:
        count = parse_count(text)
    except YarnError:
        return
    assert count.tex is None or 0.1 <= count.tex <= 100_000
