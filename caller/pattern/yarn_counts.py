"""Yarn counts: how heavy a yarn is for its length, as the trade writes it.

Direct systems give mass for length: tex is grams a kilometre, dtex grams in 10 km, denier grams in
9 km. Indirect systems give length for mass: Nm (metric) kilometres a kilogram, Ne (cotton) hanks of
840 yards a pound, worsted (NeK) hanks of 560 yards a pound (ISO 1144, ASTM D861, ASTM D2260).
"""

import re
from dataclasses import dataclass

from caller.errors import YarnError
from caller.pattern.units import GRAMS, MM, POUND_G, YARD_M

FINEST_TEX, HEAVIEST_TEX = 0.1, 100_000.0
MOST_PLIES = 12

_DIRECT = {"tex": 1.0, "dtex": 0.1, "denier": 1 / 9}  # tex in one of these
_INDIRECT = {  # tex of the count 1
    "nm": 1000.0,
    "ne": 1000 * POUND_G / (840 * YARD_M),
    "worsted": 1000 * POUND_G / (560 * YARD_M),
}
_NAMES = {
    "tex": "tex",
    "dtex": "dtex",
    "decitex": "dtex",
    "denier": "denier",
    "den": "denier",
    "nm": "nm",
    "metric": "nm",
    "ne": "ne",
    "nec": "ne",
    "cotton": "ne",
    "worsted": "worsted",
    "nek": "worsted",
    "nw": "worsted",
}
_NUMBER = r"([0-9]{1,9}(?:[.,][0-9]{1,9})?)"
_SYSTEM = "(" + "|".join(sorted(_NAMES, key=len, reverse=True)) + ")"
_COUNT = (  # these four are compiled where a count is read, for that takes milliseconds
    rf"(?:{_SYSTEM}\s*)?{_NUMBER}(?:'?s\b)?(?:\s*/\s*{_NUMBER}(?:'?s\b)?)?(?:\s*{_SYSTEM})?"
    r"(?:\s*x\s*([0-9]{1,2}))?"
)
_RESULTANT = rf"r\s*(?:{_SYSTEM}\s*)?{_NUMBER}(?:\s*{_SYSTEM})?(?:\s*/\s*[0-9]{{1,2}})?"
_LENGTH_FOR_MASS = (
    rf"{_NUMBER}\s*(m|metres?|meters?|yd|yds|yards?)\s*(?:/|per)\s*(?:{_NUMBER}\s*)?"
    r"(g|grams?|kg|oz|ounces?|lbs?|pounds?)"
)
_WRAPS = rf"{_NUMBER}\s*(?:wpi|wraps?(?:\s*(?:/|per)\s*(?:in|inch|cm))?)"
_AMBIGUOUS = r"[1-9][0-9]{0,2}%s[0-9]{3}"  # 1,400 is 1400 on one label and 1.4 on another


@dataclass(frozen=True)
class YarnCount:
    """A yarn's linear density: `tex` in grams a kilometre, and the count as `written`.

    `tex` is None for wraps per inch. How many strands lie side by side in an inch depends on how
    tightly they are wrapped: packed as a weaver packs them (Ashenhurst's rule) and laid loosely as
    a knitter lays them, counts differ by about two, and the mass, going with their square, by about
    four. So wraps are kept as written and no mass is made of them.

    Raises YarnError for a density that no yarn has.
    """

    tex: float | None
    written: str

    def __post_init__(self) -> None:
        # Written so that NaN fails too.
        if self.tex is not None and not FINEST_TEX <= self.tex <= HEAVIEST_TEX:
            raise YarnError(
                f"The yarn count {self.written!r} does not lie between {FINEST_TEX:g} and "
                f"{HEAVIEST_TEX:,.0f} tex (grams a kilometre), as every yarn does",
                "read the label again.",
            )

    def tex_for_mass(self) -> float:
        """The tex; YarnError when the count gives no mass."""
        if self.tex is None:
            raise YarnError(
                f"{self.written!r} tells how thick the yarn looks, not how heavy it is, so wraps "
                "give no mass",
                "write the metres in 100 g from the label, like 400 m/100 g, or weigh ten metres.",
            )
        return self.tex


def parse_count(text: str) -> YarnCount:
    """Read a count: "2/28 Nm", "Ne 30", "20 tex x 2", "R 40 tex/2", "400 m/100 g", "12 wpi".

    In an indirect system x/y is a plied yarn, written either way round: the smaller number is the
    plies and the other the count of one ply, so that 2/28 Nm and 28/2 Nm are both 14 Nm. "x 2"
    means two of them together, in any system. "R" says that the number is the resultant, that of
    the whole plied yarn: spun silk is counted so, and 40/2 on its label is R 40 Ne. Upper and lower
    case are the same.

    Raises YarnError when the text is not written so or could mean two things.
    """
    written = " ".join(text.split())
    plain = written.casefold().replace("×", "x").replace("’", "'")
    if found := re.fullmatch(_WRAPS, plain):
        _value(found[1], written)
        return YarnCount(None, written)
    if found := re.fullmatch(_LENGTH_FOR_MASS, plain):
        length, length_unit, mass, mass_unit = found.groups()
        metres = _value(length, written, "[.,]") * MM["yd" if length_unit[0] == "y" else "m"] / 1000
        grams = _value(mass or "1", written) * _grams(mass_unit)
        return YarnCount(1000 * grams / metres, written)
    if found := re.fullmatch(_RESULTANT, plain):
        before, first, after = found.groups()
        second = ends = None
    elif found := re.fullmatch(_COUNT, plain):
        before, first, second, after, ends = found.groups()
    if found is None or (before is None) == (after is None):
        raise YarnError(
            f"{written[:40]!r} is not a yarn count",
            "write it like 2/28 Nm, Ne 30, 2/32 worsted, 70 tex, 210 denier or 400 m/100 g.",
        )
    system = _NAMES[before or after]
    together = 1 if ends is None else _plies(int(ends), written)
    single = _value(first, written)
    if system in _DIRECT:
        if second is not None:
            raise YarnError(
                f"The yarn count {written!r} could mean plies or filaments",
                f"write plies like 20 {system} x 2, or the whole yarn like R 40 {system}.",
            )
        return YarnCount(single * _DIRECT[system] * together, written)
    if second is not None:
        fewer, more = sorted((single, _value(second, written)))
        single, together = more, together * _plies(fewer, written)
    return YarnCount(_INDIRECT[system] / single * together, written)


def _plies(number: float, written: str) -> int:
    if number != int(number) or not 1 <= number <= MOST_PLIES:
        raise YarnError(
            f"The yarn count {written!r} has {number:g} plies",
            f"give a whole number of plies from 1 to {MOST_PLIES}, or the count of the whole yarn "
            "like R 14 Nm.",
        )
    return int(number)


def _value(number: str, written: str, could_mean_thousands: str = ",") -> float:
    if re.fullmatch(_AMBIGUOUS % could_mean_thousands, number):
        whole, part = re.sub("[.,]", "", number), float(number.replace(",", "."))
        raise YarnError(
            f"In {written!r}, {number} could be {whole} or {part:g}", "write the one or the other."
        )
    value = float(number.replace(",", "."))
    if value == 0:
        raise YarnError(f"The yarn count {written!r} has a zero in it", "read the label again.")
    return value


def _grams(unit: str) -> float:
    """The mass unit's grams: "grams", "ounce", "lbs" and the like by their beginnings."""
    name = "lb" if unit[0] in "lp" else "oz" if unit[0] == "o" else "kg" if unit[0] == "k" else "g"
    return GRAMS[name]
