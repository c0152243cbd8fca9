"""How well ways of reducing a picture to stitches keep thin lines. Run it to print the table.

The pictures come with scikit-image. Each is black on white; a thin line is what an opening by one
stitch takes away from the black, thinned to its middle (skeleton). Counted at 100 stitches across:

- kept: the share of thin lines' middles that lie in a black stitch,
- whole: the share of thin lines, those four stitches long or longer, that lie in or beside black
  stitches all along ("-": there is none so long),
- fat: black stitches for each stitch's worth of black in the picture (1 is best).
"""

import math
from pathlib import Path

import numpy as np
import skimage
from numpy.typing import NDArray
from paired import tiny, told
from skimage.color import rgb2gray
from skimage.filters import threshold_local
from skimage.io import imread
from skimage.measure import label
from skimage.morphology import dilation, footprint_rectangle, opening, skeletonize
from skimage.transform import resize

from caller.pattern.picture import voting as package_voting
from caller.pattern.picture.palette import labelled

ACROSS = 100
PALETTE = np.uint8([(0, 0, 0), (255, 255, 255)])
Mask = NDArray[np.bool_]


def drawings() -> dict[str, Mask]:
    """Where each picture is black."""
    folder = Path(skimage.__file__).parent / "data"
    grey = {
        name: imread(folder / name) for name in ("horse.png", "page.png", "text.png", "phantom.png")
    }
    rocket = rgb2gray(imread(folder / "rocket.jpg"))
    chart = {name.removesuffix(".png"): values for name, values in grey.items()}
    return {
        "horse": chart["horse"][..., :3].mean(axis=2) < 128,
        "page (print)": chart["page"] < threshold_local(chart["page"], 35, offset=10),
        "text (handwriting)": chart["text"] < threshold_local(chart["text"], 35, offset=10),
        "phantom (outlines)": rgb2gray(chart["phantom"][..., :3]) > 0.5,
        "rocket (masts)": rocket < threshold_local(rocket, 51, offset=0.05),
    }


def nearest(black: Mask, rows: int) -> Mask:
    """The pixel under the middle of each stitch."""
    down = package_voting._middles(rows, black.shape[0])
    return black[down][:, package_voting._middles(ACROSS, black.shape[1])]


def average(black: Mask, rows: int) -> Mask:
    """The mean of a stitch's area, given the nearer colour."""
    mean = resize(black.astype(float), (rows, ACROSS), order=1, anti_aliasing=True)
    return np.asarray(mean > 0.5)


def voting(black: Mask, rows: int, thin: float) -> Mask:
    """The vote of the package, what is thin counting `thin` times."""
    kept, package_voting._THIN = package_voting._THIN, thin
    samples, side = package_voting.sampled(PALETTE[1 - black.astype(int)], rows, ACROSS)
    cells = package_voting.voted(labelled(samples), PALETTE, side)
    package_voting._THIN = kept
    return cells == 0


def measured(black: Mask, chart: Mask) -> tuple[float, float, float]:
    across, down = black.shape[1] / ACROSS, black.shape[0] / chart.shape[0]
    stitch = footprint_rectangle((max(2, round(down)) + 1, max(2, round(across)) + 1))
    thin = skeletonize(black & ~opening(black, stitch))
    y, x = np.nonzero(thin)
    near = dilation(chart, footprint_rectangle((3, 3)))
    there = (np.minimum((y / down).astype(int), len(chart) - 1), (x / across).astype(int))
    piece = label(thin, connectivity=2)[y, x]
    missed = np.bincount(piece, ~near[there])
    long = np.bincount(piece) >= 4 * across
    whole = (missed[long] == 0).mean() if long.any() else math.nan
    return chart[there].mean(), whole, chart.mean() / black.mean()


def main() -> None:
    print(f"{'picture':20} {'way':14} {'kept':>6} {'whole':>6} {'fat':>6}")
    for name, black in list(drawings().items())[: tiny(1, None)]:
        rows = round(ACROSS * black.shape[0] / black.shape[1] * 1.4)
        ways = {"nearest pixel": nearest(black, rows), "average": average(black, rows)}
        ways |= {f"vote, thin x {n}": voting(black, rows, n) for n in (1, 2, 3, 4)}
        told(name)
        for way, chart in ways.items():
            kept, whole, fat = measured(black, chart)
            all_along = f"{whole:6.2f}" if whole == whole else f"{'-':>6}"
            print(f"{name:20} {way:14} {kept:6.2f} {all_along} {fat:6.2f}")


if __name__ == "__main__":
    main()
