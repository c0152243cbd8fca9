"""Yarns that cannot be told apart, by all eyes and by those that see fewer colours."""

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.pattern.picture.colour import differences
from caller.pattern.picture.lookalikes import SIGHTS, TOO_CLOSE, close_pairs, seen
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn, colour_text

DEMOS = Path(__file__).parents[3] / "demo_patterns"
COLOURS = st.tuples(*[st.integers(0, 255)] * 3).map(lambda rgb: colour_text(*rgb))

# Machado, Oliveira and Fernandes 2009, severity 1.0, on linear RGB: second-hand, the last from
# memory.
MATRICES = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}


def test_the_librarys_matrices_are_the_published_ones():
    from coloraide.filters import cvd

    for sight, table in (
        ("protan", cvd.MACHADO_PROTAN),
        ("deutan", cvd.MACHADO_DEUTAN),
        ("tritan", cvd.MACHADO_TRITAN),
    ):
        assert np.array(table[10]) == pytest.approx(np.array(MATRICES[sight]), abs=1e-9)


def by_hand(colour: str, sight: str) -> np.ndarray:
    """IEC 61966-2-1 sRGB to linear light, the matrix, and back."""
    encoded = np.array(list(bytes.fromhex(colour[1:]))) / 255
    linear = np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)
    light = np.clip(np.array(MATRICES[sight]) @ linear, 0, 1)
    return 255 * np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)


@given(COLOURS, st.sampled_from(SIGHTS[1:]))
def test_a_colour_as_seen_is_computed_by_those_matrices(colour, sight):
    assert np.abs(np.array(seen(colour, sight)) - by_hand(colour, sight)).max() <= 1


@given(COLOURS)
def test_full_sight_sees_the_colour_itself(colour):
    assert colour_text(*seen(colour, "full")) == colour


@pytest.mark.parametrize("sight", SIGHTS)
def test_black_white_and_grey_stay_so(sight):
    for level in (0, 128, 255):
        assert np.abs(np.array(seen(colour_text(level, level, level), sight)) - level).max() <= 1


# XKCD colour survey 2010, second-hand: names that mean the same, and the eleven basic ones.
SYNONYMS = [
    ("#610023", "#650021"),  # burgundy, maroon
    ("#ffffcb", "#ffffc2"),  # ivory, cream
    ("#01153e", "#001146"),  # navy, navy blue
    ("#380835", "#3d0734"),  # eggplant, aubergine
    ("#343837", "#363737"),  # charcoal, dark grey
    ("#cea2fd", "#c79fef"),  # lilac, lavender
    ("#8c000f", "#840000"),  # crimson, dark red
    ("#a83c09", "#a03623"),  # rust, brick
    ("#06c2ac", "#04d8b2"),  # turquoise, aquamarine
    ("#e2ca76", "#e6daa6"),  # sand, beige
]
BASIC = """
#000000 #ffffff #929591 #e50000 #f97306 #ffff14 #15b01a #0343df #7e1e9c #ff81c0 #653700
"""  # black, white, grey, red, orange, yellow, green, blue, purple, pink, brown


def apart(first: str, second: str) -> float:
    return float(differences([seen(first, "full")], [seen(second, "full")])[0, 0])


def test_the_threshold_parts_synonyms_from_basic_colours():
    assert max(apart(*pair) for pair in SYNONYMS) < 0.9 * TOO_CLOSE
    assert min(apart(*pair) for pair in combinations(BASIC.split(), 2)) > 1.5 * TOO_CLOSE


def test_close_pairs_are_named_with_the_sights_that_mistake_them():
    green, orange = Yarn("moss", "#7a8a20"), Yarn("rust", "#b56a1c")
    navy, midnight = Yarn("navy", "#16243f"), Yarn("midnight", "#14203a")
    white = Yarn("white", "#ffffff")
    found = close_pairs([green, navy, orange, midnight, white])
    assert [(pair.first.name, pair.second.name) for pair in found] == [
        ("moss", "rust"),
        ("navy", "midnight"),
    ]
    assert "full" not in found[0].sights
    assert {"protan", "deutan"} & set(found[0].sights)
    assert found[0].difference < TOO_CLOSE < apart(green.colour, orange.colour)
    assert found[1].sights == SIGHTS
    assert found[1].difference == pytest.approx(apart(navy.colour, midnight.colour), abs=0.01)


@given(st.lists(COLOURS, max_size=6, unique=True), st.floats(0, 40))
def test_a_wider_threshold_only_adds_pairs(colours, threshold):
    yarns = [Yarn(f"yarn {letter}", c) for letter, c in zip("abcdef", colours, strict=False)]
    near = {(p.first, p.second) for p in close_pairs(yarns, threshold)}
    assert near <= {(p.first, p.second) for p in close_pairs(yarns, threshold + 5)}
    assert len(close_pairs(yarns, 1000)) == len(yarns) * (len(yarns) - 1) // 2
    assert close_pairs(yarns, 0) == []


@pytest.mark.parametrize("path", sorted(DEMOS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_demo_yarns_are_told_apart_by_all_eyes(path):
    assert close_pairs(load(path).yarns) == []
