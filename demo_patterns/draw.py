"""Draws the demo patterns' charts and the picture that a chart can be made from.

Run it to write them again: python demo_patterns/draw.py. Every scene is a list of shapes, painted
one over the other. Lengths are in widths of a stitch, x to the right and y down from the top left
corner, so that one scene gives both a chart (stitches are wider than tall) and a picture.
"""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

HERE = Path(__file__).parent
ROWS_PER_STITCH = 42 / 30  # the gauge of all patterns: 30 stitches x 42 rows to 10 cm

Area = Callable[[NDArray[Any], NDArray[Any]], NDArray[np.bool_]]


@dataclass(frozen=True)
class Scene:
    """`width` x `height` of background, colour 0, with shapes of the other colours painted on.

    Of a shaped piece `edges` has the rows, from 1 at the bottom, from which on so many stitches are
    out of work at the left and at the right.
    """

    width: int
    height: float
    colours: tuple[str, ...]
    shapes: tuple[tuple[int, Area], ...]
    edges: tuple[tuple[int, int, int], ...] = ()


def box(left: float, top: float, right: float, bottom: float) -> Area:
    return lambda x, y: (left <= x) & (x < right) & (top <= y) & (y < bottom)


def disc(middle_x: float, middle_y: float, radius: float) -> Area:
    return lambda x, y: (x - middle_x) ** 2 + (y - middle_y) ** 2 < radius**2


def corners(*points: tuple[float, float]) -> Area:
    """A shape with these corners; a point is inside when a line from it crosses an odd number."""

    def inside(x: NDArray[Any], y: NDArray[Any]) -> NDArray[np.bool_]:
        odd = np.zeros(np.broadcast(x, y).shape, dtype=bool)
        for (x1, y1), (x2, y2) in zip(points, points[1:] + points[:1], strict=True):
            if y1 != y2:
                odd ^= ((y1 > y) != (y2 > y)) & (x < x1 + (y - y1) * (x2 - x1) / (y2 - y1))
        return odd

    return inside


def sea(top: float, depth: float, length: float, shift: float) -> Area:
    """Everything below a row of waves, `depth` from crest to trough."""
    return lambda x, y: y > top + depth * (1 + np.sin((x - shift) * 2 * np.pi / length)) / 2


def wave(top: float, thick: float, depth: float, length: float, shift: float) -> Area:
    """One line of waves."""
    return without(sea(top, depth, length, shift), sea(top + thick, depth, length, shift))


def without(area: Area, hole: Area) -> Area:
    return lambda x, y: area(x, y) & ~hole(x, y)


def lighthouse() -> Scene:
    navy, cream = 0, 1
    tower = corners((19, 27), (31, 27), (34, 60), (16, 60))

    def band(top: float, bottom: float) -> Area:
        return lambda x, y: tower(x, y) & (top <= y) & (y < bottom)

    return Scene(
        48,
        72,
        ("#16243f", "#f3ead3"),
        (
            (cream, corners((0, 8), (18, 17), (18, 20.5), (0, 29))),  # the beam
            (cream, tower),
            (navy, band(33.5, 40)),
            (navy, band(46.5, 53)),
            (cream, box(16, 24, 34, 27)),  # the gallery
            (cream, box(20.5, 14, 29.5, 21)),  # the lamp
            (cream, box(22.5, 21, 27.5, 24)),
            (cream, corners((18, 14), (23.4, 8), (26.6, 8), (32, 14))),  # its roof
            (cream, corners((4, 66), (11, 57), (37, 56), (48, 61), (48, 68), (4, 68))),  # rock
            (navy, box(22, 54.5, 28, 61)),  # the door
            (navy, sea(63.5, 2.2, 24, 3)),
            (cream, wave(67, 2, 2.2, 24, 15)),
        ),
    )


