"""An independent reading of a call: from what is said, clause by clause, back to the needles.

Written from the wordings as the README gives them; it shares nothing with the code. Needles are
counted from the leftmost of the bed, 0, and `half` of them lie to the left of the centre.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

_ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen " + (
    "fifteen sixteen seventeen eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_VALUES = {word: value for value, word in enumerate(_ONES.split())} | {
    word: 10 * value for value, word in enumerate(_TENS.split(), start=2)
}
_WORD = rf"(?:{'|'.join(sorted([*_VALUES, 'hundred', 'thousand', 'and'], key=len, reverse=True))})"
_NUMBER = rf"{_WORD}(?:(?:, | |-){_WORD})*\b"
_NEEDLE = rf"(?:left|right|needle) {_NUMBER}"
_EVENT = rf"(?P<event>, new supply, tail to the (?:left|right)|, carried from {_NEEDLE})?"

_HEAD = re.compile(rf"Row (?P<row>{_NUMBER}), to the (?P<way>left|right)\.")
_SHORT = re.compile(rf"(?P<yarn>.+?), to (?P<last>{_NEEDLE}){_EVENT}\.")
_FULL = re.compile(
    rf"(?P<yarn>.+?), from (?P<first>{_NEEDLE}), to (?P<last>{_NEEDLE}), "
    rf"over (?P<count>{_NUMBER}) stitch(?:es)?{_EVENT}\."
)
_TAKES = re.compile(
    rf"(?P<yarn>.+?) takes (?P<first>{_NEEDLE})(?:, to (?P<last>{_NEEDLE}))?{_EVENT}\."
)
_AT = re.compile(rf"(?P<yarn>.+?) at (?P<first>{_NEEDLE}){_EVENT}\.")
_STRETCH = re.compile(
    rf"(?P<count>{_NUMBER}) plain rows, (?P<yarn>.+), to row (?P<row>{_NUMBER})\."
)
_PLAIN = re.compile(rf"Plain .+, (?P<nth>{_NUMBER}) of (?P<count>{_NUMBER})\.")
_ASIDE = re.compile(r"(After the pass, cut|From yarn|Cross at|Remember:|Check:|End of row\.).*")


@dataclass(frozen=True)
class Work:
    """What the listener knows beforehand: the yarns, and where the work lies."""

    yarns: Sequence[str]
    first: int
    last: int
    half: int | None  # None on a straight bed


@dataclass(frozen=True)
class Heard:
    """A row as it was understood: the yarn of each needle from left to right."""

    row: int
    way: str
    yarns: tuple[str, ...]


def value(words: str) -> int:
    """The number that was said, in any of the three styles."""
    texts = words.split(", ")
    numbers = {_value(text) for text in texts}
    assert len(numbers) == 1, f"{words!r} says two numbers"
    return numbers.pop()


def _value(words: str) -> int:
    total, group = 0, []
    for token in re.split("[ -]", words):
        if token in ("hundred", "thousand"):
            total, group = total + _group(group) * (100 if token == "hundred" else 1000), []
        elif token != "and":
            group.append(_VALUES[token])
    return total + _group(group)


def _group(values: Sequence[int]) -> int:
    """Digits one by one as a number, anything else added up: one three; twenty-one."""
    if len(values) > 1 and all(value < 10 for value in values):
        return int("".join(map(str, values)))
    return sum(values)


def needle(words: str, work: Work) -> int:
    side, _, number = words.partition(" ")
    count = value(number)
    if side == "needle":
        assert work.half is None
        return count - 1
    assert work.half is not None
    return work.half - count if side == "left" else work.half + count - 1


def understood(clauses: Sequence[str], work: Work, before: Heard | None) -> Heard:
    """The row that these clauses call, after the row `before`."""
    told = [clause for clause in clauses if not _ASIDE.fullmatch(clause)]
    head = _HEAD.fullmatch(told[0])
    if head is None:
        return _counted(told, before)
    row, way = value(head["row"]), head["way"]
    assert before is None or row == before.row + 1
    rest = told[1:]
    if stretch := _STRETCH.fullmatch(rest[0][:1].lower() + rest[0][1:]):
        assert value(stretch["row"]) - row + 1 == value(stretch["count"])
        every = (_name(stretch["yarn"], work),) * (work.last - work.first + 1)
        return Heard(row, way, every)
    if rest[0] == "As the last row." or any(" takes " in clause for clause in rest):
        assert before is not None
        return Heard(row, way, _changed(rest, work, before, way))
    return Heard(row, way, _laid(rest, work, way))


def _name(name: str, work: Work) -> str:
    assert name in work.yarns, f"{name!r} is no yarn"
    return name


def _counted(told: Sequence[str], before: Heard | None) -> Heard:
    found = _PLAIN.fullmatch(told[0])
    assert found, told
    assert before is not None
    assert value(found["nth"]) <= value(found["count"])
    return Heard(before.row + 1, "left" if before.way == "right" else "right", before.yarns)


def _laid(clauses: Sequence[str], work: Work, way: str) -> tuple[str, ...]:
    """Runs laid one beside the other in the carriage's direction."""
    step = 1 if way == "right" else -1
    at = work.first if way == "right" else work.last
    laid: dict[int, str] = {}
    for clause in clauses:
        found = _FULL.fullmatch(clause) or _SHORT.fullmatch(clause)
        assert found, clause
        parts = found.groupdict()
        assert parts.get("first") is None or needle(parts["first"], work) == at
        last = needle(parts["last"], work)
        assert (last - at) * step >= 0, "a run of no needles"
        assert parts.get("count") is None or value(parts["count"]) == abs(last - at) + 1
        while at != last + step:
            laid[at] = _name(parts["yarn"], work)
            at += step
    assert sorted(laid) == list(range(work.first, work.last + 1)), "the work is covered"
    return tuple(laid[place] for place in sorted(laid))


def _changed(clauses: Sequence[str], work: Work, before: Heard, way: str) -> tuple[str, ...]:
    """The row before, with the needles that other yarns take."""
    laid = list(before.yarns)
    step = 1 if way == "right" else -1
    for clause in clauses:
        if clause == "As the last row." or _AT.fullmatch(clause):
            continue
        found = _TAKES.fullmatch(clause)
        assert found, clause
        first = needle(found["first"], work)
        last = needle(found["last"] or found["first"], work)
        for place in range(first, last + step, step):
            assert laid[place - work.first] != found["yarn"], "it had that yarn already"
            laid[place - work.first] = _name(found["yarn"], work)
    return tuple(laid)
