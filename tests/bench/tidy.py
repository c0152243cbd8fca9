"""Supplies and likeness after tidying and after filters, and how long tidying takes.

Run it with the test extra installed: python tests/bench/tidy.py. The pictures to report on are
ones that scikit-image ships, lettering among them (text, page, logo), and two drawings of our own;
weights were chosen on others, the drawings of tests/pattern/tidy and three photographs (chelsea,
coffee, rocket). A filter gives every stitch the yarn that most of the square around it has
(majority), or the one in the middle of the square's yarns from dark to light (median).
"""

import sys
from collections.abc import Iterator
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
import skimage.data
from numpy.typing import NDArray
from paired import is_tiny, tiny, told
from PIL import Image, ImageDraw
from scipy import ndimage

sys.path.insert(0, str(Path(__file__).parents[1] / "pattern" / "tidy"))
import drawings

from caller.errors import ChartError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.picture.charting import make_chart
from caller.pattern.picture.colour import RGB, lab
from caller.pattern.picture.picture import Picture
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies
from caller.pattern.tidy.likeness import likeness
from caller.pattern.tidy.report import TidyResult
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.tidying import tidy, yarn_errors

REACH = 7  # needles in 2.5 cm at 30 stitches to 10 cm
ROWS_TO_STITCHES = 1.3  # at 30 stitches and 39 rows to 10 cm
NAMES = (
    "text",
    "page",
    "logo",
    "board",
    "window",
    "astronaut",
    "camera",
    "clock",
    "motorcycle",
)
YARNS = {"text": 2, "page": 2, "board": 3}
SIZES = tiny((3,), (3, 5))
BLOB_COLOURS: list[RGB] = [
    (27, 42, 74), (242, 232, 208), (178, 52, 45), (205, 170, 120),
    (40, 84, 64), (120, 120, 130), (230, 180, 60), (90, 50, 90),
]  # fmt: skip
STEPS = tiny(1, 6)
STITCHES = tiny(16, 120)


def board() -> Image.Image:
    """A board with four lines of lettering of three sizes."""
    picture = Image.new("RGB", (480, 420), (238, 228, 200))
    draw = ImageDraw.Draw(picture)
    lines = (("Fish market", 60, 64), ("open Tuesday", 160, 50), ("to Friday", 240, 50))
    for text, y, size in (*lines, ("5 am till noon", 340, 60)):
        draw.text((240, y), text, (30, 60, 90), drawings.font(size), anchor="mm")
    draw.line((40, 385, 440, 385), (170, 60, 40), 6)
    return picture


def window() -> Image.Image:
    """A window with thin bars, a cat's face behind it and a curtain's scallops."""
    picture = Image.new("RGB", (480, 480), (60, 90, 120))
    draw = ImageDraw.Draw(picture)
    draw.ellipse((150, 190, 330, 400), (210, 150, 90))
    draw.polygon([(165, 240), (170, 140), (230, 200)], (210, 150, 90))
    draw.polygon([(315, 240), (310, 140), (250, 200)], (210, 150, 90))
    for x in (205, 275):
        draw.ellipse((x - 16, 265, x + 16, 290), (240, 235, 215))
        draw.ellipse((x - 5, 265, x + 5, 290), (20, 20, 30))
    for y in (330, 345):
        draw.line((130, y, 215, 340), (20, 20, 30), 4)
        draw.line((350, y, 265, 340), (20, 20, 30), 4)
    for x in range(0, 480, 80):
        draw.arc((x, 20, x + 80, 100), 0, 180, (240, 235, 215), 6)
    draw.rectangle((0, 0, 480, 58), (240, 235, 215))
    for at in (157, 317):
        draw.rectangle((at, 0, at + 7, 480), (240, 235, 215))
    draw.rectangle((0, 236, 480, 243), (240, 235, 215))
    return picture


def photograph(name: str) -> NDArray[np.uint8]:
    if name == "motorcycle":
        return np.asarray(skimage.data.stereo_motorcycle()[0])
    if name in ("board", "window"):
        return np.asarray({"board": board, "window": window}[name]())
    pixels = np.asarray(getattr(skimage.data, name)())
    return pixels[..., :3] if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=2)


def chart_of(
    pixels: NDArray[np.uint8], stitches: int, colours: int, rows: int = 0
) -> tuple[Chart, list[RGB]]:
    """A chart whose yarns are numbered from dark to light, and their colours."""
    tall = rows or round(stitches * pixels.shape[0] / pixels.shape[1] * ROWS_TO_STITCHES)
    chart, yarns = make_chart(Picture(pixels), stitches, tall, colours)
    colours_found = [yarn.rgb for yarn in yarns]
    order = lab(colours_found)[:, 0].argsort()
    return Chart(order.argsort()[chart.cells]), [colours_found[number] for number in order]


