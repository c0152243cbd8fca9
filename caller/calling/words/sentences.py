"""The plain sentences of a session; those of the rows come from clauses and row_call."""

from collections.abc import Collection, Iterable, Iterator, Sequence

from caller.calling.commands import WAYS, WORDS, Command, Way, Words, phrase_for
from caller.calling.listening.grammar import example
from caller.calling.words.keys import KEY_WORDS
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Utterance,
    capital,
    clause,
    sentence,
)
from caller.pattern.bed import Bed
from caller.pattern.pattern import Pattern
from caller.settings import FASTEST_WPM, SLOWEST_WPM, NumberStyle

_OF_LISTENING = (Command.PAUSE, Command.LISTEN)


def opening(pattern: Pattern, style: NumberStyle = "words") -> Utterance:
    """Said when a pattern is started: its size and where it lies."""
    script, bed = pattern.script, pattern.bed
    first, last = script.in_work(1)
    shaped = pattern.chart.shaped
    return (
        Clause(f"{pattern.title}.", f"{pattern.title}.", RUN_PAUSE_S),
        clause(
            "Shaped, {method}; {width} stitches in row {row}, from {first}, as far as {last}."
            if shaped
            else "{width} stitches, from {first}, as far as {last}.",
            style,
            RUN_PAUSE_S,
            "Shaped, {method}; {width} stitches in row {row}, {first} to {last};"
            if shaped
            else "{width} stitches, {first} to {last};",
            method=pattern.shaping,
            width=last - first + 1,
            row=Exact(1),
            first=Needle(bed, first),
            last=Needle(bed, last),
        ),
        clause("{rows} rows.", style, 2 * RUN_PAUSE_S, rows=script.rows),
    )


def carrying_on(row: int, rows: int, style: NumberStyle = "words") -> Utterance:
    """Said when an earlier session is resumed."""
    text = "Carrying on at row {row} of {rows}."
    return (clause(text, style, 2 * RUN_PAUSE_S, row=Exact(row), rows=rows),)


def starting_at(row: int, was: int | None, rows: int, style: NumberStyle = "words") -> Utterance:
    """Said when the knitter chose the row; `was` is the row that was kept, where there is one."""
    text = "Starting at row {row} of {rows}."
    start = clause(text, style, 2 * RUN_PAUSE_S, row=Exact(row), rows=rows)
    if was is None or was in (row, rows + 1):
        return (start,)
    return start, clause("Your place was row {was}.", style, 2 * RUN_PAUSE_S, was=Exact(was))


def first_row() -> Utterance:
    return sentence("This is the first row; nothing comes before it.", 2 * RUN_PAUSE_S)


def finished(rows: int, style: NumberStyle = "words") -> Utterance:
    """Said after the last row."""
    return (clause("The picture is finished. All {rows} rows are knitted.", style, rows=rows),)


def for_help(words: Words = WORDS) -> Utterance:
    """Said when a piece is begun; `words` are listened for."""
    asks = phrase_for(Command.HELP, words)
    say = f"say {asks}, or " if asks else ""
    return sentence(f"For help, {say}press the question mark.", 2 * RUN_PAUSE_S)


def to_finish() -> Utterance:
    """Said after the last row, where the finishing follows."""
    return sentence("To hear what is left to do, go on.")


def finishing_ends() -> Utterance:
    """Said after the last step of the finishing."""
    return sentence("That was the last step.")


def leaving(row: int, rows: int, style: NumberStyle = "words") -> Utterance:
    """Said when the knitter stops for today."""
    if row > rows:
        return finished(rows, style) + sentence("Your place is kept. Goodbye.")
    return (
        clause(
            "Stopping at row {row}. Your place is kept.",
            style,
            0.0,
            "Stopping at row {row} of {rows}. Your place is kept.",
            row=Exact(row),
            rows=rows,
        ),
    )


def rate(wpm: int, faster: bool, style: NumberStyle = "words") -> Utterance:
    """Said at a new rate, or at the end of the range.

    Without "faster" and "slower" by themselves: spoken commands end with them.
    """
    text = "{wpm} words a minute."
    if wpm == (FASTEST_WPM if faster else SLOWEST_WPM):
        text = f"{{wpm}} words a minute; there is no {'faster' if faster else 'slower'} rate."
    return (capital(clause(text, style, wpm=wpm)),)


