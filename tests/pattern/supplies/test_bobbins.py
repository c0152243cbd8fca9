"""Which bobbin each supply hangs on: by hand, and against counting row by row."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.pattern.supplies.bobbins import share_bobbins

SUPPLIES = st.lists(
    st.tuples(st.integers(0, 2), st.integers(1, 20), st.integers(0, 8)), max_size=25
).map(lambda found: sorted(found, key=lambda one: one[1]))


def test_by_hand():
    """Yarn 0: rows 1 to 4 and 2 to 3 hang at once; of 4 to 5 and 5 to 9 each takes a leftover."""
    yarns, first, last = [0, 0, 1, 0, 0], [1, 2, 2, 4, 5], [4, 3, 9, 5, 9]
    shared = share_bobbins(yarns, first, last)
    assert shared.bobbin.tolist() == [1, 2, 1, 2, 1]
    assert shared.leftover_of.tolist() == [0, 0, 0, 2, 1]
    assert shared.alone.tolist() == [False, False, True, False, False]
    assert shared.total == 3


def test_none():
    nothing = share_bobbins([], [], [])
    assert (nothing.total, nothing.bobbin.size, nothing.alone.size) == (0, 0, 0)


def test_a_supply_without_a_row_is_refused():
    for columns in (([0, 0], [1], [2, 3]), ([0], [1, 2], [2, 3]), ([0, 0], [1, 2], [2])):
        with pytest.raises(ValueError, match=r"is (shorter|longer) than"):
            share_bobbins(*columns)


@given(SUPPLIES)
def test_no_two_hang_on_one_and_no_fewer_would_do(supplies):
    yarns, first, rows = np.array(supplies, dtype=int).reshape(-1, 3).T
    last = first + rows
    shared = share_bobbins(yarns, first, last)
    at_once = 0
    for yarn in set(yarns.tolist()):
        own = yarns == yarn
        most = 0
        for row in range(1, 30):
            hang = own & (first <= row) & (row <= last)
            assert len(set(shared.bobbin[hang])) == hang.sum()
            most = max(most, hang.sum())
        at_once += most
        assert set(shared.bobbin[own]) == set(range(1, most + 1))
        assert (shared.alone[own] == (most == 1)).all()
    assert shared.total == at_once
    for supply, before in enumerate(shared.leftover_of):
        if before:
            same = (yarns, shared.bobbin)
            assert all(of[supply] == of[before - 1] for of in same)
            assert last[before - 1] < first[supply]