def sailing_boat() -> Scene:
    cream, red, navy = 1, 2, 3
    return Scene(
        80,
        84,
        ("#a9cbd8", "#f5ecd7", "#b8322f", "#1d3557"),
        (
            (cream, box(4, 15, 25, 20)),  # a cloud
            (cream, disc(11.5, 14.4, 5.5)),
            (cream, disc(19, 15, 4.2)),
            (navy, box(35, 6, 38, 60)),  # the mast
            (red, corners((38, 6), (38, 11), (49, 8.5))),  # the flag
            (cream, corners((38, 13), (41.5, 13), (69, 54), (38, 54))),  # the mainsail
            (red, corners((38, 40), (59.6, 40), (63.6, 46), (38, 46))),
            (cream, corners((35, 19), (31.8, 19), (14, 53), (35, 50))),  # the jib
            (red, corners((7, 57.5), (74, 57.5), (66, 74), (18, 74))),  # the hull
            (cream, corners((9, 60.5), (72.6, 60.5), (71.2, 63.5), (11, 63.5))),
            (navy, sea(66.5, 3, 40, 16)),
            (cream, wave(74.5, 2.2, 3, 40, 0)),
        ),
    )


def harbour_evening() -> Scene:
    coral, mustard, teal, black, cream = 1, 2, 3, 4, 5
    houses = (
        (cream, box(84, 55, 97, 84)),
        (black, corners((82, 55), (89, 47), (92, 47), (99, 55))),
        (0, box(97, 49, 113, 84)),
        (black, corners((95, 49), (103.4, 40), (106.6, 40), (115, 49))),
        (cream, box(113, 58, 130, 84)),
        (black, corners((111, 58), (117, 51), (130, 51), (130, 58))),
    )
    windows = tuple(
        (mustard, box(left, top, left + 5, top + 5.5))
        for left, top in ((88, 59), (88, 69), (102.5, 54), (102.5, 66), (119, 62), (119, 72))
    )
    return Scene(
        130,
        130,
        ("#6a2f63", "#e2725b", "#f0b83f", "#2b7f92", "#23232e", "#f4e8cf"),
        (
            (coral, corners((0, 36), (38, 42), (84, 34), (130, 40), (130, 80), (0, 80))),
            (cream, without(disc(106, 18, 9), disc(110.5, 15.5, 8))),  # the moon
            (mustard, disc(56, 72, 17)),  # the sun
            (cream, box(7, 31, 16, 60)),  # the far lighthouse
            (black, box(7, 40, 16, 46)),
            (black, corners((5, 31), (10, 25), (13, 25), (18, 31))),
            (black, corners((0, 54), (19, 53), (33, 66), (41, 76), (0, 76))),  # the hill
            (teal, box(0, 76, 130, 130)),
            (mustard, box(42, 80, 70, 83)),
            (mustard, box(48, 87, 66, 90)),
            *houses,
            *windows,
            (black, box(79, 82, 130, 91)),  # the quay
            *((black, box(left, 91, left + 5, 101)) for left in (84, 103, 122)),
            (black, box(33, 80, 36, 112)),  # the boat
            (cream, corners((36, 82), (39.5, 82), (58, 107), (36, 107))),
            (cream, corners((33, 85), (30, 85), (16, 106), (33, 107))),
            (coral, corners((9, 110), (63, 110), (57, 120), (17, 120))),
            (black, wave(121, 2.4, 3, 52, 8)),
        ),
    )


def quay_sign() -> Scene:
    """The word PIER on a board: lettering, for a piece that is seen from its knit side."""
    top, bottom, thick = 5.0, 23.0, 3.0
    middle = (top + bottom - thick) / 2

    def letter(left: float, *strokes: str) -> list[Area]:
        """Strokes of a letter 10 wide: its posts, bars, stem and leg."""
        right = left + 10
        parts = {
            "left post": box(left, top, left + thick, bottom),
            "upper right": box(right - thick, top, right, middle + thick),
            "leg": corners(
                (left + 3, middle + thick),
                (left + 7, middle + thick),
                (right + 1, bottom),
                (right - 3, bottom),
            ),
            "top bar": box(left, top, right, top + thick),
            "middle bar": box(left, middle, right, middle + thick),
            "bottom bar": box(left, bottom - thick, right, bottom),
            "stem": box(left + 3, top, left + 7, bottom),
        }
        return [parts[stroke] for stroke in strokes]

    word = [
        *letter(6, "left post", "upper right", "top bar", "middle bar"),
        *letter(19, "stem"),
        *letter(31, "left post", "top bar", "middle bar", "bottom bar"),
        *letter(44, "left post", "upper right", "top bar", "middle bar", "leg"),
    ]
    return Scene(60, 28, ("#f4e9cf", "#1d3557"), tuple((1, stroke) for stroke in word))


