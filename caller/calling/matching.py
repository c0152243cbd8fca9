"""Which taught command a sound is, decided from distances alone. Pure.

Two ears measure how far a sound is from each command's takes; both must find it near. How near is
near enough is learnt from the takes themselves: as far as they lie from one another, but never
nearer than FLOOR, for three takes said in a row are more alike than what is said an hour later,
and never farther than CEILING, where other people's talk begins.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from caller.calling.ports import NOTHING, Verdict


@dataclass(frozen=True)
class Distance:
    """Two distances, 0 and more: by the sound as speech, and by its spectrum."""

    speech: float
    spectrum: float

    def over(self, bound: "Distance") -> float:
        """The greater of the two, each in parts of its bound: 1 and less is within both."""
        return max(self.speech / bound.speech, self.spectrum / bound.spectrum)


FLOOR = Distance(0.05, 0.15)
CEILING = Distance(0.08, 0.22)
STRETCH = 1.5
"""So much farther than the takes from one another may the same words be another day."""

MARGIN = 0.9
"""The best command must be nearer than this part of the second-best's distance."""
CLOSE = 1.15
"""Within so many bounds a sound was likely meant."""
LEAST, MOST = 0.7, 1.3
"""What the bounds are multiplied by at the strictness 100 and 0."""


def nearest(distances: Sequence[Distance], count: int = 2) -> Distance:
    """The mean of the `count` nearest takes, for each ear by itself."""
    return Distance(
        _mean_of_least([one.speech for one in distances], count),
        _mean_of_least([one.spectrum for one in distances], count),
    )


def bound_of(apart: Iterable[Distance]) -> Distance:
    """How far a command may lie, from how far each of its takes lies from its others."""
    known = list(apart)
    return Distance(
        _within(FLOOR.speech, STRETCH * max(d.speech for d in known), CEILING.speech),
        _within(FLOOR.spectrum, STRETCH * max(d.spectrum for d in known), CEILING.spectrum),
    )


def decide(
    distances: Mapping[str, Distance], bounds: Mapping[str, Distance], strictness: int = 50
) -> Verdict:
    """The command that was said: the nearest within its bounds, and clearly nearer than others.

    A higher `strictness`, 0 to 100, never takes what a lower one does not.
    """
    width = MOST + (LEAST - MOST) * strictness / 100
    ranked = sorted((distances[name].over(bounds[name]) / width, name) for name in distances)
    if not ranked or not ranked[0][0] <= CLOSE:
        return NOTHING
    best, name = ranked[0]
    alone = len(ranked) < 2 or best <= MARGIN * ranked[1][0]
    if best <= 1 and alone:
        return Verdict(name)
    return Verdict(None, close=True)


def _mean_of_least(values: list[float], count: int) -> float:
    least = sorted(values)[:count]
    return sum(least) / len(least)


def _within(least: float, value: float, most: float) -> float:
    return max(least, min(value, most))
