"""Warping against a plain recursion, cell by cell, and what must hold for any rows."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.devices.recognisers.own_voice.dtw import LEAP, STAY, Templates, distances

WIDTH = 3
rows = st.integers(1, 7).flatmap(
    lambda count: arrays(np.float32, (count, WIDTH), elements=st.floats(-1, 1, width=16))
)
free = st.integers(1, 4)


def plain(take, sound, lead, tail):
    """Each cell from the four it may come from: stay, go on one, two or three frames."""
    total = np.full((len(take), len(sound)), np.inf)
    for i, wanted in enumerate(take):
        for j, heard in enumerate(sound):
            came = [0.0] if i == 0 and j < lead else []
            if i:
                steps = ((0, STAY), (1, 0.0), (2, STAY), (3, LEAP))
                came = [total[i - 1, j - far] + price for far, price in steps if j >= far]
            total[i, j] = min(came, default=np.inf) + 1 - float(wanted @ heard)
    return total[-1, max(0, len(sound) - tail) :].min() / len(take)


@given(st.lists(rows, min_size=1, max_size=4), rows, free, free)
def test_many_takes_at_once_are_each_as_the_plain_recursion_has_it(takes, sound, lead, tail):
    found = distances(Templates.of(takes), sound, lead, tail)
    expected = [plain(take, sound, lead, tail) for take in takes]
    assert found == pytest.approx(expected, abs=1e-5)


def unit(*numbers):
    return np.eye(WIDTH, dtype=np.float32)[list(numbers)]


def far(take, sound, lead=1, tail=1):
    return float(distances(Templates.of([take]), sound, lead, tail)[0])


def test_the_same_is_nought_and_quiet_around_it_costs_nothing():
    word, around = unit(0, 1, 0), unit(2, 2)
    assert far(word, word) == pytest.approx(0)
    assert far(word, np.concatenate([around, word, around]), 3, 3) == pytest.approx(0)
    assert far(word, np.concatenate([around, word, around]), 1, 1) > 0.3


def test_a_frame_costs_one_less_the_cosine():
    assert far(unit(0), np.array([[0.6, 0.8, 0]], dtype=np.float32)) == pytest.approx(0.4)


def test_a_little_faster_or_slower_costs_little():
    word = unit(0, 0, 1, 1, 2, 2)
    assert 0 < far(word, unit(0, 1, 2)) <= STAY
    assert 0 < far(word, unit(0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2)) <= LEAP


def test_what_is_more_than_three_times_as_long_is_nowhere():
    assert far(unit(0, 0), unit(*[0] * 4)) < 1
    assert far(unit(0, 0), unit(*[0] * 5)) == np.inf


def test_nothing_is_infinitely_far():
    assert far(unit(0), np.zeros((0, WIDTH), dtype=np.float32)) == np.inf
