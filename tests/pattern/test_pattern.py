"""What makes no pattern is refused, with what to do."""

import numpy as np
import pytest

from caller.errors import ChartError, YarnError
from caller.pattern.chart import MOST_YARNS, Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn

TWO = Chart(np.array([[0, 1], [1, 0]], dtype=np.uint8))


def yarns(count: int) -> tuple[Yarn, ...]:
    return tuple(
        Yarn(f"shade {chr(97 + n // 26)}{chr(97 + n % 26)}", "#102030") for n in range(count)
    )


def test_one_colour_is_no_picture() -> None:
    with pytest.raises(ChartError, match="only one colour") as refused:
        Pattern("Plain", Chart(np.zeros((2, 2), dtype=np.uint8)), yarns(1))
    assert "two or more" in refused.value.remedy


def test_more_yarns_than_can_be_called() -> None:
    assert len(Pattern("Many", TWO, yarns(MOST_YARNS)).yarns) == MOST_YARNS
    with pytest.raises(ChartError, match=f"{MOST_YARNS + 1} yarns; at most {MOST_YARNS}"):
        Pattern("More", TWO, yarns(MOST_YARNS + 1))


def test_a_stitch_of_a_yarn_that_is_not_listed() -> None:
    chart = Chart(np.array([[0, 1], [2, 0]], dtype=np.uint8))
    with pytest.raises(YarnError, match="yarn number 3, but only 2 yarns are listed"):
        Pattern("Lost", chart, yarns(2))
