"""Text from outside made harmless, over every character that there is."""

import sys
import unicodedata
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st
from wcwidth import wcswidth, wcwidth

from caller.plain_text import folded, plain, shortened

pytestmark = pytest.mark.no_cover

# Bidi_Class of what turns the direction of writing (UAX 9, table 4), from Python's Unicode data.
TURNING = {"LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI", "FSI", "PDI"}
PARTING = {"Cc", "Cs", "Zl", "Zp", "Zs"}
# General_Category (UAX 44, table 12).
CATEGORIES = (
    *("Cc", "Cf", "Cn", "Co", "Cs", "Ll", "Lm", "Lo", "Lt", "Lu", "Mc", "Me", "Mn", "Nd", "Nl"),
    *("No", "Pc", "Pd", "Pe", "Pf", "Pi", "Po", "Ps", "Sc", "Sk", "Sm", "So", "Zl", "Zp", "Zs"),
)
# Every category as often as any other, so that the few dangerous characters come up.
ANY = st.sampled_from(CATEGORIES).flatmap(lambda kind: st.characters(categories=[kind]))
TEXTS = st.text(ANY, max_size=60)


def harmless(text: str) -> bool:
    return all(
        unicodedata.category(c) not in ("Cc", "Cs", "Zl", "Zp", "Cf")
        and unicodedata.bidirectional(c) not in TURNING
        for c in text
    )


def each_shown(characters: Sequence[str]) -> list[str]:
    """What is shown of each between two letters; of all at once where all of them stay."""
    texts = [f"a{character}b" for character in characters]
    return texts if plain("".join(texts)) == "".join(texts) else [plain(text) for text in texts]


def test_every_character_there_is():
    # Of the planes that are empty, or hold ideographs or private signs only, the first or last few.
    last = sys.maxunicode + 1
    codes = (*range(0x30000), *range(0xE0000, 0xE1000), *range(last - 256, last))
    everything = [chr(code) for code in codes]
    kinds = set()
    for first in range(0, len(everything), 256):
        characters = everything[first : first + 256]
        for character, shown in zip(characters, each_shown(characters), strict=True):
            code, kind = ord(character), unicodedata.category(character)
            kinds.add(kind)
            harmful = kind in ("Cc", "Cs", "Zl", "Zp", "Cf")
            harmful = harmful or unicodedata.bidirectional(character) in TURNING
            if shown != f"a{character}b":
                assert harmless(shown), hex(code)
            else:
                assert not harmful, hex(code)
            if kind in PARTING:
                assert shown == "a b", hex(code)
            elif shown == "ab":
                # Nothing that is seen is lost: what has a width all the same is a blank that fills
                # a Korean syllable, a soft hyphen, a sign before numbers or a joiner of
                # hieroglyphs.
                blank = kind == "Cf" or "FILLER" in unicodedata.name(character, "")
                assert blank or wcwidth(character) <= 0 or 0xFFF0 <= code < 0xFFF9, hex(code)
            else:
                # What has no width and stays is an accent, a vowel sign, part of a Korean syllable,
                # or one of these in a Unicode that is newer than Python's.
                korean = 0x1160 < code < 0x1200 or 0xD7B0 <= code < 0xD800
                part = kind in ("Mn", "Me", "Mc", "Cn") or korean
                assert part or wcwidth(character) != 0, hex(code)
    assert kinds == set(CATEGORIES)


@given(TEXTS)
def test_any_text(text):
    shown = plain(text)
    assert harmless(shown)
    assert plain(shown) == shown
    assert shown == " ".join(shown.split())
    shown.encode("utf-8")


@given(st.text(st.characters(categories=["L", "N", "P", "S"]), max_size=40))
def test_words_in_any_script_stay(text):
    kept = "".join(c for c in text if c in plain(c) or unicodedata.normalize("NFC", c) != c)
    assert plain(text) == unicodedata.normalize("NFC", kept)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[2J\x1b]0;mine\x07boat", "[2J ]0;mine boat"),
        ("\x9b31mred\x9c", "31mred"),
        ("boat\r\nRow 1: navy to L3", "boat Row 1: navy to L3"),
        ("navy\u202e01R ot", "navy01R ot"),
        ("cre\u200bam", "cream"),
        ("cream\u2066\u3164\ufeff", "cream"),
        ("cafe\u0301", "café"),
        ("a\u2028b\u2029c\x85d", "a b c d"),
        ("boat\udcff.toml", "boat .toml"),
        ("\u05db\u05d7\u05d5\u05dc 針 ναυτικό", "\u05db\u05d7\u05d5\u05dc 針 ναυτικό"),
    ],
)
def test_what_becomes_of_it(text, shown):
    assert plain(text) == shown


@given(TEXTS, st.integers(2, 30))
def test_shortened(text, longest):
    short = shortened(text, longest)
    assert len(short) <= longest
    assert short == plain(text) or short.endswith("…")
    assert plain(text).startswith(short.removesuffix("…"))


@given(st.text(ANY.filter(lambda c: c != "\u3000"), max_size=300), st.integers(20, 200))
def test_lines_break_between_words_and_fit(text, columns):
    lines = folded(text, columns)
    # Nothing is lost, and no word is broken: put together again they are the plain text.
    assert " ".join(line.strip() for line in lines) == plain(text)
    for line in lines:
        assert wcswidth(line) <= columns or " " not in line.strip()


def test_a_list_stays_set_in():
    assert folded("  navy from L12 to L3, and on", 18) == ["  navy from L12 to", "    L3, and on"]
    assert folded("", 40) == []


@given(TEXTS, st.integers(5, 40))
def test_where_lines_may_never_be_longer(text, columns):
    assert all(wcswidth(line) <= columns for line in folded(text, columns, whole_words=False))
