"""What is asked before it is done: another row, rows unravelled, and a spoken goodbye.

A number that was heard may be the wrong one, so it is read back, and only the word after that
carries it out.
"""

from dataclasses import dataclass, replace

from caller.calling import answers, mistakes
from caller.calling.commands import Command, phrase_for, words_of
from caller.calling.place import Place
from caller.calling.words import sentences
from caller.calling.words.numbers import plural
from caller.calling.words.row_call import check_place
from caller.calling.words.utterance import RUN_PAUSE_S, Exact, Utterance, capital, clause, sentence
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings, NumberStyle

ANSWER_S = 30.0
"""A question waits so long; then a yes means nothing, and other commands do as ever."""


@dataclass(frozen=True)
class Question:
    """A command that waits for a yes: `row` is where it leads, `count` the rows unravelled.

    `asked_s` is when it was read back, in seconds of the session's clock. `other` is the number
    that was about as likely, where two were heard in one.
    """

    command: Command
    row: int
    count: int
    asked_s: float
    other: str = ""

    def answers(self, command: Command, number: str) -> bool:
        """Whether the command with this number led to this question."""
        told = self.count if command is Command.UNRAVEL else self.row
        return command is self.command and number == str(told)

    def is_open(self, now_s: float) -> bool:
        return now_s - self.asked_s <= ANSWER_S


def question(
    pattern: Pattern,
    settings: CallSettings,
    place: Place,
    command: Command,
    number: str,
    now_s: float,
) -> Question | Utterance:
    """The question for a row to go to, or for so many rows unravelled; else what is wrong."""
    rows, style = pattern.script.rows, settings.numbers
    text = number.strip()
    if not (text.isascii() and text.isdecimal()) or len(text) > len(str(rows)) + 1:
        return sentence("That is not a number of rows." if text else "No number was given.")
    count = int(text)
    if command is Command.UNRAVEL:
        below = place.row - 1
        if not 1 <= count <= below:
            if below == 0:
                return sentences.first_row()
            told = f"There {plural(below, 'is', 'are')} only {{below}} {plural(below, 'row')} "
            return (clause(f"{told}below this one.", style, below=below),)
        return Question(command, place.row - count, count, now_s)
    if not 1 <= count <= rows:
        told = "There is no row {row}; the picture has {rows} rows."
        return (clause(told, style, row=Exact(count), rows=rows),)
    return Question(command, count, 0, now_s)


def or_else(
    pattern: Pattern, settings: CallSettings, place: Place, asked: Question, other: str
) -> Question:
    """The question with the other number in it, where that one could be asked too."""
    another = question(pattern, settings, place, asked.command, other, asked.asked_s)
    return replace(asked, other=other) if isinstance(another, Question) else asked


def read_back(question: Question, settings: CallSettings, by_voice: bool = True) -> Utterance:
    """What would be done, and how to answer yes or no, `by_voice` or by keys.

    The number is checked in any style but digit by digit.
    """
    style = "checked" if settings.numbers == "words" else settings.numbers
    if question.other:
        return _two_read_back(question, settings, style, by_voice)
    if question.command is Command.LEAVE:
        asks: Utterance = sentence("Stop for today?", 2 * RUN_PAUSE_S)
    elif question.command is Command.UNRAVEL:
        text = "{count} row unravelled?" if question.count == 1 else "{count} rows unravelled?"
        asks = (
            capital(clause(text, style, RUN_PAUSE_S, count=Exact(question.count))),
            clause("So row {row}?", style, 2 * RUN_PAUSE_S, row=Exact(question.row)),
        )
    else:
        asks = (clause("Row {row}?", style, 2 * RUN_PAUSE_S, row=Exact(question.row)),)
    return (*asks, *ways(settings, by_voice=by_voice))


def _two_read_back(
    question: Question, settings: CallSettings, style: NumberStyle, by_voice: bool
) -> Utterance:
    unravel = question.command is Command.UNRAVEL
    asks = "{one} or {other} rows unravelled?" if unravel else "Row {one}, or row {other}?"
    yes, no = _phrase(settings, Command.YES), _phrase(settings, Command.BACK)
    how = "For the first press Y, for the other B."
    if by_voice and yes and no:
        how = f"Say {yes} for the first, {no} for the other."
    one, other = question.count if unravel else question.row, int(question.other)
    return (
        capital(clause(asks, style, 2 * RUN_PAUSE_S, one=Exact(one), other=Exact(other))),
        *sentence(how),
    )


def ways(settings: CallSettings, otherwise: str = "", by_voice: bool = True) -> Utterance:
    """How to answer: `by_voice` in the words that are listened for, else by keys; and what a no
    leads to."""
    yes, no = _phrase(settings, Command.YES), _phrase(settings, Command.BACK)
    told = f", then {otherwise}." if otherwise else "."
    if by_voice and yes and no:
        return sentence(f"Say {yes}, or {no}{told}")
    return sentence(f"For yes press Y, for no B{told}")


def _phrase(settings: CallSettings, command: Command) -> str | None:
    return phrase_for(command, words_of(settings))


def cancelled(place: Place, settings: CallSettings) -> Utterance:
    """Said when the answer was not yes."""
    return (
        clause(
            "Not done. This is still row {row}.",
            settings.numbers,
            2 * RUN_PAUSE_S,
            row=Exact(place.row),
        ),
    )


def arrival(pattern: Pattern, settings: CallSettings, question: Question) -> Utterance:
    """Said before the row that was gone to: the carriage's side and the ends, as they should be.

    After rows unravelled those that come back and come off are told, and each end is named.
    """
    row = question.row
    check = check_place(pattern, row, settings)
    if question.command is Command.UNRAVEL:
        ends = mistakes.unravelled(pattern, settings, row, row + question.count)
        return check, *ends, *answers.supplies(pattern, settings, Place(row))
    return (check,)
