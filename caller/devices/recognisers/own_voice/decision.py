"""Which taught command a sound is, decided from distances alone. Pure.

Two feature extractors measure how far a sound is from each command's takes, and both must find it
near; nor may any single speech sound in it be far off, which tells "text" from "next". How near is
near enough is learnt from the takes themselves: as far as they lie from one another and somewhat
farther, but never nearer than FLOOR, for takes said in a row are more alike than what is said an
hour later, and never farther than CEILING, where other words and other people's talk begin.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import inf
from statistics import fmean

from caller.calling.ports import NOTHING, Verdict


@dataclass(frozen=True)
class Distance:
    """How far apart two sounds are, each 0 and more.

    By the sound as speech, by its spectrum, and by the spectrum where it is most unlike.
    """

    speech: float
    spectrum: float
    detail: float

    def over(self, bound: "Distance") -> float:
        """The greatest of the three, each in parts of its bound: 1 and less is within all."""
        return max(
            self.speech / bound.speech,
            self.spectrum / bound.spectrum,
            self.detail / bound.detail,
        )


NOWHERE = Distance(inf, inf, inf)

FLOOR = Distance(0.055, 0.26, 0.52)
CEILING = Distance(0.070, 0.34, 0.70)
"""The values here were chosen by synthetic speakers, other people's talk, and words that the same
speakers said and had not taught."""

STRETCH = 1.5
"""So much farther than the takes from one another may the same words be another time."""
ROOM = Distance(0.025, 0.15, 0.30)
"""What a loud room adds."""

MARGIN = 0.85
"""The best command must be nearer than this part of the second-best's distance."""
CLOSE = 1.1
"""Within so many bounds a sound was likely meant."""
LEAST, MOST = 0.7, 1.3
"""What the bounds are multiplied by at the strictness 100 and 0."""


def nearest(takes: Sequence[Distance], count: int = 2) -> Distance:
    """The mean of the `count` nearest takes, for each measure by itself."""
    return _each(takes, lambda values: fmean(sorted(values)[:count]))


def bound_of(apart: Sequence[Distance]) -> Distance:
    """How far a command may lie, from how far each of its takes lies from its others."""
    found = _each(apart, max)
    return Distance(
        _bound(FLOOR.speech, found.speech, ROOM.speech, CEILING.speech),
        _bound(FLOOR.spectrum, found.spectrum, ROOM.spectrum, CEILING.spectrum),
        _bound(FLOOR.detail, found.detail, ROOM.detail, CEILING.detail),
    )


def decide(
    distances: Mapping[str, Distance], bounds: Mapping[str, Distance], strictness: int = 50
) -> Verdict:
    """The command that was said: the nearest, within its bounds, and clearly nearer than others.

    All are measured by the same CEILING to find the nearest, for a command whose takes differ, and
    whose bounds are wide, must not draw the others' words to itself. A higher `strictness`, 0 to
    100, never takes what a lower one does not.
    """
    ranked = sorted((distance.over(CEILING), name) for name, distance in distances.items())
    if not ranked:
        return NOTHING
    near, name = ranked[0]
    width = MOST + (LEAST - MOST) * strictness / 100
    parts = distances[name].over(bounds[name]) / width
    if not parts <= CLOSE:
        return NOTHING
    alone = len(ranked) < 2 or near <= MARGIN * ranked[1][0]
    return Verdict(name) if parts <= 1 and alone else Verdict(None, near_miss=True)


def _each(known: Sequence[Distance], gather: Callable[[list[float]], float]) -> Distance:
    return Distance(
        gather([one.speech for one in known]),
        gather([one.spectrum for one in known]),
        gather([one.detail for one in known]),
    )


def _bound(floor: float, apart: float, room: float, ceiling: float) -> float:
    return max(floor, min(STRETCH * apart + room, ceiling))
