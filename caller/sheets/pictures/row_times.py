"""The time that each row took, as a picture: a bar a row, by sittings."""

from typing import TYPE_CHECKING

from caller.calling.diary import Diary
from caller.pattern.pattern import Pattern
from caller.sheets.pictures.lettering import lettering, spelled
from caller.sheets.pictures.page import INK, PAPER

if TYPE_CHECKING:
    from PIL.Image import Image

_SIZE, _LETTERS = (1600, 900), 28  # pixels
_LEFT, _RIGHT, _TOP, _BOTTOM = 120, 40, 120, 100
_BARS = ((31, 78, 121), (178, 102, 20))
"""Blue and orange, which every kind of colour vision tells apart; sittings take turns."""
_STEPS_S = (10, 30, 60, 120, 300, 600, 1800, 3600)
_MOST_LINES = 6


def row_times_picture(pattern: Pattern, diary: Diary) -> "Image":
    """Seconds a row against rows, 1600 by 900 pixels; a row above the scale is cut at its edge."""
    from PIL import Image, ImageDraw

    picture = Image.new("RGB", _SIZE, PAPER)
    draw = ImageDraw.Draw(picture)
    font = lettering(_LETTERS)
    title = f"{spelled(pattern.title, 'A pattern')}: time a row, {len(diary.knitted)} rows"
    draw.text((_LEFT, 40), title, INK, font)
    if not diary.knitted:
        return picture
    times = sorted(one.seconds for one in diary.knitted)
    most_s = max(10.0, 1.5 * times[int(0.95 * (len(times) - 1))])  # a tea break does not flatten it
    width, height = _SIZE[0] - _LEFT - _RIGHT, _SIZE[1] - _TOP - _BOTTOM
    step = next((one for one in _STEPS_S if most_s / one <= _MOST_LINES), _STEPS_S[-1])
    for line in range(0, int(most_s) + 1, step):
        y = _TOP + height * (1 - line / most_s)
        draw.line((_LEFT, y, _LEFT + width, y), (200, 200, 200), 2)
        told = f"{line // 60} min" if line % 60 == 0 and line else f"{line} s"
        draw.text((_LEFT - 12, y), told, INK, font, anchor="rm")
    bar = width / diary.rows
    for one in diary.knitted:
        turn = sum(sitting.began <= one.at for sitting in diary.sittings) % 2
        left, tall = _LEFT + round((one.row - 1) * bar), height * min(1, one.seconds / most_s)
        right = left + max(0, round(0.8 * bar) - 1)
        box = (left, _TOP + height - round(tall), right, _TOP + height)
        draw.rectangle(box, _BARS[turn])
    draw.line((_LEFT, _TOP + height, _LEFT + width, _TOP + height), INK, 3)
    for row in sorted({1, diary.rows // 2, diary.rows}):
        x = _LEFT + (row - 0.5) * bar
        draw.text((x, _TOP + height + 14), f"row {row}", INK, font, anchor="ma")
    return picture
