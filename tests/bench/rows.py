"""Picture to row script, against Pillow's own decode and resize and a plain per-pixel loop.

Prints times and ratios of one run for a chart of 200 x 2000 stitches in 8 colours.
"""

import io
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from paired import tiny
from PIL import Image

from caller.pattern.bed import Bed
from caller.pattern.rows import RowScript
from caller.pattern.storage.pattern_file import load

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


def best(work: Callable[[], object]) -> float:
    """Seconds of the quickest of a few runs."""
    times = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


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
        whole = best(lambda: load(path).script.runs)
        rows_only = best(lambda: RowScript(chart, Bed(200), 0).runs)
        every_row = best(lambda: list(RowScript(chart, Bed(200), 0)))
        decode = best(pillow)
        loop = best(lambda: per_pixel(path))
    runs = len(RowScript(chart, Bed(200), 0).runs.yarn)
    print(f"{STITCHES} x {ROWS} stitches, {COLOURS} colours, {runs} runs; best of {TIMES}")
    print(f"picture file -> run table     {whole * 1e3:8.1f} ms   1.00")
    for what, seconds in [
        ("chart -> run table", rows_only),
        ("chart -> every row an object", every_row),
        ("Pillow decode and resize", decode),
        ("plain loop over the pixels", loop),
    ]:
        print(f"{what:<29} {seconds * 1e3:8.1f} ms   {seconds / whole:.2f}")


if __name__ == "__main__":
    main()
