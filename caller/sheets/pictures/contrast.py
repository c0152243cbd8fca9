"""Contrast: which ink is seen on a colour, and which line between two.

Relative luminance and contrast ratio as defined by WCAG 2.2 (World Wide Web Consortium, 2023). A
contrast of 3 makes out a shape (1.4.11), 4.5 reads (1.4.3) and 7 reads well (1.4.6).
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.pattern.picture.colour import RGB, linear

Floats = NDArray[np.float64]

BLACK, WHITE = 0, 255
NO_INK = -1
SEEN = 3.0


def luminance(colours: Any) -> Floats:
    """The relative luminance, 0 to 1, of sRGB colours (..., 3), each part 0 to 255."""
    weighed: Floats = linear(colours) @ np.array([0.2126, 0.7152, 0.0722])
    return weighed


def contrast(first: Any, second: Any) -> Floats:
    """The contrast, 1 to 21, between two relative luminances."""
    ratio: Floats = (np.maximum(first, second) + 0.05) / (np.minimum(first, second) + 0.05)
    return ratio


def ink_on(colour: RGB) -> RGB:
    """Black or white, whichever is seen better on this colour; the contrast is at least 4.58."""
    bright = float(luminance(colour))
    grey = BLACK if contrast(bright, 0.0) >= contrast(bright, 1.0) else WHITE
    return (grey, grey, grey)


def border_inks(first: Any, second: Any) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """The ink on either side of the border between two relative luminances.

    Black or white on both sides, where one of them has a contrast of 3 with both. Otherwise one
    side is dark and the other light: they need no line where their own contrast is 3 (NO_INK);
    where it is not, the dark side's half of the line is white and the light side's is black.
    """
    darker, lighter = np.minimum(first, second), np.maximum(first, second)
    black, white = contrast(darker, 0.0), contrast(lighter, 1.0)
    one = np.where(black >= white, BLACK, WHITE)
    apart = contrast(first, second) >= SEEN
    fits = np.maximum(black, white) >= SEEN
    inks = (
        np.where(fits, one, np.where(apart, NO_INK, np.where(side == darker, WHITE, BLACK)))
        for side in (first, second)
    )
    before, after = (ink.astype(np.int16) for ink in inks)
    return before, after
