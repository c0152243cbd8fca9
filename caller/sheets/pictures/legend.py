"""Lines of words, and marks with their meanings, set in a given width."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from caller.sheets.pictures.lettering import length, wrapped

if TYPE_CHECKING:
    from PIL.Image import Image

LINE = 1.4
"""Ems from line to line."""
BASELINE = 0.92
"""Ems from the top of a line to where its letters stand."""
_TITLE = 1.6  # ems
_INDENT = 1.7  # ems from a mark's left edge to its words


@dataclass(frozen=True)
class Entry:
    """A mark, drawn by `draw` as a square of so many pixels, and what it means."""

    draw: Callable[[int], "Image"]
    text: str


@dataclass(frozen=True)
class Words:
    """A line of text at this many pixels to the em; `y` is where its letters stand."""

    x: float
    y: float
    text: str
    em: float


@dataclass(frozen=True)
class Mark:
    """The mark of an entry, by its top left corner."""

    x: float
    y: float
    entry: Entry


@dataclass(frozen=True)
class Block:
    """What is set, in pixels from the block's top left corner, and the room it takes."""

    parts: tuple[Words | Mark, ...]
    width: float
    height: float


def heading(lines: Sequence[str], em: float, width: float) -> Block:
    """A title, and the sentences below it."""
    y, parts = 0.0, []
    for index, text in enumerate(lines):
        size = em if index else em * _TITLE
        for line in wrapped(text, size, width):
            parts.append(Words(0, y + size, line, size))
            y += size * LINE
    return Block(tuple(parts), width, y)


def legend(entries: Sequence[Entry], em: float, width: float, stacked: bool) -> Block:
    """Entries one below the other, or side by side as they fit; long ones are wrapped."""
    x, y, line = 0.0, 0.0, em * LINE
    parts: list[Words | Mark] = []
    for entry in entries:
        needed = em * _INDENT + length(entry.text, em)
        if x and x + needed > width:
            x, y = 0.0, y + line
        lines = wrapped(entry.text, em, width - em * _INDENT)
        parts.append(Mark(x, y, entry))
        parts += [
            Words(x + em * _INDENT, y + n * line + em * BASELINE, text, em)
            for n, text in enumerate(lines)
        ]
        x += needed + em * 1.5
        if stacked or len(lines) > 1:
            x, y = 0.0, y + len(lines) * line
    return Block(tuple(parts), width, y + line if x else y)
