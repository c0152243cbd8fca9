"""A row on a terminal as large as fits: the needles of what is being called, in block letters.

Two pixels lie in a character, one above the other, which are about as wide as high. No colour is
used, so the letters have the terminal's own contrast, whatever the reader has chosen, NO_COLOR too.
"""

from collections.abc import Sequence
from functools import cache

from caller.plain_text import shortened

_BLOCKS = dict(enumerate(" ▀▄█"))
FEWEST_PIXELS = 7
"""The height of type below which block letters are not told apart."""
_MOST_PIXELS = 60


def large_print(
    heading: str, runs: Sequence[tuple[str, str]], columns: int, lines: int
) -> list[str]:
    """The lines of a row: its heading, and each run as its end and needle in plain text, with the
    needle once more in block letters, all of the same size, the largest that fits.

    `runs` are pairs like ("new cream to", "L20"). No line is wider than `columns`, and with block
    letters there are at most `lines`; where there is no room for letters that can be told apart
    there are none.
    """
    drawn: list[tuple[str, ...]] = []
    room = 2 * ((lines - 1) / max(1, len(runs)) - 1)  # pixels for the type of each run
    most = min(_MOST_PIXELS, int(room * 1.25))  # letters are at least 0.8 of their size high
    for size in range(most, FEWEST_PIXELS - 1, -1):
        drawn = [_drawn(needle, size) for _, needle in runs]
        taken = 1 + sum(len(letters) + 1 for letters in drawn)
        if taken <= lines and all(len(line) <= columns for each in drawn for line in each):
            break
    else:
        drawn = [() for _ in runs]
    made = [shortened(heading, columns)]
    for (end, needle), letters in zip(runs, drawn, strict=True):
        made.append(shortened(f"{end} {needle}", columns))
        made += letters
    return made


@cache
def _drawn(text: str, size: int) -> tuple[str, ...]:
    """The text in block letters of so many pixels, without empty lines around it."""
    import numpy as np
    from PIL import Image, ImageDraw, ImageFont

    font = ImageFont.load_default(size * 1.4)  # a capital letter takes seven tenths of it
    left, top, right, bottom = (round(edge) for edge in font.getbbox(text))
    page = Image.new("1", (right - left + 1, bottom - top + 2))
    brush = ImageDraw.Draw(page)
    brush.fontmode = "1"
    brush.text((-left, -top), text, fill=1, font=font)
    pixels = np.asarray(page, dtype=np.uint8)
    pixels = pixels[pixels.any(axis=1)][:, pixels.any(axis=0).argmax() :]
    pixels = np.pad(pixels, ((0, len(pixels) % 2), (0, 0)))
    cells = pixels[::2] + 2 * pixels[1::2]
    return tuple(row.tobytes().decode("latin-1").translate(_BLOCKS).rstrip() for row in cells)
