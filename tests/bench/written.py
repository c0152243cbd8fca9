"""What a written call says: names, needles and the words that matter, however they are spelt.

A reader for what a recogniser without a grammar writes down. It knows the names of the yarns, as a
knitter does, and nothing of the answer. It shares nothing with the code that words the calls.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import dropwhile

_ONES = "zero one two three four five six seven eight nine".split()  # noqa: SIM905
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_TEENS_SAID = tuple(map(str, range(13, 20)))
_VALUES = {
    **{word: value for value, word in enumerate((*_ONES, *_TEENS))},
    **{word: 20 + 10 * index for index, word in enumerate(_TENS)},
    **{"oh": 0, "fourty": 40},
}
# Sounds like the word, so whoever listens takes it for the word; the place says which is meant.
_SIDES = {"left": "L", "right": "R", "write": "R", "wright": "R"}
_ROWS = ("row", "roe", "rowe", "rho")
# "thirty-nine" is written "3rd 9", and "fourteen" "4-ing", by a recogniser that knows the spelling
# of ordinals better than that of needles: read aloud, both are the number.
_ORDINALS = {
    "3rd": "thirty",
    "third": "thirty",
    "5th": "fifty",
    "6th": "sixty",
    "7th": "seventy",
    "8th": "eighty",
}
_ING = {3: 13, 4: 14, 5: 15, 6: 16, 7: 17, 8: 18, 9: 19}
_NUMBER_LIKE = {"to": 2, "too": 2, "for": 4, "fore": 4, "ate": 8, "won": 1, "tree": 3, "sex": 6} | {
    "i": 1,
    "ii": 2,
    "iii": 3,
    "iv": 4,
}
_SPELT = {
    **{"gray": "grey", "read": "red", "blew": "blue", "pail": "pale", "kaki": "khaki"},
    **{"plumb": "plum", "knew": "new", "onely": "only", "choral": "coral", "sammon": "salmon"},
    **{"edges": "edge", "increased": "increase", "increases": "increase", "casts": "cast"},
    **{"decreased": "decrease", "decreases": "decrease", "binds": "bind", "binned": "bind"},
}
_AND = ("and", "in")
"""What joins "one hundred" to "six": 106 is also written "100 and 6" and "100 in 6"."""
_SHAPED = (("increase",), ("decrease",), ("cast", "on"), ("bind", "off"))
"""What is done at an edge; a number follows."""
_MATTERS = {
    *("new", "waiting", "cut", "only", "bobbin", "takes", "under", "same", "all"),
    *("needle", "hang", "each", "edge"),
}
_BOBBIN = re.compile(r"\bbob(?:bing|bien|in| and| in| an)\b")
_ROW_NUMBER = re.compile(r"\b(?:oh|0|(?:f?or )?all) number\b")
"""Sounds like "row number", of which whisper loses the first sound where a clip begins with it."""
_CUT_TWO = re.compile(r"\bcut too? ends\b")
_ORDINAL_NINE = re.compile(
    r"\b([35678](?:rd|th)|third) (?=(?:[1-9]|one|two|three|four|five|six|seven|eight|nine)\b)"
)
_FOUR_ING = re.compile(r"\b([3-9]) ?(?:ing\b|in\b(?= 1))")
_WORD = re.compile(r"[a-z]+|[0-9]+|,")


@dataclass(frozen=True)
class Fact:
    """One thing that was said: `kind` is "needle", "side", "number", "yarn" or "word".

    A needle is "L27"; a number that cannot be read is "?". The row's number stands by itself, for
    nobody who hears "roll twelve, going left" takes it for anything else.
    """

    kind: str
    what: str


def facts(text: str, yarns: Sequence[str]) -> list[Fact]:
    """All that matters in a text, in order."""
    plain = _BOBBIN.sub("bobbin", text.casefold().replace("-", " "))
    plain = _ROW_NUMBER.sub("row number", plain)
    plain = _ORDINAL_NINE.sub(lambda found: f"{_ORDINALS.get(found[1], found[1])} ", plain)
    plain = _FOUR_ING.sub(lambda found: str(_ING[int(found[1])]), plain)
    plain = _CUT_TWO.sub("cut two ends", plain)
    words = [_SPELT.get(word, word) for word in _WORD.findall(plain)]
    found: list[Fact] = []
    names = sorted((name.casefold().split() for name in yarns), key=len, reverse=True)
    at = 0
    while at < len(words):
        word = words[at]
        if word in _SIDES or word in _ROWS or word == "bobbin" or word in ("needle", "needles"):
            number, after = _number(words, at + 1, slot=True)
            side = _SIDES.get(word)
            if side:
                number, after = _settled(words, at + 1) or (number, after)
            if number is None:
                found += [Fact("side", side)] if side else _word(word)
            elif side:
                found.append(Fact("needle", f"{side}{number}"))
            else:
                found += [*_word(word), Fact("number", number)]
            at = after
            continue
        shaped = next((one for one in _SHAPED if tuple(words[at : at + len(one)]) == one), None)
        if shaped:
            number, at = _number(words, at + len(shaped), slot=True)
            found.append(Fact("word", " ".join(shaped)))
            found += [Fact("number", number)] if number else []
            continue
        name = next((name for name in names if _begins(words[at:], name)), None)
        if name is not None:
            found.append(Fact("yarn", " ".join(name)))
            at += _length(words[at:], name)
            continue
        number, after = _number(words, at, slot=False)
        if number is not None:
            found.append(Fact("number", number))
            at = after
            continue
        found += _word(word)
        at += 1
    return found


def _word(word: str) -> list[Fact]:
    return [Fact("word", word)] if word in _MATTERS else []


def _begins(words: Sequence[str], name: Sequence[str]) -> bool:
    return _length(words, name) > 0


def _length(words: Sequence[str], name: Sequence[str]) -> int:
    """How many words the name takes here, also where it is written in one; 0 where it is not."""
    if list(words[: len(name)]) == list(name):
        return len(name)
    return 1 if words and words[0] == "".join(name) else 0


def _number(words: Sequence[str], at: int, slot: bool) -> tuple[str | None, int]:
    """The number that begins here, and where what follows begins; None where there is none.

    In a `slot`, right behind "left", "right", "row" or "bobbin", words that sound like a number
    are one. A comma parts "thirty" from "three".
    """
    values: list[int] = []
    parted = False
    while at < len(words):
        word = words[at]
        if word == ",":
            parted, at = True, at + 1
            continue
        value = int(word) if word.isdecimal() and len(word) < 7 else _VALUES.get(word)
        if value is None and slot and not values:
            value = _NUMBER_LIKE.get(word)
        if value is None and word == "hundred" and values and values[-1] < 10:
            values[-1] *= 100
        elif value is None:
            joins = word in _AND and values and values[-1]
            if not (joins and (values[-1] % 100 == 0 or words[at + 1 :][:1] == [str(values[-1])])):
                break
        elif not parted and _continues(values, value, word):
            values[-1] += value
        else:
            values.append(value)
        parted, at = False, at + 1
    return (_read(values), at) if values else (None, at)


def _settled(words: Sequence[str], at: int) -> tuple[str, int] | None:
    """The teen that digits settle, and what place is next: "right foring, 1-4", "right 4 d 14".

    Before the digits stands one word that is no number, or the teen's last digit and at most one
    such word. In a call nothing but "over" and a count follows a needle so.
    """
    places = [place for place in range(at, min(at + 7, len(words))) if words[place] != ","]
    said = [str(_VALUES.get(words[place], words[place])) for place in places]
    for before in (1, 2):
        digits = 2 if said[before : before + 1] == ["1"] else 1
        teen = "".join(said[before : before + digits])
        heard = [word for word in said[:before] if word.isdecimal()]
        settles = heard == [teen[-1:]] or (not heard and before == 1)
        if teen in _TEENS_SAID and settles and "over" not in said[:before]:
            return teen, places[before + digits - 1] + 1
    return None


def _continues(values: Sequence[int], value: int, word: str) -> bool:
    """Whether "twenty" goes on with "seven", and "one hundred" with either."""
    if not values or word.isdecimal():
        return False
    last, tens = values[-1], values[-1] % 100
    if last >= 100 and tens == 0:
        return 0 < value < 100
    return tens >= 20 and tens % 10 == 0 and 0 < value < 10


def _read(values: Sequence[int]) -> str:
    """One number of what is written for one: 13, "13 1 3", "1 3" and "1313" alike; or "?".

    Whole hundreds go on with what is below a hundred: "100 6" is 106, as it sounds. The digits
    after a number settle it, as they do for a knitter: "40 1 4" is 14. They stand after teens only,
    so nothing else is read so. Where only the first of them is heard ("18, 1A"), they agree.
    """
    written = [str(value) for value in values]
    first, rest = _once(written[0]), _once("".join(written[1:]))
    if not rest:
        return first
    if all(len(digit) == 1 for digit in written):
        return first + rest
    if set(written) == {first} or first == rest:
        return first
    if first[-2:] in _TEENS_SAID and first.startswith(rest):
        return first
    if values[0] % 100 == 0 and 0 < values[1] < 100:
        return _read([values[0] + values[1], *values[2:]])
    if rest[-2:-1] == "1" and _twin(first, rest):
        return rest
    if len(written) == 2 and values[0] in range(20, 100, 10) and 0 < values[1] < 10:
        return str(sum(values))
    return "?"


def _once(written: str) -> str:
    """A number that is written twice or three times in one: "1313", "181818"."""
    for times in (2, 3):
        one = written[: len(written) // times]
        if len(one) > 1 and one * times == written:
            return one
    return written


def _twin(heard: str, digits: str) -> bool:
    """Whether a number that was heard is the one with tens that sounds like these digits: 140, and
    "1 1 4"."""
    value = int(digits)
    return int(heard) == value - value % 100 + 10 * (value % 10) and value % 10 > 2


@dataclass
class Tally:
    """What was said, and how much of it was heard."""

    rows: int = 0
    rows_right: int = 0
    rows_right_but_number: int = 0
    """Rows of which all was heard that the hands do; the row's own number is no matter."""
    needles: int = 0
    needles_right: int = 0
    sides_swapped: int = 0
    yarns: int = 0
    yarns_right: int = 0

    def add(self, said: Sequence[Fact], heard: Sequence[Fact]) -> list[str]:
        """Count one row; the mistakes, as "said > heard"."""
        self.rows += 1
        self.rows_right += list(said) == list(heard)
        self.rows_right_but_number += _unnumbered(said) == _unnumbered(heard)
        self.needles += _count(said, "needle")
        self.yarns += _count(said, "yarn")
        wrong: list[str] = []
        for kind, (i, j), (k, m) in _aligned(said, heard):
            if kind == "equal":
                self.needles_right += _count(said[i:j], "needle")
                self.yarns_right += _count(said[i:j], "yarn")
                continue
            wrong.append(
                " > ".join(" ".join(f.what for f in part) for part in (said[i:j], heard[k:m]))
            )
            for one, other in zip(_needles(said[i:j]), _needles(heard[k:m]), strict=False):
                self.sides_swapped += one[0] != other[0]
        return wrong


def _unnumbered(row: Sequence[Fact]) -> list[Fact]:
    """What a row says behind its own number."""
    return list(dropwhile(lambda fact: fact.kind == "number", row))


def _aligned(
    said: Sequence[Fact], heard: Sequence[Fact]
) -> Iterator[tuple[str, tuple[int, int], tuple[int, int]]]:
    matcher = SequenceMatcher(None, list(said), list(heard), autojunk=False)
    for kind, i, j, k, m in matcher.get_opcodes():
        yield kind, (i, j), (k, m)


def _needles(part: Sequence[Fact]) -> list[str]:
    return [fact.what for fact in part if fact.kind == "needle"]


def _count(part: Sequence[Fact], kind: str) -> int:
    return sum(fact.kind == kind for fact in part)
