"""Colours as people see them: CIELAB and the difference between two."""

from typing import Any

import numpy as np
from numpy.typing import NDArray

RGB = tuple[int, int, int]
Numbers = NDArray[np.float64]

_PRIMARIES = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
"""Chromaticities x, y of sRGB's red, green and blue: IEC 61966-2-1."""
_WHITE = np.array([0.3127, 0.3290])
"""Chromaticity x, y of its white, D65."""
_BEND, _SLOPE = (6 / 29) ** 3, (29 / 6) ** 2 / 3
"""Where CIELAB's cube root becomes a straight line, and how steep that is: ISO/CIE 11664-4."""


def _xyz(chromaticities: Numbers) -> Numbers:
    """Tristimulus values of luminance 1 from chromaticities, shape (..., 2) to (..., 3)."""
    x, y = chromaticities[..., 0], chromaticities[..., 1]
    return np.stack((x / y, np.ones_like(y), (1 - x - y) / y), axis=-1)


def _to_xyz() -> Numbers:
    """The matrix (3, 3) that takes linear sRGB to XYZ, where white is 1, 1, 1 before and after.

    Each primary is as strong as white needs it. XYZ is counted in parts of the white's.
    """
    primaries, white = _xyz(_PRIMARIES).T, _xyz(_WHITE)
    strengths = np.linalg.solve(primaries, white)
    parts: Numbers = primaries * strengths / white[:, None]
    return parts


_TO_XYZ = _to_xyz()
_FROM_XYZ = np.linalg.inv(_TO_XYZ)


def linear(colours: Any) -> Numbers:
    """sRGB colours (..., 3), each part 0 to 255, as linear light, 0 to 1: IEC 61966-2-1."""
    parts = np.asarray(colours, dtype=np.float64) / 255
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def lab(colours: Any) -> Numbers:
    """sRGB colours (n, 3), each part 0 to 255, as CIELAB (D65), rounded to 4 places."""
    xyz = linear(colours).reshape(-1, 3) @ _TO_XYZ.T
    x, y, z = np.where(xyz > _BEND, np.cbrt(xyz), xyz * _SLOPE + 4 / 29).T
    return np.round(np.stack((116 * y - 16, 500 * (x - y), 200 * (y - z)), axis=1), 4)


def rgb(colours: Numbers) -> NDArray[np.uint8]:
    """CIELAB colours (n, 3) as the nearest sRGB, each part 0 to 255."""
    lightness, a, b = np.asarray(colours, dtype=np.float64).T
    y = (lightness + 16) / 116
    roots = np.stack((y + a / 500, y, y - b / 200), axis=1)
    xyz = np.where(roots > 6 / 29, roots**3, (roots - 4 / 29) / _SLOPE)
    light = np.clip(xyz @ _FROM_XYZ.T, 0, 1)
    parts = np.where(light <= 0.0031308, light * 12.92, 1.055 * light ** (1 / 2.4) - 0.055)
    whole: NDArray[np.uint8] = np.rint(parts * 255).astype(np.uint8)
    return whole


def differences(first: Any, second: Any) -> Numbers:
    """CIEDE2000 between each of n sRGB colours and each of m, shape (n, m).

    1 is about the least that is seen side by side.
    """
    return ciede2000(lab(first)[:, None], lab(second)[None])


def ciede2000(first: Numbers, second: Numbers) -> Numbers:
    """The CIEDE2000 difference of CIELAB colours, shapes (..., 3), by numpy's rules of shapes.

    Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula", Color Research and Application
    30 (2005); the numbers in brackets are those of its equations. All weights are 1.
    """
    (l1, a1, b1), (l2, a2, b2) = np.moveaxis(first, -1, 0), np.moveaxis(second, -1, 0)
    grey = 1.5 - 0.5 * _saturated((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2)  # (2) to (5), 1 + G
    c1, c2 = np.hypot(grey * a1, b1), np.hypot(grey * a2, b2)  # (6)
    h1 = np.degrees(np.arctan2(b1, grey * a1)) % 360  # (7)
    h2 = np.degrees(np.arctan2(b2, grey * a2)) % 360
    coloured = c1 * c2 > 0
    turn = h2 - h1  # (10)
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    dl, dc = l2 - l1, c2 - c1  # (8), (9)
    dh = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))  # (11)
    lightness, chroma = (l1 + l2) / 2, (c1 + c2) / 2  # (12), (13)
    opposite = np.where(np.abs(h1 - h2) > 180, 180, 0)
    hue = np.where(coloured, ((h1 + h2) / 2 + opposite) % 360, h1 + h2)  # (14)
    t = (  # (15)
        1
        - 0.17 * np.cos(np.radians(hue - 30))
        + 0.24 * np.cos(np.radians(2 * hue))
        + 0.32 * np.cos(np.radians(3 * hue + 6))
        - 0.20 * np.cos(np.radians(4 * hue - 63))
    )
    rotation = 30 * np.exp(-(((hue - 275) / 25) ** 2))  # (16)
    sl = 1 + 0.015 * (lightness - 50) ** 2 / np.sqrt(20 + (lightness - 50) ** 2)  # (18)
    sc, sh = 1 + 0.045 * chroma, 1 + 0.015 * chroma * t  # (19), (20)
    rt = -np.sin(np.radians(2 * rotation)) * 2 * _saturated(chroma)  # (17), (21)
    dl, dc, dh = dl / sl, dc / sc, dh / sh
    squares: Numbers = dl**2 + dc**2 + dh**2 + rt * dc * dh  # (22)
    return np.sqrt(np.maximum(squares, 0))


def _saturated(chroma: Numbers) -> Numbers:
    seventh = chroma**7
    return np.sqrt(seventh / (seventh + 25.0**7))
