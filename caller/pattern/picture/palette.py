"""Choosing few colours for a picture: counted, grouped in CIELAB, and given out again."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.pattern.picture.colour import lab, rgb

_MANY = 32_768  # colours; more are merged into cubes of 8 x 8 x 8, which no eye tells apart
_ROUNDS = 100  # of k-means at most; groups mostly settle sooner
_CANDIDATES = 16  # colours of each kind that are tried as the beginning of the next group
_LITTLE = 0.25  # CIELAB units squared, over the whole picture
_CLEARLY = 12  # of 255, from one sample to the next but one; smaller steps are noise
_FEW = 0.1  # of the samples; where fewer are level, as in a photograph, all of them count


def packed(colours: NDArray[Any]) -> NDArray[np.intp]:
    """Red, green, blue along the last axis as one number 0xrrggbb."""
    number: NDArray[np.intp] = np.asarray(colours[..., 0], dtype=np.intp) << 16
    number |= np.asarray(colours[..., 1], dtype=np.intp) << 8
    number |= colours[..., 2]
    return number


def unpacked(numbers: NDArray[np.intp]) -> NDArray[np.uint8]:
    """0xrrggbb as red, green, blue along a new last axis."""
    return np.stack((numbers >> 16, numbers >> 8, numbers), axis=-1).astype(np.uint8)


@dataclass(frozen=True, eq=False)
class Labelled:
    """Samples of a picture, shape (h, w), by the number of their colour.

    `known` (n, 3) holds the colours. `level` (h, w) is False for samples on the slope from one
    colour to another, as along softened edges: the picture's maker did not mean them.
    """

    known: NDArray[np.uint8]
    numbers: NDArray[np.intp]
    level: NDArray[np.bool_]

    @property
    def counts(self) -> NDArray[np.intp]:
        """How many level samples each colour has."""
        return np.bincount(self.numbers[self.level], minlength=len(self.known))


def labelled(samples: NDArray[np.uint8]) -> Labelled:
    """Number the colours of samples (h, w, 3); very many are merged with their nearest."""
    level = ~_slopes(samples)
    if level.mean() < _FEW:
        level[:] = True
    known, numbers = np.unique(packed(samples), return_inverse=True)
    numbers = numbers.reshape(level.shape)
    if len(known) > _MANY:
        counts = np.bincount(numbers[level], minlength=len(known))
        cube = known & 0xF8F8F8
        order = np.lexsort((known, -counts, cube))
        _, first, members = np.unique(cube[order], return_index=True, return_inverse=True)
        place = np.empty(len(known), dtype=np.intp)
        place[order] = members
        known = known[order][first]  # each cube's commonest colour, as it is
        numbers = place[numbers]
    return Labelled(unpacked(known), numbers, level)


def _slopes(samples: NDArray[np.uint8]) -> NDArray[np.bool_]:
    """Which samples lie between their neighbours on both sides, clearly apart from both.

    A thin line is no slope: its neighbours lie on the same side of its colour.
    """
    found = np.zeros(samples.shape[:2], dtype=bool)
    for turned, view in ((samples, found), (samples.swapaxes(0, 1), found.T)):
        wide = turned.astype(np.int16)
        step = wide[2:] - wide[:-2]
        along = np.einsum("ijk,ijk->ij", step[:-2], step[2:], dtype=np.int32)
        view[2:-2] |= along > _CLEARLY**2
    return found


def chosen_colours(
    picture: Labelled, wanted: int, kept: NDArray[np.uint8] | None = None
) -> NDArray[np.uint8]:
    """At most `wanted` colours (n, 3) that stand for all those of the picture.

    Those that are `kept` (n, 3) come first and as they are; the others are found beside them.

    Weighted k-means in CIELAB (Lloyd 1982), begun like k-means++ (Arthur and Vassilvitskii 2007)
    but without chance: of those colours that are worst served, and others evenly spread, the one
    that helps most comes next; one that would bring the picture next to nothing, such as a few
    stray pixels, is left out. A group's colour is the one that makes up half of it, so that flat
    colours stay as they are, and otherwise its mean.
    """
    if kept is None:
        kept = np.zeros((0, 3), dtype=np.uint8)
    if len(picture.known) <= wanted and not len(kept):
        return picture.known
    counts = picture.counts
    known, counts = picture.known[counts > 0], counts[counts > 0]
    points, weights = lab(known), counts.astype(np.float64)
    fixed = lab(kept)
    centres = np.concatenate((fixed, points[_begun(points, weights, wanted, fixed)]))
    group = np.full(len(points), -1)
    for _ in range(_ROUNDS):
        before, group = group, _nearest(points, centres)
        if np.array_equal(before, group):
            break
        centres = _means(points, weights, group, centres)
        centres[: len(kept)] = fixed
    chosen = rgb(centres)
    chosen[: len(kept)] = kept
    for number in np.unique(group[group >= len(kept)]):
        members = np.flatnonzero(group == number)
        commonest = members[np.argmax(counts[members])]
        if 2 * counts[commonest] >= counts[members].sum():
            chosen[number] = known[commonest]
    return chosen


def _nearest(points: NDArray[np.float64], centres: NDArray[np.float64]) -> NDArray[np.intp]:
    """For each point, the number of its nearest centre."""
    number: NDArray[np.intp] = _squares(points, centres).argmin(axis=1)
    return number


def _squares(points: NDArray[np.float64], centres: NDArray[np.float64]) -> NDArray[np.float64]:
    """Squared distances (points, centres), rounded so that every computer breaks ties alike."""
    apart = [(points[:, axis, None] - centres[None, :, axis]) ** 2 for axis in range(3)]
    return np.round(apart[0] + apart[1] + apart[2], 6)


def _begun(
    points: NDArray[np.float64],
    weights: NDArray[np.float64],
    wanted: int,
    fixed: NDArray[np.float64],
) -> NDArray[np.intp]:
    """The numbers of the points at which the groups begin, beside those that are fixed."""
    chosen = [] if len(fixed) else [int(weights.argmax())]
    far = _squares(points, fixed if len(fixed) else points[chosen]).min(axis=1)
    while len(chosen) + len(fixed) < wanted:
        missing = np.cumsum((weights * far).round(3))
        shares = missing[-1] * (np.arange(_CANDIDATES) + 0.5) / _CANDIDATES
        largest = np.argsort(-weights * far, kind="stable")[:_CANDIDATES]
        candidates = np.union1d(largest, np.searchsorted(missing, shares))
        left = np.minimum(far[:, None], _squares(points, points[candidates]))
        errors = (weights @ left).round(3)
        best = int(errors.argmin())
        if weights @ far - errors[best] < _LITTLE * weights.sum():
            break
        chosen.append(int(candidates[best]))
        far = left[:, best]
    return np.array(chosen, dtype=np.intp)


def _means(
    points: NDArray[np.float64],
    weights: NDArray[np.float64],
    group: NDArray[np.intp],
    centres: NDArray[np.float64],
) -> NDArray[np.float64]:
    """The weighted mean of each group; a group without points keeps its centre."""
    total = np.bincount(group, weights, minlength=len(centres))
    sums = [np.bincount(group, weights * points[:, axis], len(centres)) for axis in range(3)]
    means = np.stack(sums, axis=1) / np.maximum(total, 1e-9)[:, None]
    return np.where(total[:, None] > 0, means, centres)
