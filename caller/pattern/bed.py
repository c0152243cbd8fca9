"""The needle bed: how needles are numbered and where the work lies."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal, get_args

from caller.checks import whole
from caller.errors import BedError

Numbering = Literal["centre", "straight"]
Side = Literal["left", "right"]
Direction = Literal["right", "left"]
"""Where the carriage goes."""
FabricSide = Literal["knit", "purl"]
"""The purl side faces the knitter at the bed."""

COMMON_BEDS: Mapping[str, tuple[int, float]] = MappingProxyType(
    {"fine": (250, 3.6), "standard": (200, 4.5), "mid": (150, 6.5), "bulky": (110, 9.0)}
)
"""Needles and pitch in mm of common beds; makers differ, so count the needles."""

_CENTRE_LABEL = re.compile(r"([LR])([1-9][0-9]{0,3})", re.IGNORECASE)
_STRAIGHT_LABEL = re.compile(r"()([1-9][0-9]{0,3})")


@dataclass(frozen=True)
class Bed:
    """A flat bed of `needles` needles, `pitch_mm` apart.

    With the numbering "centre" needles count outward from the centre, without a zero needle: L1 and
    R1 lie on either side of it, and a bed with an odd number of needles has its extra one on the
    right. With "straight" they count from the left end: 1, 2, 3. Inside the program a needle is its
    position, 0 for the leftmost.

    Raises BedError when the bed could hold no work.
    """

    needles: int = 200
    pitch_mm: float = 4.5
    numbering: Numbering = "centre"

    def __post_init__(self) -> None:
        whole(BedError, "A bed", self.needles, 2, 2000, "needles")
        if not 0.5 <= self.pitch_mm <= 50:
            raise BedError(
                f"A needle pitch of {self.pitch_mm} mm cannot be used",
                "common beds have 3.6, 4.5, 6.5 or 9 mm.",
            )
        if self.numbering not in get_args(Numbering):
            raise BedError(
                f"The numbering {self.numbering!r} is not known",
                'needles are numbered from the centre outward ("centre") or from the left end '
                '("straight").',
            )

    @property
    def left_half(self) -> int:
        """Needles to the left of the centre."""
        return self.needles // 2

    @property
    def right_half(self) -> int:
        """Needles to the right of the centre."""
        return self.needles - self.left_half

    @property
    def centre_needles(self) -> tuple[int, int]:
        """The positions of the two needles on either side of the centre."""
        return self.left_half - 1, self.left_half

    def side_and_number(self, position: int) -> tuple[Side | None, int]:
        """The needle's side of the centre and its number there; no side on a straight bed.

        Raises BedError for a position that is not on the bed.
        """
        if not 0 <= position < self.needles:
            raise BedError(f"There is no needle at position {position} of {self.needles}.")
        if self.numbering == "straight":
            return None, position + 1
        from_centre = position - self.left_half
        return ("left", -from_centre) if from_centre < 0 else ("right", from_centre + 1)

    def label(self, position: int) -> str:
        """The needle's number as it stands on the bed: "L50", "R1", or "50" on a straight bed.

        Raises BedError for a position that is not on the bed.
        """
        side, number = self.side_and_number(position)
        return f"{side[0].upper() if side else ''}{number}"

    def position(self, label: str) -> int:
        """The position of the needle with this label; BedError when there is none."""
        straight = self.numbering == "straight"
        found = (_STRAIGHT_LABEL if straight else _CENTRE_LABEL).fullmatch(label.strip())
        if found is None:
            written = "as plain numbers like 50" if straight else "like L50 or R1"
            raise BedError(f"{label[:20]!r} is not a needle", f"needles are written {written}.")
        side, number = found[1].upper(), int(found[2])
        if number > {"": self.needles, "L": self.left_half}.get(side, self.right_half):
            raise BedError(
                f"The bed has no needle {label}",
                f"it runs from {self.label(0)} to {self.label(self.needles - 1)}.",
            )
        if side == "":
            return number - 1
        return self.left_half - number if side == "L" else self.left_half + number - 1

    def centred(self, stitches: int) -> int:
        """The position of the leftmost needle of work `stitches` wide, laid about the centre.

        An even width splits half and half (common practice); an odd one has its extra stitch on
        the right. Raises BedError when the work is wider than the bed.
        """
        if stitches > self.needles:
            raise BedError(
                f"The work is {stitches} stitches wide and the bed has {self.needles} needles",
                f"make it at most {self.needles} stitches wide.",
            )
        return self.left_half - stitches // 2

    def placed(self, stitches: int, first: str | None = None) -> int:
        """The position of the leftmost needle of work `stitches` wide.

        The work lies about the centre or, when `first` is given, from that needle to the right.
        Raises BedError when it does not lie on the bed.
        """
        if stitches < 1:
            raise BedError(f"Work of {stitches} stitches cannot be laid", "it needs at least one.")
        centred = self.centred(stitches)
        if first is None:
            return centred
        position = self.position(first)
        room = self.needles - position
        if stitches > room:
            raise BedError(
                f"The work is {stitches} stitches wide and the widest that fits from needle "
                f"{self.label(position)} on is {room}",
                f"make it narrower, or begin at {self.label(self.needles - stitches)} or further "
                "left.",
            )
        return position
