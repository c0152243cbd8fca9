"""Warping against a plain textbook recursion (Sakoe and Chiba 1978; from memory)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.devices.recognisers.own_voice.dtw import warped, worst

WIDTH = 3
rows = st.integers(1, 7).flatmap(
    lambda count: arrays(np.float64, (count, WIDTH), elements=st.floats(-1, 1, width=16))
)


def textbook(one, other):
    total = np.full((len(one) + 1, len(other) + 1), np.inf)
    total[0, 0] = 0
    for i, a in enumerate(one, start=1):
        for j, b in enumerate(other, start=1):
            step = min(total[i - 1, j - 1], total[i - 1, j], total[i, j - 1])
            total[i, j] = np.sum((a - b) ** 2) / 2 + step
    return total[-1, -1] / (len(one) + len(other))


@given(rows, rows)
def test_as_the_textbook_has_it(one, other):
    assert warped(one, other) == pytest.approx(textbook(one, other), abs=1e-9)


@given(rows, rows)
def test_either_way_round(one, other):
    assert warped(one, other) == pytest.approx(warped(other, one), abs=1e-9)


@given(rows, st.lists(st.integers(1, 3), min_size=7, max_size=7))
def test_said_slower_is_the_same(row, times):
    assert warped(row, np.repeat(row, times[: len(row)], axis=0)) == pytest.approx(0, abs=1e-9)


def test_half_the_squared_distance_of_unit_vectors_is_one_less_the_cosine():
    one, other = np.array([[1.0, 0, 0]]), np.array([[0.6, 0.8, 0]])
    assert warped(one, other) == pytest.approx((1 - 0.6) / 2)


@given(rows, rows, st.integers(1, 20))
def test_the_worst_stretch_is_no_better_than_the_whole_way(one, other, steps):
    """The whole cost lies over n + m, and a way has fewer steps than that."""
    assert worst(one, other, steps) >= warped(one, other) - 1e-9


@given(rows)
def test_no_stretch_of_the_same_is_unlike(row):
    assert worst(row, row, 2) == pytest.approx(0, abs=1e-9)


def test_the_worst_stretch_is_where_they_differ():
    same, one, other = [1.0, 0, 0], [0.0, 1, 0], [0.0, 0, 1]
    first = np.array([same, same, one, one, same, same])
    second = np.array([same, same, other, other, same, same])
    assert worst(first, second, 2) == pytest.approx(1)
    assert worst(first, second, 4) == pytest.approx(1 / 2)
    assert worst(first, second, 99) == pytest.approx(2 / 6)


def test_nothing_is_infinitely_far():
    assert worst(np.zeros((0, WIDTH)), np.zeros((2, WIDTH)), 3) == float("inf")
    assert warped(np.zeros((0, WIDTH)), np.zeros((2, WIDTH))) == float("inf")
