"""Spoken names for colours: near, distinct, and like no word of a call or a command."""

import itertools
import json
import re
import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageColor

from caller.calling.commands import PHRASES
from caller.pattern.chart import MOST_YARNS
from caller.pattern.picture.colour import lab
from caller.pattern.picture.colour_names import NAMES, colour_names, distances
from caller.pattern.yarns import Yarn

COLOURS = st.tuples(*[st.integers(0, 255)] * 3)

NUMBERS = """
zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen
sixteen seventeen eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred
thousand and
"""
CALLED = {*NUMBERS.split(), "left", "right", "to", "row", *" ".join(PHRASES).split()}

# Speaks each word of a JSON list in espeak-ng's phonemes (IPA); one a process, like any voice.
PHONEMES = """
import ctypes, json, sys, espeakng_loader
engine = ctypes.CDLL(espeakng_loader.get_library_path())
assert engine.espeak_Initialize(2, 0, espeakng_loader.get_data_path().encode(), 0) > 0
assert engine.espeak_SetVoiceByName(sys.argv[1].encode()) == 0
engine.espeak_TextToPhonemes.restype = ctypes.c_char_p
def sounds(word):
    text = ctypes.c_char_p(word.encode())
    return engine.espeak_TextToPhonemes(ctypes.byref(text), 1, 2).decode()
print(json.dumps({word: sounds(word) for word in json.load(sys.stdin)}))
"""


def sounds_of(words, voice):
    spoken = subprocess.run(
        [sys.executable, "-c", PHONEMES, voice],
        input=json.dumps(sorted(words)),
        capture_output=True,
        text=True,
        check=True,
    )
    # Stress and length marks are no sounds of their own.
    return {word: re.sub("[ˈˌː_ ]", "", ipa) for word, ipa in json.loads(spoken.stdout).items()}


def changes(first, second):
    """Levenshtein's distance between two strings of sounds."""
    row = list(range(len(second) + 1))
    for i, a in enumerate(first, start=1):
        row, before = [i], row
        for j, b in enumerate(second, start=1):
            row.append(min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b)))
    return row[-1]


def test_the_distance_between_words_is_levenshteins():
    assert changes("kitten", "sitting") == 3  # Wagner and Fischer's textbook pair, from memory
    assert changes("", "row") == 3
    assert changes("row", "row") == 0


@pytest.mark.parametrize("voice", ["en-us", "en-gb-x-rp"])
def test_no_name_sounds_like_a_word_of_a_call_or_command(voice):
    words = set(" ".join(NAMES).split())
    ipa = sounds_of(words | CALLED, voice)
    assert all(ipa.values())
    near = {
        (word, called)
        for word, called in itertools.product(words, CALLED)
        if changes(ipa[word], ipa[called]) < 2
    }
    # Everybody calls black and white so; every command is two words long, so none can be one. Where
    # a name stands, alone or behind "new" or "cut", "and" does not.
    everyday = {("black", "back"), ("white", "right"), ("white", "i"), ("dark", "mark")}
    assert near <= {*everyday, ("sand", "and")}


def test_no_name_has_a_word_of_a_call_or_command():
    assert not CALLED & set(" ".join(NAMES).split())
    assert not any(re.search(r"light|bright", name) for name in NAMES)


def test_names_are_short_and_can_be_yarns():
    assert len(NAMES) == len(set(NAMES)) >= 2 * MOST_YARNS
    for name in NAMES:
        assert re.fullmatch(r"[a-z]+( [a-z]+)?", name)
        assert Yarn(name, "#000000").name == name


# The survey's own commonest names for its own colours (XKCD colour survey 2010, second-hand).
@pytest.mark.parametrize(
    ("colour", "name"),
    [
        ((0, 0, 0), "black"),
        ((255, 255, 255), "white"),
        ((0xE5, 0x00, 0x00), "red"),
        ((0xF9, 0x73, 0x06), "orange"),
        ((0xFF, 0xFF, 0x14), "yellow"),
        ((0x15, 0xB0, 0x1A), "green"),
        ((0x03, 0x43, 0xDF), "blue"),
        ((0x7E, 0x1E, 0x9C), "purple"),
        ((0xFF, 0x81, 0xC0), "pink"),
        ((0x65, 0x37, 0x00), "brown"),
        ((0x92, 0x95, 0x91), "grey"),
        ((0x00, 0x03, 0x5B), "dark blue"),
        ((0x02, 0x93, 0x86), "teal"),
    ],
)
def test_a_colour_of_the_survey_gets_its_name(colour, name):
    assert colour_names([colour]) == (name,)


