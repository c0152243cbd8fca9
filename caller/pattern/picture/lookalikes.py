"""Yarns that look too much alike, also to eyes that see fewer colours."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from caller.pattern.picture.colour import RGB, differences
from caller.pattern.yarns import Yarn

TOO_CLOSE = 10.0
"""CIEDE2000. In the XKCD colour survey, names that mean the same (ivory and cream, burgundy and
maroon, lilac and lavender) lie 1 to 8 apart, and the nearest two of the eleven basic colours, blue
and purple, 18 (computed). Side by side less can be seen, but yarns are told apart at a glance, in
lamplight, in single threads."""

SIGHTS = ("full", "protan", "deutan", "tritan")
"""Full colour vision, and without the cones for long, middle and short waves."""


@dataclass(frozen=True)
class ClosePair:
    """Two yarns too much alike; `sights` are those of SIGHTS that mistake them.

    `difference` is CIEDE2000 as the first of these sees it.
    """

    first: Yarn
    second: Yarn
    sights: tuple[str, ...]
    difference: float


def close_pairs(yarns: Sequence[Yarn], too_close: float = TOO_CLOSE) -> list[ClosePair]:
    """The pairs of yarns less than `too_close` apart to any of the SIGHTS, in the yarns' order."""
    if not yarns:
        return []
    apart = {}
    for sight in SIGHTS:
        colours = [seen(yarn.colour, sight) for yarn in yarns]
        apart[sight] = differences(colours, colours)
    found = []
    for one, other in combinations(range(len(yarns)), 2):
        sights = tuple(sight for sight in SIGHTS if apart[sight][one, other] < too_close)
        if sights:
            difference = float(apart[sights[0]][one, other])
            found.append(ClosePair(yarns[one], yarns[other], sights, difference))
    return found


def seen(colour: str, sight: str) -> RGB:
    """How a colour "#rrggbb" looks to one of the SIGHTS.

    Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color Vision
    Deficiency", IEEE TVCG 15 (2009), at its full severity.
    """
    from coloraide import Color

    whole = Color(colour)
    if sight != "full":
        whole = whole.filter(sight, 1, method="machado", out_space="srgb").clip()
    red, green, blue = np.rint(np.array(whole.coords()) * 255).astype(int).tolist()
    return red, green, blue
