"""Which taught command a sound is, decided from distances alone. Pure.

A sound's distance from a take is 0 for the same sound and about 1 for sounds that have nothing in
common. It grows with noise, with echo and with the words. So it is held against the distance from
the same take backwards, which grows with noise as much but never is the word: what is left is the
excess, and the command with the least is the answer where that is low enough and clearly lower than
the second's.
"""

from collections.abc import Mapping, Sequence
from math import inf, isfinite
from statistics import fmean

from caller.calling.ports import NOTHING, Verdict

BACKWARDS = 0.5
"""What the distance from the take backwards counts."""
LOOSEST, STRICTEST = 0.0, -0.18
"""The excess that is let in at strictness 0 and 100."""
MARGIN = 0.02
"""So much lower than the second must the best be."""
CLOSE = 0.03
"""So little above the bound a sound was likely meant."""


def nearest(takes: Sequence[float], count: int = 2) -> float:
    """The mean of the `count` nearest takes."""
    return fmean(sorted(takes)[:count])


def excess(takes: Sequence[float], backwards: Sequence[float]) -> float:
    """How far a sound is from a command: from its takes, and from them backwards.

    Infinite where it is too long for one of them.
    """
    near, away = nearest(takes), fmean(backwards)
    return near - BACKWARDS * away if isfinite(near) and isfinite(away) else inf


def bound(strictness: int) -> float:
    """The highest excess at a strictness of 0 to 100; a stricter one is lower."""
    return LOOSEST + (STRICTEST - LOOSEST) * strictness / 100


def decide(excesses: Mapping[str, float], limit: float) -> Verdict:
    """The command that was said, from the excess of each; a lower limit never takes what a higher
    one does not.
    """
    ranked = sorted((excess, name) for name, excess in excesses.items())
    if not ranked:
        return NOTHING
    best, name = ranked[0]
    if not best <= limit + CLOSE:
        return NOTHING
    alone = len(ranked) < 2 or ranked[1][0] - best >= MARGIN
    return Verdict(name) if best <= limit and alone else Verdict(None, near_miss=True)
