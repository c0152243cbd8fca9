"""Numbers and needles as they are said aloud."""

import re
from functools import lru_cache

from caller.pattern.bed import Bed
from caller.settings import NumberStyle

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TO_NINETEEN = (
    *_DIGITS,
    *("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen"),
    *("eighteen", "nineteen"),
)
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_VALUES = {word: number for number, word in enumerate(_TO_NINETEEN)} | {
    word: 10 * tens for tens, word in enumerate(_TENS) if word
}
_MISHEARD = frozenset(range(13, 20))
"""13 is heard as 30 and 30 as 13, and so on to 19 and 90 (Pennsylvania Patient Safety Advisory,
June 2006). The digits stand after one of the two, and that settles the other: after thirty,
"three zero" is itself heard as 33."""


@lru_cache(maxsize=4096)
def number_words(number: int, style: NumberStyle = "words") -> str:
    """126 as "one hundred and twenty-six", or "one two six" digit by digit.

    In the style "checked" the digits follow the words of a number that ends like 13 to 19:
    "thirteen, one three". A number with tens, like thirty, has none.
    """
    if style == "digits":
        return digit_words(number)
    words = _cardinal(number)
    if style == "checked" and {number % 100, number // 1000 % 100} & _MISHEARD:
        return f"{words}, {digit_words(number)}"
    return words


def _cardinal(number: int) -> str:
    """A number below a million in British words, without commas: a comma is a pause, and pauses
    part numbers. A library for this loads the words of every language, for longer than all else.
    """
    if number < 20:
        return _TO_NINETEEN[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens] + (f"-{_DIGITS[ones]}" if ones else "")
    size, name = (1000, "thousand") if number >= 1000 else (100, "hundred")
    many, rest = divmod(number, size)
    joint = " and " if 0 < rest < 100 else " "
    return f"{_cardinal(many)} {name}" + (joint + _cardinal(rest) if rest else "")


def number_in(text: str) -> int | None:
    """The number below a million that is written in figures, or in words as they are said; None for
    any other text. Hyphens and "and" may be left out."""
    words = _only_words(text.casefold())
    if re.fullmatch("[0-9]{1,6}", words):
        return int(words)
    thousands = rest = 0
    for word in words.split():
        if word == "thousand":
            thousands, rest = rest, 0
        elif word == "hundred":
            rest *= 100
        elif word in _VALUES:
            rest += _VALUES[word]
        else:
            return None
    number = 1000 * thousands + rest
    return number if thousands < 1000 and _only_words(_cardinal(number)) == words else None


def _only_words(text: str) -> str:
    return " ".join(word for word in re.sub(r"\b-\b", " ", text).split() if word != "and")


def unchecked(style: NumberStyle) -> NumberStyle:
    """The style for numbers that no stitch hangs on, like counts and minutes."""
    return "words" if style == "checked" else style


def sound_alike(one: int, other: int) -> bool:
    """Whether one is a teen and the other its ten, as 13 and 30, or 113 and 130."""
    less, more = sorted((one, other))
    hundreds, teen = divmod(less, 100)
    return teen in _MISHEARD and more == hundreds * 100 + (teen - 10) * 10


def plural(count: int, one: str, many: str = "") -> str:
    """The word for so many: "end" or "ends"."""
    return one if count == 1 else many or f"{one}s"


def counted(count: int, one: str, many: str = "") -> str:
    """The same with its number in digits: "1 end", "3 ends"."""
    return f"{count} {plural(count, one, many)}"


def digit_words(number: int) -> str:
    """Every digit separately, but whole hundreds and thousands as such.

    So 126 is "one two six", 200 "two hundred" and 1200 "one thousand two hundred", as ICAO
    Annex 10, volume II, 5.2.1.4.1 has it for radio (second-hand).
    """
    thousands, hundreds = divmod(number // 100, 10)
    if number == 0 or number % 100:
        return _each(number)
    words = [f"{_each(thousands)} thousand"] if thousands else []
    words += [f"{_DIGITS[hundreds]} hundred"] if hundreds else []
    return " ".join(words)


def _each(number: int) -> str:
    return " ".join(_DIGITS[int(digit)] for digit in str(number))


def needle_words(bed: Bed, position: int, style: NumberStyle = "words") -> str:
    """The needle L20 as "left twenty", and 20 on a straight bed as "needle twenty".

    The word before the number keeps "to twenty" from being heard as "two twenty".
    """
    side, number = bed.side_and_number(position)
    return f"{side or 'needle'} {number_words(number, style)}"
