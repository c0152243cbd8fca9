"""A number pressed key by key, or typed or spoken whole: what is asked, and of what."""

from dataclasses import dataclass

from caller.calling.commands import BY_NEEDLE, Command
from caller.calling.words.numbers import number_words
from caller.calling.words.utterance import Utterance, sentence
from caller.pattern.bed import Bed


@dataclass(frozen=True)
class Spelled:
    """A key pressed while a number is spelled: l, r, a digit, "enter", "backspace" or "space"."""

    key: str


@dataclass(frozen=True)
class Asked:
    """A command with its number, as it is typed: "l20" for a needle, "42" for a row.

    `rival` is the number that it was else most likely, where it was spoken; `close` when that is
    about as likely.
    """

    command: Command
    number: str
    rival: str = ""
    close: bool = False


@dataclass(frozen=True)
class Spelling:
    """The keys pressed so far for the number of a command."""

    command: Command
    keys: str = ""


def keys_of(bed: Bed, command: Command) -> tuple[str, ...]:
    """The keys that spell the number of a command."""
    sided = command in BY_NEEDLE and bed.numbering == "centre"
    return (*(("l", "r") if sided else ()), *"0123456789", "enter", "backspace", "space")


def question(bed: Bed, command: Command) -> Utterance:
    """Said when a number is to be pressed."""
    which = dict.fromkeys(BY_NEEDLE, "Which needle?") | {Command.UNRAVEL: "How many rows?"}
    sides = "L or R, then " if "l" in keys_of(bed, command) else ""
    return sentence(
        f"{which.get(command, 'Which row?')} Press {sides}its number, then Enter; "
        "Enter alone for none."
    )


def pressed(spelling: Spelling, key: str) -> tuple[Spelling | None, Utterance | Asked]:
    """One more key: what is spelled then, and what is said; with Enter the whole question."""
    keys = spelling.keys
    match key:
        case "space":
            return spelling, sentence("Without spaces, then Enter.")
        case "enter" if keys:
            return None, Asked(spelling.command, _label(keys))
        case "enter":
            return None, sentence("No number was given.")
        case "backspace":
            say = sentence("Taken back." if keys else "Nothing to take back.")
            return Spelling(spelling.command, keys[:-1]), say
    said = {"l": "Left.", "r": "Right."}.get(key) or f"{number_words(int(key))}."
    return Spelling(spelling.command, keys + key), sentence(said)


def _label(keys: str) -> str:
    """The side and the digits may come in either order: "20l" is "l20"."""
    sides = "".join(key for key in keys if key in "lr")
    return sides + "".join(key for key in keys if key not in "lr")
