"""Colours as people see them: CIELAB and the difference between two."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

RGB = tuple[int, int, int]


def lab(colours: Any) -> NDArray[np.float64]:
    """sRGB colours (n, 3), each part 0 to 255, as CIELAB (D65), rounded to 4 places."""
    from skimage.color import rgb2lab

    scaled = np.asarray(colours, dtype=np.float64) / 255
    converted: NDArray[np.float64] = rgb2lab(scaled.reshape(-1, 3))
    return np.round(converted, 4)


def rgb(colours: NDArray[np.float64]) -> NDArray[np.uint8]:
    """CIELAB colours (n, 3) as the nearest sRGB, each part 0 to 255."""
    from skimage.color import lab2rgb

    converted: NDArray[np.float64] = lab2rgb(colours)
    return np.rint(converted * 255).astype(np.uint8)


def differences(first: Any, second: Any) -> NDArray[np.float64]:
    """CIEDE2000 between each of n sRGB colours and each of m, shape (n, m).

    Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula", Color Research and Application
    30 (2005). 1 is about the least that is seen side by side.
    """
    from skimage.color import deltaE_ciede2000

    formula: Any = deltaE_ciede2000
    apart: NDArray[np.float64] = formula(lab(first)[:, None], lab(second)[None])
    return apart
