"""How unlike two rows of features are, where one may run faster here and slower there.

Dynamic time warping (Sakoe and Chiba 1978, IEEE TASSP 26:43), by dtaidistance.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.errors import ListeningError
from caller.installation import installs


def warped(one: NDArray[np.float64], other: NDArray[np.float64]) -> float:
    """The cost of the cheapest way through both, shapes (n, k) and (m, k), over n + m.

    A step's cost is half the squared distance of the two frames, which for frames of length 1 is
    1 less the cosine between them; a step goes on in one row or in both. Infinite where a row has
    no frames. Raises ListeningError when the library is missing.
    """
    if not len(one) or not len(other):
        return float("inf")
    distance: float = _library().distance_fast(
        np.ascontiguousarray(one, dtype=np.float64),
        np.ascontiguousarray(other, dtype=np.float64),
        inner_dist="squared euclidean",
    )
    return distance**2 / 2 / (len(one) + len(other))


def worst(one: NDArray[np.float64], other: NDArray[np.float64], steps: int) -> float:
    """The mean cost of the dearest `steps` steps in a row of the cheapest way through both.

    All of them where the way is shorter. Shapes, costs and errors as for `warped`.
    """
    if not len(one) or not len(other):
        return float("inf")
    first, second = (np.ascontiguousarray(row, dtype=np.float64) for row in (one, other))
    _, totals = _library().warping_paths_fast(first, second, inner_dist="squared euclidean")
    way = np.array(_best_path(totals))
    costs = np.sum((first[way[:, 0]] - second[way[:, 1]]) ** 2, axis=1) / 2
    window = min(steps, len(costs))
    return float(np.max(np.convolve(costs, np.full(window, 1 / window), mode="valid")))


def _best_path(totals: NDArray[np.float64]) -> list[tuple[int, int]]:
    from dtaidistance import dtw

    way: list[tuple[int, int]] = dtw.best_path(totals)
    return way


def _library() -> Any:
    try:
        from dtaidistance import dtw_ndim
    except ImportError:
        raise ListeningError(
            "Hearing your own words needs dtaidistance, which is not installed",
            installs("own-voice"),
        ) from None
    return dtw_ndim
