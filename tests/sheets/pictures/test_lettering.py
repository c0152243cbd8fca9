"""Words in pictures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from caller.sheets.pictures.lettering import DIGIT, lettering, spelled, wrapped


@pytest.mark.parametrize("size", [10, 37, 200])
def test_a_digit_is_as_tall_as_told(size: int) -> None:
    _, top, _, bottom = lettering(size).getbbox("0", anchor="ls")
    assert bottom - top == pytest.approx(size * DIGIT, abs=1.5)


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("Sailing boat", "Sailing boat"),
        ("Weiß, Ærø, señal", "Weiss, Aero, senal"),
        ("  two\nlines ", "two lines"),
        ("日本", "yarn 3"),
        ("…", "yarn 3"),
        ("№ 5", "No 5"),
    ],
)
def test_spelling(text: str, plain: str) -> None:
    assert spelled(" ".join(text.split()), "yarn 3") == plain


@given(st.text(max_size=60))
def test_every_letter_that_is_left_can_be_drawn(text: str) -> None:
    plain = spelled(text, "otherwise")
    assert plain
    font = ImageFont.load_default(40)
    box = bytes(font.getmask("\uffff"))  # what is drawn for a letter that the lettering lacks
    assert all(bytes(font.getmask(letter)) != box for letter in set(plain) - {" "})


@given(st.lists(st.text("abcdefgh", min_size=1, max_size=30), max_size=8), st.integers(20, 300))
def test_lines_fit_and_lose_nothing(words: list[str], width: int) -> None:
    text = " ".join(words)
    lines = wrapped(text, 20, width)
    assert "".join("".join(lines).split()) == "".join(words)
    assert all(len(line) == 1 or lettering(20).getlength(line) <= width for line in lines)


def test_words_stay_whole_where_they_can() -> None:
    assert wrapped("the purl side", 20, lettering(20).getlength("the purl")) == ["the purl", "side"]