def filtered(chart: Chart) -> Iterator[tuple[str, Chart]]:
    for size in SIZES:
        votes = [
            ndimage.uniform_filter((chart.cells == yarn).astype(float), size, mode="nearest")
            + 1e-6 * (chart.cells == yarn)  # the stitch's own yarn wins a tie
            for yarn in range(int(chart.cells.max()) + 1)
        ]
        yield f"majority {size}", Chart(np.argmax(votes, axis=0))
        yield f"median {size}", Chart(ndimage.median_filter(chart.cells, size, mode="nearest"))


def plan(chart: Chart) -> SupplyPlan:
    return assign_supplies(RowScript(chart, Bed(), 0), REACH)


def tidied(chart: Chart, colours: list[RGB], wanted: TidySettings) -> TidyResult:
    return tidy(RowScript(chart, Bed(), 0), yarn_errors(chart, colours), wanted, REACH)


def fewest(chart: Chart, colours: list[RGB], least: float) -> tuple[int, float]:
    """(supplies, likeness) of the fewest supplies found that look as alike as `least`."""
    low, best = 1, (plan(chart).total, 1.0)
    high = best[0]
    for _ in range(STEPS):
        if high - low < 2:
            break
        middle = round((low * high) ** 0.5)
        try:
            result = tidied(chart, colours, TidySettings(in_all=middle))
        except ChartError:
            low = middle
            continue
        alike = likeness(chart.cells, result.chart.cells, colours)
        if alike >= least:
            high, best = middle, min(best, (result.report.after.supplies, alike))
        else:
            low = middle
    return best


def against_filters() -> None:
    print(
        "A filter's supplies and likeness; the likeness of tidying to as many supplies; the "
        f"supplies of tidying to as much likeness. {STITCHES} stitches, 5 yarns ({YARNS})"
    )
    found: dict[str, list[tuple[float, float, float]]] = {}
    for name in tiny(NAMES[:1], NAMES):
        chart, colours = chart_of(photograph(name), STITCHES, YARNS.get(name, 5))
        print(f"\n{name}, {chart.rows} rows: {plan(chart).total} supplies")
        print("               filter: supplies likeness   tidy: likeness  supplies  share")
        for kind, after in filtered(chart):
            told(f"{name}: {kind}")
            if after.cells.min() == after.cells.max():
                print(f"{kind:>14}  leaves a single colour")
                continue
            supplies, alike = plan(after).total, likeness(chart.cells, after.cells, colours)
            try:
                as_few = tidied(chart, colours, TidySettings(in_all=supplies)).chart.cells
                same_supplies = likeness(chart.cells, as_few, colours)
            except ChartError:
                same_supplies = 0.0
            left, _ = fewest(chart, colours, alike)
            found.setdefault(kind, []).append((alike, same_supplies, left / supplies))
            print(
                f"{kind:>14} {supplies:16} {alike:8.3f} {same_supplies:16.3f} {left:9} "
                f"{left / supplies:6.2f}"
            )
    print("\nAll pictures: mean likeness of filter and of tidying at its supplies, least gain;")
    print("share of its supplies at its likeness (geometric mean, worst)")
    for kind, values in found.items():
        alike, same_supplies, shares = np.array(values).T
        print(
            f"{kind:>14} {alike.mean():6.3f} {same_supplies.mean():6.3f} "
            f"{(same_supplies - alike).min():6.3f} {np.exp(np.log(shares).mean()):6.2f} "
            f"{shares.max():6.2f}"
        )


def large() -> dict[str, tuple[Chart, list[RGB]]]:
    """Charts of 200 stitches by 2000 rows in 8 yarns."""
    random = np.random.default_rng(1)
    hills = [ndimage.gaussian_filter(random.standard_normal((2000, 200)), 3) for _ in range(8)]
    stacked = [
        np.asarray(Image.fromarray(photograph(name)).resize((800, 1334)))
        for name in ("astronaut", "chelsea", "coffee", "rocket", "immunohistochemistry", "retina")
    ]
    return {
        "blobs": (Chart(np.argmax(hills, axis=0)), BLOB_COLOURS),
        "photographs": chart_of(np.concatenate(stacked), 200, 8, 2000),
    }


def times() -> None:
    print(
        "\n200 stitches by 2000 rows, 8 yarns: seconds, seconds of one processor, and the outcome"
    )
    for name, (chart, colours) in large().items():
        before = plan(chart)
        print(f"{name}: {before.total} supplies, {before.at_once} at once")
        for wanted in (
            TidySettings(shortest_run=3),
            TidySettings(specks=4),
            TidySettings(at_once=16),
            TidySettings(in_all=before.total // 2),
            TidySettings(in_all=before.total // 4),
            TidySettings(in_all=before.total // 10),
            TidySettings(in_all=before.total // 30),
            TidySettings(2, 3, 16, before.total // 5),
        ):
            told(f"{name}: {wanted}")
            wall, work = perf_counter(), process_time()
            report = tidied(chart, colours, wanted).report
            wall, work = perf_counter() - wall, process_time() - work
            print(
                f"  {wall:5.2f} {work:5.2f}  {report.after.supplies:6} supplies, "
                f"{report.after.at_once:3} at once, {report.changed.sum():6} changed: {wanted}"
            )


if __name__ == "__main__":
    against_filters()
    if not is_tiny():
        times()
