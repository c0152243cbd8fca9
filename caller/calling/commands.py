"""The one table of commands: what is said, pressed or typed for each, and what the help says.

Keyboard, pedals, typed lines, recognisers and the spoken help all read this table.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from caller.settings import CallSettings


class Command(Enum):
    """What the knitter can ask for; the value is its name as a typed line."""

    NEXT = "next"
    REPEAT = "repeat"
    BACK = "back"
    WHERE = "where"
    LEAVE = "leave"
    SLOWER = "slower"
    FASTER = "faster"
    REMAINING = "remaining"
    NEEDLE = "needle"
    SUPPLIES = "supplies"
    CHANGES = "changes"
    ROW = "row"
    UNRAVEL = "unravel"
    HAPPENED = "happened"
    YARN = "yarn"
    BOBBIN = "bobbin"
    FINISH = "finish"
    MARK = "mark"
    REMARK = "remark"
    PAUSE = "pause"
    LISTEN = "listen"
    YES = "yes"
    HELP = "help"


@dataclass(frozen=True)
class Way:
    """The ways to give one command.

    `phrases` are spoken words, lower case; `keys` are printable characters or the key names
    "space", "enter", "left", "right", "up", "down", "pageup", "pagedown", "backspace",
    "control-c" and "control-d"; a pedal sends one of these. `does` is the help text; `main` ones
    are told first. `sentences` are spoken with a number: {row} is a row of the pattern, {rows} so
    many rows, {needle} any needle, and {side} one with a side, on a bed numbered from its centre.
    """

    command: Command
    phrases: tuple[str, ...]
    keys: tuple[str, ...]
    does: str
    main: bool = False
    sentences: tuple[str, ...] = ()


# Two words and more: they are heard more surely than single words, and none of them is set off by
# the words of a call (docs/figures.md has the measurement). No phrase is the beginning
# of another.
WAYS: tuple[Way, ...] = (
    Way(
        Command.NEXT,
        ("next row",),
        ("space", "enter", "pagedown", "right"),
        "hear what follows",
        main=True,
    ),
    Way(Command.REPEAT, ("repeat that",), ("r", "up"), "hear it again", main=True),
    Way(
        Command.BACK,
        ("go back", "previous row"),
        ("b", "left", "pageup", "backspace"),
        "hear what came before",
        main=True,
    ),
    Way(Command.WHERE, ("where am i",), ("w",), "hear where you are", main=True),
    Way(
        Command.LEAVE,
        ("leave for today",),
        ("q", "control-c", "control-d"),
        "stop for today",
        main=True,
    ),
    Way(Command.SLOWER, ("go slower",), ("-",), "hear it slower"),
    Way(Command.FASTER, ("go faster",), ("+", "="), "hear it faster"),
    Way(Command.REMAINING, ("time remaining",), ("t",), "hear the rows and the time to go"),
    Way(
        Command.NEEDLE,
        (),
        ("n",),
        "ask which yarn is on a needle",
        sentences=("needle {side}", "which yarn is on {needle}"),
    ),
    Way(Command.SUPPLIES, ("what hangs",), ("s",), "hear which ends hang"),
    Way(Command.CHANGES, ("what changes",), ("c",), "hear what changes after this row"),
    Way(Command.ROW, (), ("g",), "go to another row", sentences=("go to row {row}",)),
    Way(
        Command.UNRAVEL,
        (),
        ("u",),
        "go back over rows that you unravelled",
        sentences=("back {rows}",),
    ),
    Way(
        Command.HAPPENED,
        (),
        ("i",),
        "hear how a needle was knitted in the last rows",
        sentences=("what happened at {needle}",),
    ),
    Way(Command.YARN, ("how much yarn",), ("a",), "hear the yarn on each bobbin"),
    Way(
        Command.BOBBIN,
        ("bobbin is filled",),
        ("e",),
        "tell that a bobbin was filled, and where its yarn joins",
        sentences=("new bobbin at {needle}",),
    ),
    Way(
        Command.FINISH,
        ("how to finish",),
        ("f",),
        "hear what is left to do after the last row",
    ),
    Way(Command.MARK, ("mark this row",), ("m",), "mark this row, or take its mark away"),
    Way(Command.REMARK, (), ("o",), "type a remark for this row"),
    Way(Command.PAUSE, ("pause listening",), ("p",), "stop the listening for a while"),
    Way(Command.LISTEN, ("carry on listening",), ("l",), "have me listen again"),
    Way(Command.YES, ("yes please",), ("y",), "do what was asked about"),
    Way(Command.HELP, ("help me please",), ("?", "h"), "hear what can be pressed and said"),
)

PHRASES: tuple[str, ...] = tuple(phrase for way in WAYS for phrase in way.phrases)
"""Every phrase that can be spoken to the caller."""

Words = Mapping[str, Command]
"""What is said for a command, lower case, against the command."""

WORDS: Words = {phrase: way.command for way in WAYS for phrase in way.phrases}

BY_NAME: Words = {command.value: command for command in Command}
"""The commands by their names; the recogniser of the knitter's own takes answers with these."""

BY_NUMBER = frozenset(way.command for way in WAYS if way.sentences)
"""The commands that are given with a number."""

BY_NEEDLE = frozenset((Command.NEEDLE, Command.HAPPENED, Command.BOBBIN))
"""Those whose number is a needle's."""

TAUGHT_FIRST = tuple(way.command for way in WAYS if way.main and way.command is not Command.LEAVE)
"""What a knitter's own voice should be taught for: what is said at every row."""

BY_TEXT = frozenset((Command.MARK, Command.REMARK))
"""Those that are given with a remark."""

_BY_KEY = {key: way.command for way in WAYS for key in way.keys}


def words_of(settings: CallSettings) -> Words:
    """What is said for the commands by these settings; nothing where nobody listens."""
    if settings.said is None:
        return WORDS
    return {phrase: BY_NAME[name] for phrase, name in settings.said}


def phrase_for(command: Command, words: Words) -> str | None:
    """What is said for a command; None where nothing that is listened for gives it."""
    return next((phrase for phrase, gives in words.items() if gives is command), None)


def from_phrase(phrase: str) -> Command | None:
    """The command spoken with exactly this phrase."""
    return WORDS.get(" ".join(phrase.casefold().split()))


def from_key(key: str) -> Command | None:
    """The command of a key, named as in `Way.keys`; letters in either case."""
    return _BY_KEY.get(key.casefold())


def from_line(line: str) -> Command | None:
    """The command typed as a line: its name, a phrase, or a key; an empty line is Enter."""
    text = " ".join(line.casefold().split())
    if not text:
        return from_key("enter")
    return BY_NAME.get(text) or from_phrase(text) or from_key(text)
