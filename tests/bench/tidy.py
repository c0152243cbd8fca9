"""Supplies left by tidying and by filters that change as many stitches, and how long it takes.

Run it with the test extra installed: python tests/bench/tidy.py. The pictures are those that
scikit-image ships. A filter gives every stitch the yarn that most of the square around it has
(majority), or the one in the middle of the square's yarns from dark to light (median).
"""

from collections.abc import Iterator
from time import perf_counter, process_time

import numpy as np
import skimage.data
from numpy.typing import NDArray
from paired import is_tiny, tiny, told
from PIL import Image
from scipy import ndimage

from caller.errors import ChartError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.picture.charting import make_chart
from caller.pattern.picture.colour import lab
from caller.pattern.picture.picture import Picture
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies
from caller.pattern.tidy.report import TidyResult
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.tidying import tidy

REACH = 7  # needles in 2.5 cm at 30 stitches to 10 cm
ROWS_TO_STITCHES = 1.3  # at 30 stitches and 39 rows to 10 cm
NAMES = (
    "astronaut",
    "camera",
    "chelsea",
    "coffee",
    "coins",
    "immunohistochemistry",
    "motorcycle",
    "retina",
    "rocket",
)
SIZES = tiny((3,), (3, 5, 7, 9))
STEPS = tiny(1, 8)
STITCHES = tiny(16, 120)


def photograph(name: str) -> NDArray[np.uint8]:
    if name == "motorcycle":
        return np.asarray(skimage.data.stereo_motorcycle()[0])
    pixels = np.asarray(getattr(skimage.data, name)())
    return pixels if pixels.ndim == 3 else np.repeat(pixels[..., None], 3, axis=2)


def chart_of(pixels: NDArray[np.uint8], stitches: int, colours: int, rows: int = 0) -> Chart:
    """A chart whose yarns are numbered from dark to light."""
    tall = rows or round(stitches * pixels.shape[0] / pixels.shape[1] * ROWS_TO_STITCHES)
    chart, yarns = make_chart(Picture(pixels), stitches, tall, colours)
    lightness = lab([yarn.rgb for yarn in yarns])[:, 0]
    return Chart(lightness.argsort().argsort()[chart.cells])


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


def tidied(chart: Chart, wanted: TidySettings) -> TidyResult:
    yarns = np.arange(int(chart.cells.max()) + 1)
    errors = (chart.cells[..., None] != yarns).astype(np.float32)  # every change counts the same
    return tidy(RowScript(chart, Bed(), 0), errors, wanted, REACH)


def fewest(chart: Chart, most_changed: int) -> tuple[int, int]:
    """(supplies, changed) of the fewest supplies found that change no more than so many."""
    low, best = 1, (plan(chart).total, 0)
    high = best[0]
    for _ in range(STEPS):
        if high - low < 2:
            break
        middle = round((low * high) ** 0.5)
        try:
            report = tidied(chart, TidySettings(in_all=middle)).report
        except ChartError:
            low = middle
            continue
        changed = int(report.changed.sum())
        if changed <= most_changed:
            high, best = middle, min(best, (report.after.supplies, changed))
        else:
            low = middle
    return best


def against_filters() -> None:
    print(
        "Supplies after changing no more stitches than a filter, and stitches changed to come down "
        f"to its supplies; {STITCHES} stitches, 5 yarns"
    )
    shares: dict[str, list[tuple[float, float]]] = {}
    for name in tiny(NAMES[1:2], NAMES):
        chart = chart_of(photograph(name), STITCHES, 5)
        print(f"\n{name}, {chart.rows} rows: {plan(chart).total} supplies")
        print("                 filter: changed supplies   tidy: changed supplies  share   changed")
        for kind, after in filtered(chart):
            told(f"{name}: {kind}")
            changed = int(np.count_nonzero(after.cells != chart.cells))
            supplies = plan(after).total
            left, tidy_changed = fewest(chart, changed)
            as_few = int(tidied(chart, TidySettings(in_all=supplies)).report.changed.sum())
            share, work = left / supplies, as_few / changed
            shares.setdefault(kind, []).append((share, work))
            print(
                f"{kind:>14} {changed:17} {supplies:8} {tidy_changed:15} {left:8} {share:6.2f} "
                f"{as_few:6} ({work:.2f})"
            )
    print("\nAll pictures: share of the filter's supplies (geometric mean, worst); of its changes")
    for kind, values in shares.items():
        mean, work = np.exp(np.log(values).mean(axis=0))
        worst = max(share for share, _ in values)
        print(f"{kind:>14} {mean:6.2f} {worst:6.2f} {work:10.2f}")


def large() -> dict[str, Chart]:
    """Charts of 200 stitches by 2000 rows in 8 yarns."""
    random = np.random.default_rng(1)
    hills = [ndimage.gaussian_filter(random.standard_normal((2000, 200)), 3) for _ in range(8)]
    stacked = [
        np.asarray(Image.fromarray(photograph(name)).resize((800, 1334)))
        for name in ("astronaut", "chelsea", "coffee", "rocket", "immunohistochemistry", "retina")
    ]
    return {
        "blobs": Chart(np.argmax(hills, axis=0)),
        "photographs": chart_of(np.concatenate(stacked), 200, 8, 2000),
    }


def times() -> None:
    print(
        "\n200 stitches by 2000 rows, 8 yarns: seconds, seconds of one processor, and the outcome"
    )
    for name, chart in large().items():
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
            report = tidied(chart, wanted).report
            wall, work = perf_counter() - wall, process_time() - work
            print(
                f"  {wall:5.2f} {work:5.2f}  {report.after.supplies:6} supplies, "
                f"{report.after.at_once:3} at once, {report.changed.sum():6} changed: {wanted}"
            )


if __name__ == "__main__":
    against_filters()
    if not is_tiny():
        times()
