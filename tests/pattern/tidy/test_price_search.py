"""The search for a price, seen from outside: which prices are tried, and which is settled on."""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from caller.errors import ChartError
from caller.pattern.tidy import price_search
from caller.pattern.tidy.energy import Draft
from caller.pattern.tidy.price_search import HIGHEST_PRICE, Costing, descend, fewest_changes

CLOSEST, FIRST = 1.26, 8**0.5
"""Three halvings of a gap of 6.25, the longest step up, leave its eighth root. Where the first
price is enough already, the next ones lie below it by the square root of eight each."""
CELLS = np.array([[0, 1, 0]], dtype=np.uint8)


class Dear(Draft):
    """No stitch of it changes; the dearer a supply, the larger its colour error is said to be."""

    def __init__(self) -> None:
        total = np.zeros((4, 2, 1), dtype=np.int32)
        super().__init__(CELLS, total, np.array([True]), 1, 1, np.array([3]), CELLS < 2)

    def set_prices(self, run: int, supply: int, edge: int = 0) -> None:
        super().set_prices(run, supply, edge)
        self.row_cost = np.array([supply])


def costing_of(typical: int) -> Costing:
    costing = Costing(CELLS, np.zeros((1, 3, 2), np.float32), np.ones((1, 3), np.float32))
    costing.typical = typical
    return costing


@settings(max_examples=100)
@given(
    st.integers(1, HIGHEST_PRICE),
    st.sampled_from([0, 1, 60, 5_000]),
    st.sampled_from([1, 40, 10_000, 1_000_000]),
)
@example(HIGHEST_PRICE, 0, 1)
@example(1, 0, 1)
@example(200_000, 0, 1_000_000)
def test_the_price_is_the_lowest_that_is_enough(enough: int, least: int, typical: int) -> None:
    """Supplies that come down at one price only: it is found, and the part done never falls."""
    tried: list[int] = []
    told: list[float] = []

    def supplies(draft: Draft) -> int:
        tried.append(draft.supply_price)
        return 10 if draft.supply_price >= enough else 11

    found, price = fewest_changes(Dear(), costing_of(typical), least, 10, 0, supplies, told.append)
    assert price == found.supply_price
    assert price == min(one for one in tried if one >= enough)
    first = max(least * 5 // 2, typical)
    if first < enough:
        assert price <= CLOSEST * enough + 1
    else:
        assert price <= max(FIRST * enough + 1, first / FIRST**3 + 1, least)
    assert len(tried) < 30
    if least < enough:
        assert told[-1] == 1
        assert told == sorted(told)
    else:
        assert (price, told) == (least, [])


def test_where_nothing_is_asked_the_first_price_stays() -> None:
    def supplies(_: Draft) -> int:
        return 99

    start = Dear()
    assert fewest_changes(start, costing_of(1), 0, None, 0, supplies, print) == (start, 0)
    found, price = fewest_changes(start, costing_of(1), 7, None, 0, supplies, print)
    assert (found.supply_price, price) == (7, 7)
    assert start.supply_price == 0


def test_out_of_reach_tells_the_fewest_there_were() -> None:
    def supplies(draft: Draft) -> int:
        return 20 - min(draft.supply_price, 5)

    with pytest.raises(ChartError) as refused:
        fewest_changes(Dear(), costing_of(1), 0, 14, 0, supplies, lambda _: None)
    assert "to 14 supplies in all; the fewest that were reached are 15." in str(refused.value)
    assert "Allow at least 15," in str(refused.value)


def test_a_final_price_settles_and_others_stop_at_what_is_wanted(monkeypatch) -> None:
    asked: list[tuple[int, int]] = []
    monkeypatch.setattr(
        price_search, "descend", lambda _, rounds, enough=0: asked.append((rounds, enough))
    )
    fewest_changes(Dear(), costing_of(1), 7, None, 0, lambda _: 99, print)
    fewest_changes(Dear(), costing_of(1), 7, 14, 0, lambda _: 14, print)
    (settling, never), (some, wanted) = asked
    assert settling > 2 * some
    assert (never, wanted) == (0, 14)


class Halving:
    """Seven rows whose energy halves from round to round; rows change in the first one."""

    def __init__(self) -> None:
        self.cells, self.energy, self.supplies = np.zeros((7, 2), dtype=np.uint8), 1024, 9

    def sweep(self, _first: int) -> bool:
        return False


def test_merges_are_tried_again_in_rows_that_changed_and_next_to_them(monkeypatch) -> None:
    seen: list[list[bool]] = []

    def merge(draft: Halving, tried: np.ndarray, _enough: int) -> bool:
        seen.append(tried.all(axis=1).tolist())
        tried[:] = True
        draft.energy //= 2
        draft.cells[[0, 4]] += len(seen) == 1
        return len(seen) < 3

    monkeypatch.setattr(price_search, "merge", merge)
    descend(Halving(), 50)
    again = [False, False, True, False, False, False, True]
    assert seen == [[False] * 7, again, [True] * 7]
