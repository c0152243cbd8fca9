"""How long the pictures of a piece take, and how that compares with merely saving them.

Run it with the test extra installed: python tests/bench/preview.py. Each picture is drawn and saved
by turns; printed are the medians of the seconds, and of the ratio of a turn's two.
"""

import io
from collections.abc import Callable
from functools import partial
from statistics import median
from time import perf_counter

import numpy as np
from paired import tiny, told
from PIL import Image
from scipy.ndimage import gaussian_filter

from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import assign_supplies
from caller.pattern.yarns import Yarn
from caller.sheets.pictures.preview import piece_picture
from caller.sheets.pictures.supply_picture import supply_picture

COLOURS = ("#1b2a4a", "#efe6d2", "#b23a2e", "#6f8f72", "#d9a441", "#7a5c86", "#30323a", "#9fc3d4")


def blobs(rows: int, stitches: int, size: float) -> Chart:
    """Blocks of colour with smooth edges: the highest of eight smoothed hills of noise."""
    random = np.random.default_rng(1)
    hills = [gaussian_filter(random.standard_normal((rows, stitches)), size) for _ in COLOURS]
    return Chart(np.argmax(hills, axis=0))


def speckles(rows: int, stitches: int) -> Chart:
    """Every stitch in a yarn of its own choice: the worst that a chart can be."""
    return Chart(np.random.default_rng(1).integers(0, len(COLOURS), (rows, stitches)))


def measured(draw: Callable[[], Image.Image]) -> tuple[float, float, Image.Image, int]:
    """Seconds to draw, the ratio of drawing to saving, the picture, and its bytes."""
    found = []
    for _ in range(tiny(1, 5)):
        begun = perf_counter()
        picture = draw()
        drawn = perf_counter()
        encoded = io.BytesIO()
        picture.save(encoded, "PNG")
        found.append((drawn - begun, perf_counter() - drawn))
    ratio = median(drawing / saving for drawing, saving in found)
    return median(drawing for drawing, _ in found), ratio, picture, encoded.tell()


def main() -> None:
    print("picture             chart                    seconds  to saving   pixels       MB")
    for name, chart_of in (
        ("blobs 20 x 10", partial(blobs, 10, 20, 4)),
        ("blobs 60 x 80", partial(blobs, 80, 60, 4)),
        ("blobs 200 x 280", partial(blobs, 280, 200, 8)),
        ("blobs 200 x 2000", partial(blobs, 2000, 200, 8)),
        ("fine blobs 200 x 2000", partial(blobs, 2000, 200, 2)),
        ("speckles 200 x 2000", partial(speckles, 2000, 200)),
    )[: tiny(1, None)]:
        yarns = tuple(Yarn(f"yarn {n}", colour) for n, colour in enumerate(COLOURS))
        pattern = Pattern("Measured", chart_of(), yarns, Bed(), Gauge(30, 42))
        plan = assign_supplies(pattern.script, 7)
        for what, draw in (
            ("purl side", lambda p=pattern: piece_picture(p, "purl")),
            ("knit side", lambda p=pattern: piece_picture(p, "knit")),
            (f"{plan.total} supplies", lambda p=pattern, s=plan: supply_picture(p, s)),
        ):
            told(f"{name}, {what}")
            seconds, ratio, picture, size = measured(draw)
            print(
                f"{what:19} {name:24} {seconds:7.3f} {ratio:8.1f}x "
                f"{picture.width:5} x {picture.height:5} {size / 1e6:5.1f}"
            )


if __name__ == "__main__":
    main()
