"""What is said, as data: an utterance is a tuple of clauses, each one thing said in one breath."""

import math
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from caller.calling.commands import PHRASES
from caller.calling.words.numbers import needle_words, number_words, unchecked
from caller.pattern.bed import Bed
from caller.plain_text import capitalised
from caller.settings import NumberStyle

RUN_PAUSE_S = 0.15
"""Silence after a clause, so that two needle numbers never run together."""
APART_S = 0.45
"""Silence that parts two words for the recognisers: a word ends after 0.29 s of quiet."""

_WORD = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")


@dataclass(frozen=True)
class Clause:
    """One breath: what is said, what the screen shows, and the silence after it in seconds.

    `pan` is where it should be heard, -1 the left edge of the work to 1 the right one.
    """

    said: str
    shown: str
    pause_s: float = 0.0
    pan: float = 0.0


Utterance = tuple[Clause, ...]


@dataclass(frozen=True)
class Needle:
    """A needle in a sentence: said as "left twenty", shown as "L20"."""

    bed: Bed
    position: int


@dataclass(frozen=True)
class Exact:
    """A number that must not be misheard, like a row's; other numbers are counts and totals."""

    number: int


@dataclass(frozen=True)
class Length:
    """A length of yarn in metres, as people tell it: to half a metre, below one to ten centimetres.

    What is needed is rounded `up`, what is left down, so that nobody trusts in yarn that is not
    there.
    """

    metres: float
    up: bool = False

    @property
    def halves(self) -> int:
        """Whole half metres; 0 below one metre."""
        return self._whole(2 * self.metres) if self.metres >= 1 else 0

    @property
    def centimetres(self) -> int:
        return max(10, 10 * self._whole(10 * self.metres))

    def _whole(self, value: float) -> int:
        return math.ceil(value - 1e-9) if self.up else math.floor(value + 1e-9)


Part = int | str | Exact | Needle | Length


def clause(
    said: str,
    style: NumberStyle = "words",
    pause_s: float = 0.0,
    shown: str | None = None,
    /,
    **parts: Part,
) -> Clause:
    """A clause from a text with {parts}; `shown` is the screen's, where it is another text.

    Numbers and needles become words in what is said, figures and labels in what is shown. In the
    style "checked" only needles and exact numbers are checked.
    """
    spoken = {name: _spoken(part, style) for name, part in parts.items()}
    return Clause(said.format(**spoken), written(said if shown is None else shown, parts), pause_s)


def written(text: str, parts: Mapping[str, Part]) -> str:
    """A text with {parts} as the screen shows it."""
    return text.format(**{name: _written(part) for name, part in parts.items()})


def _spoken(part: Part, style: NumberStyle) -> str:
    match part:
        case Needle():
            return needle_words(part.bed, part.position, style)
        case Exact():
            return number_words(part.number, style)
        case int():
            return number_words(part, unchecked(style))
        case Length():
            return _length_words(part, unchecked(style))
        case _:
            return part


def _written(part: Part) -> str:
    match part:
        case Needle():
            return part.bed.label(part.position)
        case Exact():
            return str(part.number)
        case Length():
            return f"{part.halves / 2:g} m" if part.halves else f"{part.centimetres} cm"
        case _:
            return str(part)


def _length_words(length: Length, style: NumberStyle) -> str:
    if not length.halves:
        return f"{number_words(length.centimetres, style)} centimetres"
    metres, half = divmod(length.halves, 2)
    return (
        number_words(metres, style)
        + (" and a half" if half else "")
        + (" metre" if length.halves == 2 else " metres")
    )


def capital(clause: Clause) -> Clause:
    """The clause with a capital letter at the beginning of what is said."""
    return replace(clause, said=capitalised(clause.said))


def ended(clauses: Utterance) -> Iterator[Clause]:
    """The clauses as shown on one line: a semicolon after each but the last."""
    for index, one in enumerate(clauses):
        yield replace(one, shown=one.shown + (";" if index < len(clauses) - 1 else "."))


def sentence(text: str, pause_s: float = 0.0) -> Utterance:
    """An utterance of one plain sentence, said as it is shown."""
    return (Clause(text, text, pause_s),)


def shown(utterance: Utterance) -> str:
    """The utterance as one line for the screen."""
    return " ".join(clause.shown for clause in utterance if clause.shown)


def said(utterance: Utterance) -> str:
    """Every word of the utterance, in order."""
    return " ".join(clause.said for clause in utterance if clause.said)


def kept_apart(utterance: Utterance, phrases: Collection[str] = PHRASES) -> Utterance:
    """The same words with a silence inside every command phrase that they would form.

    So that the caller never sets itself off, whatever yarns, reminders and titles are called.
    """
    listened_for = {tuple(phrase.split()) for phrase in phrases}
    lengths = {len(phrase) for phrase in listened_for}
    longest = max(lengths, default=1)
    parted: list[Clause] = []
    breath: tuple[str, ...] = ()  # the last words since a silence
    for clause in utterance:
        begin = 0
        for word in _WORD.finditer(clause.said):
            breath = (*breath, word[0].casefold().replace("’", "'"))[-longest:]
            if any(breath[-length:] in listened_for for length in lengths):
                head = clause.said[begin : word.start()].rstrip()
                if head:
                    parted.append(replace(clause, said=head, shown="", pause_s=APART_S))
                elif parted:
                    parted[-1] = replace(parted[-1], pause_s=max(parted[-1].pause_s, APART_S))
                begin, breath = word.start(), breath[-1:]
        parted.append(replace(clause, said=clause.said[begin:]))
        if clause.pause_s >= APART_S:
            breath = ()
    return tuple(parted)
