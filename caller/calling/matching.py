"""Which taught command a sound is, decided from distances alone. Pure.

Two ears measure how far a sound is from each command's takes; both must find it near. How near is
near enough is learnt from the takes themselves: as far as they lie from one another and somewhat
farther, but never nearer than FLOOR, for takes said in a row are more alike than what is said an
hour later, and never farther than CEILING, where other words and other people's talk begin.
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


FLOOR = Distance(0.040, 0.20)
CEILING = Distance(0.060, 0.30)
"""The values here were chosen by synthetic speakers, other people's talk, and words that the same
speakers said and had not taught."""

STRETCH = 1.5
"""So much farther than the takes from one another may the same words be another time."""
ROOM = Distance(0.025, 0.15)
"""What a loud room adds."""

MARGIN = 0.9
"""The best command must be nearer than this part of the second-best's distance."""
CLOSE = 1.1
"""Within so many bounds a sound was likely meant."""
LEAST, MOST = 0.7, 1.3
"""What the bounds are multiplied by at the strictness 100 and 0."""


def nearest(distances: Sequence[Distance], count: int = 2) -> Distance:
    """The mean of the `count` nearest takes, for each ear by itself."""
    return Distance(
        _mean_of_least([one.speech for one in distances], count),
        _mean_of_least([one.spectrum for one in distances], count),
    )


def nearer(distances: Iterable[Distance]) -> Distance:
    """The least of them, for each ear by itself."""
    known = list(distances)
    return Distance(min(d.speech for d in known), min(d.spectrum for d in known))


def bound_of(apart: Iterable[Distance]) -> Distance:
    """How far a command may lie, from how far each of its takes lies from its others."""
    known = list(apart)
    return Distance(
        _bound(FLOOR.speech, [d.speech for d in known], ROOM.speech, CEILING.speech),
        _bound(FLOOR.spectrum, [d.spectrum for d in known], ROOM.spectrum, CEILING.spectrum),
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


def _bound(floor: float, apart: list[float], room: float, ceiling: float) -> float:
    return max(floor, min(STRETCH * max(apart) + room, ceiling))