@given(st.lists(COLOURS, min_size=1, max_size=MOST_YARNS, unique=True))
@settings(max_examples=25, deadline=None)
def test_names_are_distinct_whatever_the_colours(colours):
    names = colour_names(colours)
    assert len(set(names)) == len(colours)
    assert set(names) <= set(NAMES)


@given(COLOURS)
@settings(max_examples=25, deadline=None)
def test_a_single_colour_gets_the_nearest_name_that_is_not_contrary(colour):
    (name,) = colour_names([colour])
    (apart,) = distances([colour], NAMES)
    nearer = {NAMES[index] for index in np.flatnonzero(apart < apart[NAMES.index(name)] - 0.001)}
    lightness, a, b = lab([colour])[0]
    for other in nearer:
        assert (
            (other.startswith("pale ") and lightness < 50)
            or (other.startswith("dark ") and lightness > 50)
            or (other in ("black", "white", "grey", "dark grey", "silver", "slate")
                and np.hypot(a, b) > 15)
        )  # fmt: skip


def test_the_whole_is_named_at_the_least_total_of_squares():
    """Against every way there is to share out three names among three near colours."""
    colours = [(29, 53, 87), (22, 36, 63), (30, 60, 110)]
    table = distances(colours, NAMES) ** 2
    fitting = [
        n for n, name in enumerate(NAMES) if not re.match("pale|(dark )?grey|slate|silver", name)
    ]
    best = min(
        sum(table[yarn, name] for yarn, name in enumerate(names))
        for names in itertools.permutations(fitting, 3)
    )
    chosen = [NAMES.index(name) for name in colour_names(colours)]
    total = sum(table[yarn, name] for yarn, name in enumerate(chosen))
    assert total == pytest.approx(best, abs=0.01)


# The colours that CSS calls dark, light or pale (CSS Color Module Level 4, 6.1, as Pillow has
# them), but for those which it calls so against their lightness: its darkgray is lighter than its
# gray, and the like.
CSS = {name: ImageColor.getrgb(text) for name, text in ImageColor.colormap.items()}
CSS_DARK = {n: c for n, c in CSS.items() if n.startswith("dark") and lab([c])[0][0] < 50}
CSS_PALE = {n: c for n, c in CSS.items() if re.match("light|pale", n) and lab([c])[0][0] > 55}


def test_dark_is_not_called_pale_nor_pale_dark():
    assert len(CSS_DARK) >= 10
    assert len(CSS_PALE) >= 12
    for colours, contrary in ((CSS_DARK, "pale "), (CSS_PALE, "dark ")):
        one_by_one = [colour_names([colour])[0] for colour in colours.values()]
        assert not [name for name in one_by_one if name.startswith(contrary)]
        together = colour_names(sorted(set(colours.values()))[:MOST_YARNS])
        assert not [name for name in together if name.startswith(contrary)]


# A dark wood's browns and an evening's blues, by eye from photographs of our own.
@pytest.mark.parametrize(
    ("colours", "never"),
    [
        (["3b2412", "4a2e17", "55371e", "5e4028", "684830"], "pale|grey|black|slate"),
        (["203060", "304070", "253550", "182040"], "pale|grey|black|slate"),
        (["f4efe0", "e9dfc8", "ddd0b4", "efe6d6"], "dark|black|navy"),
    ],
)
def test_shades_of_one_colour_keep_to_it(colours, never):
    names = colour_names([tuple(bytes.fromhex(colour)) for colour in colours])
    assert not [name for name in names if re.match(never, name)]


def test_names_that_are_taken_are_left_out():
    assert colour_names([(1, 21, 62)]) == ("dark blue",)
    assert colour_names([(1, 21, 62)], ["Dark blue"]) != ("dark blue",)
