"""Words in pictures: the lettering that comes with Pillow, and how much room it takes."""

import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.ImageFont import FreeTypeFont

DIGIT = 0.72
"""The height of a digit in ems."""

# Letters that are not a plain letter with an accent; Pillow's lettering has the plain ones only.
_SPELLED = str.maketrans(
    {
        "ß": "ss",
        "ø": "o",
        "Ø": "O",
        "æ": "ae",
        "Æ": "Ae",
        "œ": "oe",
        "Œ": "Oe",
        "ł": "l",
        "Ł": "L",
        "đ": "d",
        "Đ": "D",
        "ð": "d",
        "þ": "th",
        "ı": "i",
        "’": "'",
        "‘": "'",
        "–": "-",
        "—": "-",
    }
)


def lettering(size: float) -> "FreeTypeFont":
    """The lettering at this size in pixels to the em."""
    return _lettering(_whole(size))


def _whole(size: float) -> int:
    return max(1, round(size))


@lru_cache(maxsize=32)
def _lettering(size: int) -> "FreeTypeFont":
    from PIL import ImageFont

    font = ImageFont.load_default(size)
    assert isinstance(font, ImageFont.FreeTypeFont)
    return font


@lru_cache(maxsize=8192)
def _length(text: str, size: int) -> float:
    """A page is set again and again until it fits, with the same words."""
    return _lettering(size).getlength(text)


def length(text: str, size: float) -> float:
    """How many pixels wide a text is at this size in pixels to the em."""
    return _length(text, _whole(size))


def spelled(text: str, otherwise: str) -> str:
    """The text without accents, as the lettering has none; `otherwise` when no letter is left."""
    plain = unicodedata.normalize("NFKD", text.translate(_SPELLED))
    kept = "".join(c for c in plain if c == " " or (c.isascii() and c.isprintable()))
    return " ".join(kept.split()) if any(c.isalnum() for c in kept) else otherwise


def wrapped(text: str, size: float, width: float) -> list[str]:
    """The text in lines no wider than `width` pixels; a word is broken only when it must be."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if length(longer, size) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        while len(word) > 1 and length(word, size) > width:
            fits = max(1, sum(length(word[:n], size) <= width for n in range(1, len(word))))
            lines.append(word[:fits])
            word = word[fits:]
        line = word
    return [*lines, line] if line else lines
