"""The sentences with a number, spoken and typed, from the one table of commands.

A recogniser that hears sentences is given all of them, as a finite list, and answers with the
`words` of one, so that it can only hear a row that the pattern has and a needle that the bed has.
A typed one may have any number; what is wrong with that is told by the answer.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache

from caller.calling.commands import BY_NEEDLE, BY_NUMBER, WAYS, Command, Way
from caller.calling.words.numbers import number_in, number_words
from caller.pattern.bed import Bed


@dataclass(frozen=True)
class Sentence:
    """One sentence and what it orders.

    `wordings` are all the ways to say it, lower case, the first of which names it; `written` are
    these and the same with figures, as a recogniser may write them. `number` is the number as it
    is typed: "42", or "L20" for a needle.
    """

    command: Command
    number: str
    wordings: tuple[str, ...]
    written: tuple[str, ...]

    @property
    def words(self) -> str:
        return self.wordings[0]


Grammar = Mapping[str, Sentence]
"""The sentences by their words."""

Sentences = Callable[[], Grammar]
"""Gives the sentences when they are needed: for many rows that takes a moment."""


def no_sentences() -> Grammar:
    """For who hears none."""
    return {}


@cache
def grammar(rows: int, bed: Bed) -> Grammar:
    """Every sentence for a pattern of so many rows on this bed."""
    found = (
        _sentence(way.command, way.sentences, number, slots)
        for way in WAYS
        if way.sentences
        for number, slots in _numbers(way.command, rows, bed)
    )
    return {sentence.words: sentence for sentence in found}


def _sentence(
    command: Command, templates: tuple[str, ...], number: str, slots: Mapping[str, list[str]]
) -> Sentence:
    """`slots` are the ways to fill each slot, those with figures last."""
    filled = [
        template.format(**{slot: text})
        for template in templates
        for slot, texts in slots.items()
        if f"{{{slot}}}" in template
        for text in texts
    ]
    spoken = tuple(text for text in filled if not any(map(str.isdigit, text)))
    return Sentence(command, number, spoken, tuple(filled))


def _numbers(
    command: Command, rows: int, bed: Bed
) -> Iterator[tuple[str, Mapping[str, list[str]]]]:
    if command in BY_NEEDLE:
        for position in range(bed.needles):
            side, number = bed.side_and_number(position)
            needle = [f"{side or 'needle'} {text}" for text in _texts(number)]
            yield bed.label(position), {"needle": needle, "side": needle if side else []}
    elif command is Command.UNRAVEL:
        for count in range(1, rows):
            noun = "row" if count == 1 else "rows"
            yield str(count), {"rows": [f"{text} {noun}" for text in _texts(count)]}
    else:
        for row in range(1, rows + 1):
            yield str(row), {"row": _texts(row)}


def _texts(number: int) -> list[str]:
    """A number as it may be said, and in figures: "two hundred and one", "201" and so on."""
    words = number_words(number)
    return [*dict.fromkeys((words, words.replace(" and ", " "))), str(number)]


def example(way: Way, bed: Bed) -> str | None:
    """A sentence that gives this command; None where it is given without a number."""
    if not way.sentences:
        return None
    needle = "left twenty" if bed.numbering == "centre" else "needle twenty"
    slots = {"row": "twelve", "rows": "three rows", "needle": needle}
    if bed.numbering == "centre":
        slots["side"] = needle
    fitting = (one for one in way.sentences if any(f"{{{slot}}}" in one for slot in slots))
    return next(fitting).format(**slots)


def typed_sentence(text: str, bed: Bed) -> tuple[Command, str] | None:
    """The command and the number of a sentence that could be spoken; None where it is none."""
    words = " ".join(text.casefold().strip().rstrip(" .?!").split())
    for way in WAYS:
        for template in way.sentences:
            before, slot = template.rstrip("}").split("{")
            noun = " rows?" if slot == "rows" else ""
            given = re.fullmatch(f"{before}(.+){noun}", words)
            if given and (number := typed_number(way.command, given[1], bed)):
                return way.command, number
    return None


def typed_number(command: Command, text: str, bed: Bed) -> str | None:
    """What a command is given with, typed in words or in figures, a needle also by its label, as
    `Sentence` has it; None for any other text."""
    if command not in BY_NUMBER:
        return None
    text = " ".join(text.casefold().split())
    side = ""
    if command in BY_NEEDLE:
        sides = "left|right|l|r" if bed.numbering == "centre" else "needle|"
        found = re.fullmatch(rf"({sides})[ ]?(.+)", text)
        if found is None:
            return None
        side, text = found[1][:1].upper() if bed.numbering == "centre" else "", found[2]
    number = number_in(text)
    return None if number is None else f"{side}{number}"


@cache
def beginnings() -> tuple[str, ...]:
    """How each sentence begins, as far as the first word of its number, on any bed.

    The caller itself must not say these in one breath.
    """
    first = tuple(dict.fromkeys(number_words(number).split("-")[0] for number in range(100)))
    after = {"needle": ("left", "right", "needle"), "side": ("left", "right")}
    return tuple(
        f"{before}{word}"
        for way in WAYS
        for before, slot in (one.rstrip("}").split("{") for one in way.sentences)
        for word in after.get(slot, first)
    )
