"""The needle bed: how needles are numbered and where the work lies."""

import re
from dataclasses import dataclass

from caller.errors import BedError

_LABEL = re.compile(r"([LR])([1-9]\d*)", re.IGNORECASE)


@dataclass(frozen=True)
class Bed:
    """A flat bed of `needles` needles, `pitch_mm` apart.

    Needles count outward from the centre, without a zero needle: L1 and R1 lie on either side of
    it. Inside the program a needle is its position, 0 for the leftmost. A bed with an odd number of
    needles has its extra one on the right.

    Raises BedError when the bed could hold no work.
    """

    needles: int = 200
    pitch_mm: float = 4.5

    def __post_init__(self) -> None:
        if not 2 <= self.needles <= 2000:
            raise BedError(
                f"A bed of {self.needles} needles cannot be used; beds have 2 to 2000 needles."
            )
        if not 0.5 <= self.pitch_mm <= 50:
            raise BedError(
                f"A needle pitch of {self.pitch_mm} mm cannot be used; common beds have 3.6, 4.5, "
                "6.5 or 9 mm."
            )

    @property
    def left_half(self) -> int:
        """Needles to the left of the centre."""
        return self.needles // 2

    def label(self, position: int) -> str:
        """The needle's number as it stands on the bed: "L50", "R1"."""
        if not 0 <= position < self.needles:
            raise BedError(f"There is no needle at position {position} of {self.needles}.")
        from_centre = position - self.left_half
        return f"L{-from_centre}" if from_centre < 0 else f"R{from_centre + 1}"

    def position(self, label: str) -> int:
        """The position of the needle called "L50" or "R1"; BedError when there is none."""
        found = _LABEL.fullmatch(label.strip())
        if found is None:
            raise BedError(f"{label!r} is not a needle; needles are written like L50 or R1.")
        number = int(found[2])
        left = found[1].upper() == "L"
        if number > (self.left_half if left else self.needles - self.left_half):
            raise BedError(
                f"The bed has no needle {label}; it runs from {self.label(0)} to "
                f"{self.label(self.needles - 1)}."
            )
        return self.left_half - number if left else self.left_half + number - 1

    def centred(self, stitches: int) -> int:
        """The position of the leftmost needle of work `stitches` wide, laid about the centre.

        An even width splits half and half (common practice); an odd one has its extra stitch on
        the right. Raises BedError when the work is wider than the bed.
        """
        if stitches > self.needles:
            raise BedError(
                f"The work is {stitches} stitches wide and the bed has {self.needles} needles; "
                f"make it at most {self.needles} stitches wide."
            )
        return self.left_half - stitches // 2
