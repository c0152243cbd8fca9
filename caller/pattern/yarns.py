"""Yarns: what a yarn is called aloud and what colour it has."""

import re
from dataclasses import dataclass

from caller.checks import within
from caller.errors import YarnError
from caller.pattern.yarn_counts import YarnCount
from caller.plain_text import plain

_COLOUR = re.compile(r"#[0-9a-f]{6}")
_CALL_WORDS = {
    **dict.fromkeys(("left", "right", "needle"), "a needle"),
    **dict.fromkeys(("new", "bobbin", "waiting"), "an end"),
}
"""A call says these before a needle's number, or of an end, and what a name with one would be heard
as."""
_NUMBER_WORDS = frozenset(
    (
        *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"),
        *("eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
        *("eighteen", "nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy"),
        *("eighty", "ninety", "hundred", "thousand"),
    )
)
LONGEST_NAME = 40
"""Characters. A longer name takes more than three seconds to say, in every run of every row."""


@dataclass(frozen=True)
class Yarn:
    """A yarn: its spoken name and its colour as "#rrggbb" (sRGB).

    Its count and the grams in a ball may be known too; they give its weight and the balls to buy.
    The name is kept as plain text. Raises YarnError when it has nothing to say, is too long or
    would be heard as a needle, when the colour is not written so, or when a ball weighs nothing.
    """

    name: str
    colour: str
    count: YarnCount | None = None
    ball_g: float | None = None

    def __post_init__(self) -> None:
        name = plain(self.name)
        if not any(character.isalnum() for character in name):
            raise YarnError(
                f"The yarn name {self.name!r} has no letter to say aloud", "use a short word."
            )
        if len(name) > LONGEST_NAME:
            raise YarnError(
                f"The yarn name {name[:20]!r}... has {len(name)} characters",
                f"a name called in every row may have at most {LONGEST_NAME}.",
            )
        if called := _CALL_WORDS.keys() & set(_words(name)):
            word = min(called)
            raise YarnError(
                f"The yarn name {name!r} has the word {word!r} in it, which would be heard as "
                f"{_CALL_WORDS[word]}",
                "choose another name.",
            )
        colour = self.colour.lower()
        if not _COLOUR.fullmatch(colour):
            raise YarnError(
                f'The colour {self.colour!r} of the yarn {name!r} is not written like "#1b2a4a".',
                "Correct it.",
            )
        if self.ball_g is not None:
            within(YarnError, f"A ball of {name}", self.ball_g, 0.1, 1_000_000, "g")
        object.__setattr__(self, "name", name)
        object.__setattr__(self, "colour", colour)

    @property
    def has_number(self) -> bool:
        """Whether a word of the name is a number, easily heard as a needle's."""
        return any(map(_is_number, _words(self.name)))

    @property
    def ends_in_number(self) -> bool:
        """Whether the name's last word is a number, which a "to" after it would be heard into."""
        return _is_number(_words(self.name)[-1])

    @property
    def rgb(self) -> tuple[int, int, int]:
        """The colour as red, green, blue, each 0 to 255."""
        return (
            int(self.colour[1:3], 16),
            int(self.colour[3:5], 16),
            int(self.colour[5:7], 16),
        )


def _words(name: str) -> list[str]:
    return re.findall(r"\w+", name.casefold())


def _is_number(word: str) -> bool:
    return word in _NUMBER_WORDS or any(letter.isdecimal() for letter in word)


def colour_text(red: int, green: int, blue: int) -> str:
    """A colour as "#rrggbb"; each part 0 to 255."""
    return f"#{red:02x}{green:02x}{blue:02x}"
