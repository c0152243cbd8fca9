"""The picture that a chart was made from, and the wishes of then, so that it can be made anew."""

import zlib
from dataclasses import dataclass, fields
from typing import get_args

from caller.checks import one_of
from caller.errors import SettingError
from caller.pattern.bed import Side
from caller.pattern.chart import Chart
from caller.settings import Rotation


@dataclass(frozen=True)
class Source:
    """A picture and wishes, as they are typed and as they stand in the pattern file.

    `file` is the picture, from the pattern file's folder; an empty text is no wish. An `outline`
    was cut out of the chart, on `outline_side` alone or on both. `made` is the fingerprint of the
    chart that came of it. Raises SettingError for a rotation or a side
    that cannot be.
    """

    file: str
    width: str = ""
    height: str = ""
    crop: str = ""
    rotate: int = 0
    flip: bool = False
    colours: int = 0
    border: int = 0
    plain_below: int = 0
    plain_above: int = 0
    background: str = ""
    outline: str = ""
    outline_side: str = ""
    made: str = ""

    def __post_init__(self) -> None:
        one_of(SettingError, "rotation", str(self.rotate), ("0", *get_args(Rotation)))
        if self.outline_side:
            one_of(SettingError, "side of an outline", self.outline_side, Side)

    def wishes(self) -> dict[str, str | int | bool]:
        """What is not left at its default."""
        return {
            one.name: getattr(self, one.name)
            for one in fields(self)
            if one.name == "file" or getattr(self, one.name) != one.default
        }


def fingerprint(chart: Chart) -> str:
    """Eight hexadecimal digits that change with any stitch (CRC-32)."""
    return f"{zlib.crc32(repr(chart.cells.shape).encode() + chart.cells.tobytes()):08x}"