def anchor_vest() -> Scene:
    """The back of a small vest: widened from the hem up, armholes bound off, then decreased."""
    cream, coral = 1, 2
    return Scene(
        48,
        64 / ROWS_PER_STITCH,
        ("#2b7f92", "#f4e8cf", "#e2725b"),
        (
            (coral, corners((0, 32), (48, 41), (48, 46), (0, 46))),
            (coral, corners((27, 6.6), (36, 9.5), (36, 17.5), (32, 17.5), (32, 13), (27, 11))),
            (
                cream,
                corners((22, 5), (26, 5), (29, 8), (29, 12), (26, 15), (22, 15), (19, 12), (19, 8)),
            ),
            (0, box(22, 8.5, 26, 11.5)),  # the ring
            (cream, box(17, 18.5, 31, 21)),  # the stock
            (cream, box(22, 14, 26, 33)),  # the shank
            (cream, without(corners((11, 25), (17, 33), (31, 33), (37, 25)), disc(24, 17, 12.1))),
            (cream, box(11, 22, 15, 25.5)),  # the flukes
            (cream, box(33, 22, 37, 25.5)),
        ),
        edges=(
            *((row, off, off) for row, off in ((1, 4), (7, 3), (13, 2), (19, 1), (25, 0))),
            *((37, 4, 0), (38, 4, 4)),  # bound off where the carriage stands
            *((row, off, off) for row, off in ((41, 5), (43, 6), (45, 7), (47, 8))),
        ),
    )


def cells(scene: Scene, across: int, down: int) -> NDArray[np.uint8]:
    """The scene as colour numbers, sampled at the middles of `across` x `down` parts."""
    x = (np.arange(across) + 0.5)[None, :] * scene.width / across
    y = (np.arange(down) + 0.5)[:, None] * scene.height / down
    painted = np.zeros((down, across), dtype=np.uint8)
    for colour, area in scene.shapes:
        painted[area(x, y)] = colour
    return painted


def palette(scene: Scene) -> NDArray[np.uint8]:
    return np.array([tuple(bytes.fromhex(colour[1:])) for colour in scene.colours], dtype=np.uint8)


def chart(scene: Scene) -> Image.Image:
    """An indexed picture, one pixel a stitch."""
    numbers = cells(scene, scene.width, round(scene.height * ROWS_PER_STITCH))
    colours = palette(scene).ravel().tolist()
    if scene.edges:
        out = len(scene.colours)
        colours += (255, 255, 255)
        for row, left, right in scene.edges:
            upward = slice(None, len(numbers) - row + 1)
            painted = cells(scene, scene.width, len(numbers))[upward]
            painted[:, :left] = painted[:, scene.width - right :] = out
            numbers[upward] = painted
    picture = Image.fromarray(numbers, "P")
    picture.putpalette(colours)
    if scene.edges:
        picture.info["transparency"] = out
    return picture


def picture(scene: Scene, width: int) -> Image.Image:
    """A picture with square pixels and softened edges, `width` pixels wide."""
    height = round(width * scene.height / scene.width)
    fine = palette(scene)[cells(scene, 4 * width, 4 * height)]
    mixed = fine.reshape(height, 4, width, 4, 3).mean(axis=(1, 3))
    return Image.fromarray(np.rint(mixed).astype(np.uint8))


def drawn() -> dict[str, Image.Image]:
    """Every picture in this folder by its file name."""
    return {
        "lighthouse.png": chart(lighthouse()),
        "sailing-boat.png": chart(sailing_boat()),
        "harbour-evening.png": chart(harbour_evening()),
        "anchor-vest.png": chart(anchor_vest()),
        "sailing-boat-picture.png": picture(sailing_boat(), 800),
        "quay-sign-picture.png": picture(quay_sign(), 480),
    }


if __name__ == "__main__":
    for name, image in drawn().items():
        image.save(HERE / name, optimize=True)