def hurried(check: Clause, row: int, rows: int, style: NumberStyle = "words") -> Utterance:
    """Said when rows were moved on by voice faster than they can be knitted."""
    return (
        clause(
            "That was quick. This is still row {row}.",
            style,
            RUN_PAUSE_S,
            "That was quick. This is still row {row} of {rows}.",
            row=Exact(row),
            rows=rows,
        ),
        check,
        Clause("Say it again to move.", "Say it again to move."),
    )


def listening(now: bool, words: Words = WORDS, taught: Collection[str] = ()) -> Utterance:
    """Said when listening is paused or goes on; `words` are what is listened for, and commands of
    the names `taught`."""
    if not words and not taught:
        return sentence("Spoken commands are off in this session.")
    if now:
        return sentence("I can hear you again.")
    again = phrase_for(Command.LISTEN, words)
    if not again and Command.LISTEN.value in taught:
        again = "what you taught for it"
    say = f", say {again}, or" if again else ","
    return (
        *sentence("I have stopped listening.", RUN_PAUSE_S),
        *sentence(f"To be heard again{say} press the letter L."),
    )


def remarked(row: int, remark: str, style: NumberStyle = "words") -> Utterance:
    """Said when a row is marked with a remark."""
    told = clause("Row {row} is marked:", style, RUN_PAUSE_S, row=Exact(row))
    return told, Clause(_stopped(remark), _stopped(remark), RUN_PAUSE_S)


def _stopped(text: str) -> str:
    return text if text.endswith((".", "!", "?")) else f"{text}."


def marked(row: int, now: bool, style: NumberStyle = "words", remark: str = "") -> Utterance:
    """Said when a row is marked, or its mark is taken away, and with it the `remark` it had."""
    text = "Row {row} is marked." if now else "Row {row} is no longer marked."
    told = (clause(text, style, row=Exact(row)),)
    if now or not remark:
        return told
    return told + sentence("Its remark went with it:") + sentence(_stopped(remark))


def not_noted(row: int, style: NumberStyle = "words") -> Utterance:
    """Said where a mark, a remark or a filled bobbin could not be kept before another row came."""
    text = "What you noted at row {row} was not kept; note it there again."
    return (clause(text, style, row=Exact(row)),)


def marked_row(remark: str = "") -> Utterance:
    """Said before a row that was marked, with the remark where there is one."""
    if remark:
        return sentence("You noted here:", RUN_PAUSE_S) + sentence(_stopped(remark), RUN_PAUSE_S)
    return sentence("You marked this one.", RUN_PAUSE_S)


def not_understood() -> Utterance:
    return sentence("That was not understood. For help, press the question mark.")


def help_text(words: Words = WORDS, taught: Collection[str] = ()) -> Utterance:
    """The main commands, and where the others are told.

    `words` are what can be said; commands of the names `taught` are heard by what the knitter
    taught for them, too.
    """
    more = "For the others, ask for help again."
    main = (entry for entry in WAYS if entry.main)
    return (*_told(main, words, taught), Clause(more, more))


def more_help(
    words: Words = WORDS, taught: Collection[str] = (), bed: Bed | None = None
) -> Utterance:
    """The other commands; with a number too where a `bed` is given. Where nothing is listened for,
    nothing is told of listening."""
    listens = words or taught
    others = (way for way in WAYS if not way.main and (listens or way.command not in _OF_LISTENING))
    return tuple(_told(others, words, taught, bed))


def _told(
    entries: Iterable[Way], words: Words, taught: Collection[str], bed: Bed | None = None
) -> Iterator[Clause]:
    for entry in entries:
        text = f"To {entry.does}, press {' or '.join(_keys(entry.keys))}"
        phrases = [f'"{phrase}"' for phrase, command in words.items() if command is entry.command]
        if bed is not None and (with_number := example(entry, bed)):
            phrases.append(f'"{with_number}"')
        if entry.command.value in taught:
            phrases.append("what you taught for it")
        if phrases:
            text += f", or say {' or '.join(phrases)}"
        yield Clause(f"{text}.", f"{text}.", RUN_PAUSE_S)


def _keys(keys: Sequence[str]) -> list[str]:
    """The keys worth telling: the first two; the others are for pedals and other keyboards."""
    told = keys[:1] if keys[0] in ("q", "?", "+") else keys[:2]
    return [KEY_WORDS.get(key, key) for key in told]
