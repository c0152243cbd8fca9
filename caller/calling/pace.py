"""The knitter's pace, by which the portions of a row follow by themselves."""

from collections.abc import Sequence
from statistics import median

FEWEST_TIMES = 3
"""Rows that must have been timed before the knitter's own pace counts, or is told."""
HAND_S = 4.0
"""Seconds that a hand takes to lay a yarn until the knitter's own are known: an assumption."""
PASS_YARNS = 1
"""The pass of the carriage takes as long as laying so many yarns: an assumption."""


def yarn_s(times_s: Sequence[float]) -> float:
    """Seconds that this knitter takes to lay a yarn, by how long those of the last rows took."""
    return HAND_S if len(times_s) < FEWEST_TIMES else median(times_s)
