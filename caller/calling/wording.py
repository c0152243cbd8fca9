"""What is said: every sentence of a session, as data.

An utterance is a tuple of clauses; a clause is one thing said in one breath. Nothing here may
contain a phrase of the command table, because the caller must not set itself off.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from caller.calling.commands import WAYS
from caller.pattern.bed import Bed
from caller.pattern.pattern import Pattern
from caller.pattern.rows import Direction, Row

RUN_PAUSE_S = 0.15
"""Silence after each yarn, so that two needle numbers never run together."""


@dataclass(frozen=True)
class Clause:
    """One breath: what is said, what the screen shows, and the silence after it in seconds."""

    said: str
    shown: str
    pause_s: float = 0.0


Utterance = tuple[Clause, ...]


def shown(utterance: Utterance) -> str:
    """The utterance as one line for the screen."""
    return " ".join(clause.shown for clause in utterance if clause.shown)


def said(utterance: Utterance) -> str:
    """Every word of the utterance, in order."""
    return " ".join(clause.said for clause in utterance if clause.said)


def sentence(text: str, pause_s: float = 0.0) -> Utterance:
    """An utterance of one plain sentence, said as it is shown."""
    return (Clause(text, text, pause_s),)


def number_words(number: int) -> str:
    """131 as "one hundred and thirty-one"."""
    from num2words import num2words  # loads every language's tables

    return str(num2words(number))


def needle_words(bed: Bed, position: int) -> str:
    """The needle L20 as "left twenty", and 20 on a straight bed as "needle twenty".

    The word before the number keeps "to twenty" from being heard as "two twenty".
    """
    side, number = bed.side_and_number(position)
    return f"{side or 'needle'} {number_words(number)}"


def way(direction: Direction) -> str:
    return f"to the {direction}"


def row_call(pattern: Pattern, row: Row) -> Utterance:
    """A row: its number, the carriage's direction, then each yarn and the last needle of its run.

    The runs come in knitting order. With the needle that the row before ended on, the last needles
    alone settle every run: each begins beside the end of the one before it.
    """
    bed = pattern.bed
    clauses = [
        Clause(
            f"Row {number_words(row.number)}, {way(row.direction)}.",
            f"Row {row.number}, {way(row.direction)}:",
            RUN_PAUSE_S,
        )
    ]
    last = len(row.runs) - 1
    for index, run in enumerate(row.runs):
        name = pattern.yarns[run.yarn].name
        clauses.append(
            Clause(
                f"{name}, to {needle_words(bed, run.last)}.",
                f"{name} to {bed.label(run.last)}" + ("." if index == last else ";"),
                RUN_PAUSE_S,
            )
        )
    clauses.extend(
        Clause(f"Remember: {reminder}.", f"Remember: {reminder}.", RUN_PAUSE_S)
        for reminder in pattern.reminders_at(row.number)
    )
    return tuple(clauses)


def opening(pattern: Pattern) -> Utterance:
    """Said when a pattern is started: its size and where it lies."""
    script, bed = pattern.script, pattern.bed
    width, rows = pattern.chart.stitches, script.rows
    first, last = script.first_needle, script.last_needle
    return (
        Clause(f"{pattern.title}.", f"{pattern.title}.", RUN_PAUSE_S),
        Clause(
            f"{number_words(width)} stitches, {needle_words(bed, first)} "
            f"to {needle_words(bed, last)}.",
            f"{width} stitches, {bed.label(first)} to {bed.label(last)};",
            RUN_PAUSE_S,
        ),
        Clause(f"{number_words(rows)} rows.", f"{rows} rows.", 2 * RUN_PAUSE_S),
    )


def carrying_on(row: int, rows: int) -> Utterance:
    """Said when an earlier session is resumed."""
    return (
        Clause(
            f"Carrying on at row {number_words(row)} of {number_words(rows)}.",
            f"Carrying on at row {row} of {rows}.",
            2 * RUN_PAUSE_S,
        ),
    )


def whereabouts(row: Row, rows: int) -> Utterance:
    """The answer to the question for the place."""
    return (
        Clause(
            f"This is row {number_words(row.number)} of {number_words(rows)}, "
            f"{way(row.direction)}.",
            f"This is row {row.number} of {rows}, {way(row.direction)}.",
        ),
    )


def first_row() -> Utterance:
    return sentence("This is the first row; there is none before it.", 2 * RUN_PAUSE_S)


def finished(rows: int) -> Utterance:
    """Said after the last row."""
    return (
        Clause(
            f"The picture is finished. All {number_words(rows)} rows are knitted.",
            f"The picture is finished. All {rows} rows are knitted.",
        ),
    )


def leaving(row: int, rows: int) -> Utterance:
    """Said when the knitter stops for today."""
    if row > rows:
        return finished(rows) + sentence("Goodbye.")
    return (
        Clause(
            f"Stopping at row {number_words(row)}. Your place is kept.",
            f"Stopping at row {row} of {rows}. Your place is kept.",
        ),
    )


def not_understood() -> Utterance:
    return sentence("That was not understood. For help, press the question mark.")


def help_text() -> Utterance:
    """What can be pressed and said.

    Spoken phrases are named word by word with a pause between, so that no command phrase sounds
    from the loudspeaker.
    """
    clauses: list[Clause] = []
    for entry in WAYS:
        keys = " or ".join(_KEY_WORDS.get(key, key) for key in _told(entry.keys))
        text = f"To {entry.does}, press {keys}"
        if not entry.phrases:
            clauses.append(Clause(f"{text}.", f"{text}.", RUN_PAUSE_S))
            continue
        clauses.append(Clause(f"{text}, or say the words:", f"{text}, or say", 0.0))
        for number, phrase in enumerate(entry.phrases):
            words = phrase.split()
            ending = "." if number == len(entry.phrases) - 1 else " or"
            for index, word in enumerate(words):
                shown_word = f'"{phrase}"{ending}' if index == len(words) - 1 else ""
                clauses.append(Clause(f"{word}.", shown_word, 0.45))
    return tuple(clauses)


_KEY_WORDS = {
    "?": "the question mark",
    "pagedown": "page down",
    "pageup": "page up",
    "left": "the left arrow",
    "right": "the right arrow",
    "up": "the up arrow",
    "space": "the space bar",
}


def _told(keys: Sequence[str]) -> Sequence[str]:
    """The keys worth telling: the first two; the others are for pedals."""
    return keys[:1] if keys[0] in ("q", "?") else keys[:2]
