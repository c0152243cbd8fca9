"""Picture to row script, against Pillow's own decode and resize and a plain per-pixel loop.

For a chart of 200 x 2000 stitches in 8 colours. Every round runs all ways one after the other;
printed are the medians of their seconds, and of their ratios to Pillow's in the same round.
"""

import io
import tempfile
from functools import partial
from pathlib import Path
from statistics import median

import numpy as np
from paired import ratios, rounds, seconds, tiny
from PIL import Image

from caller.pattern.bed import Bed
from caller.pattern.rows import RowScript
from caller.pattern.storage.pattern_file import load

PILLOW = "Pillow decode and resize"
STITCHES, ROWS, COLOURS, TIMES = tiny((20, 40, 3, 1), (200, 2000, 8, 5))


def blocks_of_colour() -> Image.Image:
    """Smooth random blobs: the sum of two waves a colour, the strongest wins."""
    random = np.random.default_rng(7)
    y, x = np.mgrid[:ROWS, :STITCHES]
    waves = [
        np.sin(x / a + p) + np.sin(y / b + q)
        for a, b, p, q in random.uniform((6, 6, 0, 0), (20, 30, 6, 6), (COLOURS, 4))
    ]
    picture = Image.fromarray(np.argmax(waves, axis=0).astype(np.uint8), mode="P")
    picture.putpalette(random.integers(0, 256, COLOURS * 3).tolist())
    return picture


def per_pixel(path: Path) -> list[tuple[int, tuple[int, ...], int, int]]:
    """The plain way: look at every pixel in turn, and note each run as it ends."""
    runs = []
    with Image.open(path) as source:
        pixels = source.convert("RGB").load()
        for row in range(ROWS):
            y, left = ROWS - 1 - row, 0
            for x in range(1, STITCHES + 1):
                if x == STITCHES or pixels[x, y] != pixels[left, y]:
                    runs.append((row, pixels[left, y], left, x - 1))
                    left = x
    return runs


def main() -> None:
    picture = blocks_of_colour()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "blocks.png"
        picture.save(path)
        encoded = path.read_bytes()

        def pillow() -> None:
            with Image.open(io.BytesIO(encoded)) as source:
                source.convert("RGB").resize(
                    (STITCHES, ROWS), Image.Resampling.BOX, (0, 0, STITCHES - 1, ROWS - 1)
                )

        chart = load(path).chart
        ways = {
            PILLOW: pillow,
            "picture file -> run table": lambda: load(path).script.runs,
            "chart -> run table": lambda: RowScript(chart, Bed(200), 0).runs,
            "chart -> every row an object": lambda: list(RowScript(chart, Bed(200), 0)),
            "plain loop over the pixels": lambda: per_pixel(path),
        }
        measured = rounds({name: partial(seconds, way) for name, way in ways.items()}, TIMES)
    runs = len(RowScript(chart, Bed(200), 0).runs.yarn)
    print(f"{STITCHES} x {ROWS} stitches, {COLOURS} colours, {runs} runs; {TIMES} rounds")
    for name, ratio in ratios(measured, PILLOW).items():
        took = median(found[name] for found in measured)
        print(f"{name:<29} {took * 1e3:8.1f} ms   {ratio:.2f}")


if __name__ == "__main__":
    main()
