"""The yarn on the bobbins: against the plan's amounts, and against a bobbin emptied by hand."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_pieces import HALVES, YARNS

from caller.pattern.chart import Chart
from caller.pattern.pattern import Fabric, Pattern, SupplyRules
from caller.pattern.winding import Refill, Winding, lengths_m, winding_of

WINDING = Winding(HALVES)


def test_what_the_runs_take_is_what_the_supplies_take():
    plan = HALVES.supply_plan
    by_supply = np.bincount(plan.supply - 1, WINDING.used_m)
    assert by_supply == pytest.approx(lengths_m(HALVES))


@given(st.integers(0, 2**32 - 1), st.integers(0, 3))
def test_used_and_left_are_what_was_wound(seed, rest):
    cells = np.random.default_rng(seed).integers(0, 3, (9, 12)).astype(np.uint8)
    pattern = Pattern(
        "Any", Chart(cells), YARNS, fabric=Fabric(12), supply_rules=SupplyRules(4, rest)
    )
    winding, plan = Winding(pattern), pattern.supply_plan
    assert winding.used_m.sum() == pytest.approx(lengths_m(pattern).sum())
    for yarn, bobbin in {
        (int(y), int(b)) for y, b in zip(plan.supplies.yarn, plan.bobbins.bobbin, strict=True)
    }:
        left = [winding.left_m(yarn, bobbin, row) for row in range(1, 11)]
        runs = winding.runs_of(yarn, bobbin)
        assert left[0] == pytest.approx(winding.used_m[runs].sum())
        assert left[-1] == pytest.approx(0, abs=1e-9)
        assert all(before >= after for before, after in pairwise(left))
        assert winding.fillings(yarn, bobbin) == 1
    # Wound as planned, nothing runs out by the stitches.
    ample = Winding(replace(pattern, supply_rules=replace(pattern.supply_rules, bobbin_m=10_000)))
    assert not any(ample.shortages(row) for row in range(1, 10))


def test_a_bobbin_of_one_metre_by_hand():
    """Navy: 0.3 m in row 1 with its tail, then 0.2 m a row: 0.1 m is left before row 5."""
    left = [WINDING.left_m(0, 1, row) for row in range(1, 8)]
    assert left == pytest.approx([1.0, 0.7, 0.5, 0.3, 0.1, 0.0, 0.0])
    assert [len(WINDING.shortages(row)) for row in range(1, 11)] == [0, 0, 0, 0, 2, 0, 0, 0, 0, 0]
    short = WINDING.shortages(5)[0]
    assert (short.left_m, short.needs_m) == pytest.approx((0.1, 0.2))


def test_a_filled_bobbin_by_hand():
    """Filled anew before L10 of row 5, which goes right: ten of its twenty stitches, 0.1 m, are
    knitted from the new yarn, and two tails are."""
    here = HALVES.bed.position("L10")
    filled = (Refill(0, 1, 5, here),)
    assert WINDING.left_m(0, 1, 5, filled) == pytest.approx(0.1)
    assert WINDING.shortage(0, 1, 5, filled) is None
    assert WINDING.left_m(0, 1, 6, filled) == pytest.approx(1.0 - 0.1 - 0.2)
    assert WINDING.left_m(1, 1, 6, filled) == 0, "the other bobbin is not filled"
    # Rows unravelled to below the new end are knitted from the old one again.
    assert WINDING.left_m(0, 1, 4, filled) == pytest.approx(0.3)


def test_fillings_by_hand():
    """2.2 m in all: 0.9 m until row 4, 0.8 m until row 8, and 0.5 m with the last tail."""
    assert WINDING.fillings(0, 1) == 3
    small = replace(HALVES, fabric=Fabric(100, tail_cm=0, allowance=0))  # 2 m a row
    assert Winding(small).fillings(0, 1) == 20


def test_without_a_loop_length_nothing_is_known():
    assert winding_of(replace(HALVES, fabric=Fabric())) is None
