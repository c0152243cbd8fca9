"""Contrast and the inks of borders, against coloraide and published ratios."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.sheets.pictures.contrast import NO_INK, border_inks, contrast, ink_on, luminance
from caller.sheets.pictures.marks import RIM
from caller.sheets.pictures.page import INK, PAPER

colours = st.tuples(*[st.integers(0, 255)] * 3)


def measured(first: tuple[int, ...], second: tuple[int, ...]) -> float:
    """The contrast by coloraide."""
    from coloraide import Color

    one, other = (Color("srgb", [part / 255 for part in c]) for c in (first, second))
    return float(one.contrast(other, method="wcag21"))


# On white. #767676 is the palest grey for text by WCAG 2.2 AA (4.5) and #595959 the palest by AAA
# (7); 8.59 and 1.07 are often published for pure blue and yellow (seen); the rest is computed.
@pytest.mark.parametrize(
    ("colour", "ratio"),
    [
        ((0x76, 0x76, 0x76), 4.54),
        ((0x77, 0x77, 0x77), 4.48),
        ((0x59, 0x59, 0x59), 7.00),
        ((0x5A, 0x5A, 0x5A), 6.90),
        ((0, 0, 255), 8.59),
        ((255, 255, 0), 1.07),
        ((0, 0, 0), 21.0),
    ],
)
def test_published_contrasts(colour: tuple[int, int, int], ratio: float) -> None:
    assert float(contrast(luminance(colour), 1.0)) == pytest.approx(ratio, abs=0.005)


@given(colours, colours)
def test_contrast_is_that_of_coloraide(first: tuple[int, ...], second: tuple[int, ...]) -> None:
    # coloraide converts by exact fractions where the standard rounds, hence the tolerance.
    ours = float(contrast(luminance(first), luminance(second)))
    assert ours == pytest.approx(measured(first, second), rel=1e-3)


@given(colours)
def test_the_ink_on_any_colour_can_be_read(colour: tuple[int, int, int]) -> None:
    assert measured(ink_on(colour), colour) >= 4.5  # WCAG 2.2, 1.4.3


def test_the_words_can_be_read_well() -> None:
    assert measured(INK, PAPER) >= 7  # WCAG 2.2, 1.4.6
    assert measured(INK, RIM) >= 7


@given(colours, colours)
def test_a_border_is_seen_from_both_sides(first: tuple[int, ...], second: tuple[int, ...]) -> None:
    before, after = border_inks(luminance(first)[None], luminance(second)[None])
    inks = [int(before[0]), int(after[0])]
    if NO_INK in inks:
        assert inks == [NO_INK, NO_INK]
        assert measured(first, second) >= 2.999  # the colours are their own border
    else:
        assert measured((inks[0],) * 3, first) >= 2.999  # WCAG 2.2, 1.4.11
        assert measured((inks[1],) * 3, second) >= 2.999
        if inks[0] == inks[1]:
            assert measured((inks[0],) * 3, second) >= 2.999


def test_every_kind_of_border() -> None:
    navy, cream, teal, grey = np.array([0.02, 0.85, 0.09, 0.31])
    cases = {
        "two dark": ((navy, teal), (255, 255)),
        "two light": ((cream, grey), (0, 0)),
        "far apart": ((navy, cream), (NO_INK, NO_INK)),
        "a little apart": ((teal, grey), (255, 0)),
        "the other way round": ((grey, teal), (0, 255)),
    }
    for name, ((first, second), inks) in cases.items():
        assert tuple(map(int, border_inks(first, second))) == inks, name
