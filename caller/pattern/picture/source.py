"""The picture that a chart was made from, and the wishes of then, so that it can be made anew."""

import zlib
from dataclasses import dataclass, fields

from caller.checks import one_of
from caller.errors import SettingError
from caller.pattern.bed import Side
from caller.pattern.chart import Chart


@dataclass(frozen=True)
class Source:
    """A picture and wishes, as they are typed and as they stand in the pattern file.

    `file` is the picture, from the pattern file's folder; an empty text is no wish. Of panels,
    `panel` is the number of this one, of `panels`, with `seam` seam stitches. An `outline` was cut
    out of the chart, on `outline_side` alone or on both. `made` is the fingerprint of the chart
    that came of it. Raises SettingError for a panel or side that cannot be.
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
    panel: int = 0
    panels: int = 0
    seam: int = 0
    outline: str = ""
    outline_side: str = ""
    made: str = ""

    def __post_init__(self) -> None:
        if not 0 <= self.panel <= self.panels or (self.panels and not self.panel):
            raise SettingError(
                f"There is no panel {self.panel} of {self.panels}", "correct [picture]."
            )
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
