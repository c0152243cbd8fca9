"""Numbers as they are said."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from num2words import num2words
from row_decoder import value

from caller.calling.words.numbers import (
    needle_words,
    number_in,
    number_words,
    sound_alike,
    unchecked,
)
from caller.pattern.bed import Bed

STYLES = ("words", "digits", "checked")


@pytest.mark.parametrize(
    ("number", "words"),
    # ICAO Annex 10, volume II, 5.2.1.4.1: the rule second-hand, its examples from memory.
    [
        (10, "one zero"),
        (75, "seven five"),
        (100, "one hundred"),
        (583, "five eight three"),
        (600, "six hundred"),
        (2500, "two thousand five hundred"),
        (5000, "five thousand"),
        (7600, "seven thousand six hundred"),
        (11000, "one one thousand"),
        (18900, "one eight thousand nine hundred"),
        (25000, "two five thousand"),
        (38143, "three eight one four three"),
    ],
)
def test_digit_by_digit(number, words):
    assert number_words(number, "digits") == words


@pytest.mark.parametrize("unit", range(3, 10))
def test_teens_are_checked_and_their_tens_are_not(unit):
    """One of the two with its digits tells both apart."""
    # 15 heard as 50: Pennsylvania Patient Safety Advisory, June 2006 (seen).
    for number in (10 + unit, 110 + unit, 1010 + unit):
        words, _, digits = number_words(number, "checked").partition(", ")
        assert words == number_words(number)
        assert digits == number_words(number, "digits")
    for number in (10 * unit, 100 + 10 * unit):
        assert number_words(number, "checked") == number_words(number)


@pytest.mark.parametrize("number", [13_000, 19_002, 113_040, 216_000, 999_919])
def test_teens_among_the_thousands_are_checked_too(number):
    words = number_words(number)
    assert number_words(number, "checked") == f"{words}, {number_words(number, 'digits')}"


@pytest.mark.parametrize("number", [30_000, 190_030, 913_000 - 3_000, 20_020])
def test_tens_among_the_thousands_are_not(number):
    assert number_words(number, "checked") == number_words(number)


def test_a_teen_sounds_like_its_ten_in_the_same_hundred_only():
    alike = {pair for pair in product(range(400), range(400)) if sound_alike(*pair)}
    pairs = {(13, 30), (14, 40), (15, 50), (16, 60), (17, 70), (18, 80), (19, 90)}
    of_all = {(more + one, more + ten) for one, ten in pairs for more in (0, 100, 200, 300)}
    assert alike == of_all | {(ten, one) for one, ten in of_all}


def test_what_no_stitch_hangs_on_is_not_checked():
    assert [unchecked(style) for style in STYLES] == ["words", "digits", "words"]


@given(st.integers(0, 999_999))
def test_words_are_those_of_num2words(number):
    assert number_words(number) == num2words(number).replace(",", "")


def test_every_small_number_is_that_of_num2words():
    for number in range(2001):
        assert number_words(number) == num2words(number).replace(",", "")


@pytest.mark.parametrize("number", [1, 2, 9, 10, 11, 12, 20, 21, 31, 55, 99, 100, 101, 126, 200])
def test_other_numbers_are_said_once(number):
    assert number_words(number, "checked") == number_words(number)


@settings(deadline=None)
@given(st.integers(0, 99_999), st.sampled_from(STYLES))
def test_every_number_is_read_back(number, style):
    assert value(number_words(number, style)) == number


@settings(deadline=None)
@given(st.integers(0, 2000), st.integers(0, 2000), st.sampled_from(STYLES))
def test_no_two_numbers_are_said_alike(one, other, style):
    assert (number_words(one, style) == number_words(other, style)) == (one == other)


@pytest.mark.parametrize("numbering", ["centre", "straight"])
@pytest.mark.parametrize("style", STYLES)
def test_no_two_needles_are_said_alike(numbering, style):
    bed = Bed(200, numbering=numbering)
    assert len({needle_words(bed, position, style) for position in range(200)}) == 200
    assert needle_words(Bed(), 87, "checked") == "left thirteen, one three"


@given(st.integers(0, 999_999))
def test_numbers_are_read_as_they_are_written(number):
    words = number_words(number)
    for text in (words, words.replace("-", " "), words.replace(" and ", " "), words.upper()):
        assert number_in(text) == number
    assert number_in(str(number)) == number


@pytest.mark.parametrize(
    "text",
    ["", "and", "twenty ten", "hundred", "two two", "ten hundred", "1e3", "²", "-4", "9" * 7],
)
def test_what_is_no_number(text):
    assert number_in(text) is None
