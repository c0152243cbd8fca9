"""A number, or a remark, pressed key by key, or given whole: what is asked, and of what."""

from dataclasses import dataclass

from caller.calling.commands import BY_NEEDLE, Command
from caller.calling.words.numbers import number_words
from caller.calling.words.utterance import Clause, Utterance, sentence
from caller.pattern.bed import Bed


@dataclass(frozen=True)
class Spelled:
    """A key pressed while a number is spelled: l, r, a digit, "enter", "backspace", "space" or
    "escape"; any character of a remark."""

    key: str


@dataclass(frozen=True)
class Asked:
    """A command with its number, as it is typed: "l20" for a needle, "42" for a row; or its remark.

    `rival` is the number that it was else most likely, where it was spoken; `close` when that is
    about as likely.
    """

    command: Command
    number: str
    rival: str = ""
    close: bool = False


@dataclass(frozen=True)
class Spelling:
    """The keys pressed so far for the number, or the remark, of a command."""

    command: Command
    keys: str = ""


def keys_of(bed: Bed, command: Command) -> tuple[str, ...]:
    """The keys that spell the number of a command."""
    sided = command in BY_NEEDLE and bed.numbering == "centre"
    return (*(("l", "r") if sided else ()), *"0123456789", "enter", "backspace", "space", "escape")


def takes(bed: Bed, spelling: Spelling, key: str) -> bool:
    """Whether a key belongs to what is being spelled."""
    if spelling.command is Command.REMARK and len(key) == 1:
        return key.isprintable()
    return key.casefold() in keys_of(bed, spelling.command)


def question(bed: Bed, command: Command) -> Utterance:
    """Said when a number, or a remark, is to be pressed."""
    if command is Command.REMARK:
        return sentence("Type your remark, then Enter; Enter alone for none.")
    which = dict.fromkeys(BY_NEEDLE, "Which needle?") | {Command.UNRAVEL: "How many rows?"}
    sides = "L or R, then " if "l" in keys_of(bed, command) else ""
    return sentence(
        f"{which.get(command, 'Which row?')} Press {sides}its number, then Enter; "
        "Enter alone for none."
    )


def pressed(spelling: Spelling, key: str) -> tuple[Spelling | None, Utterance | Asked]:
    """One more key: what is spelled then, and what is said; with Enter the whole question."""
    keys = spelling.keys
    if spelling.command is Command.REMARK:
        return _typed(keys, key)
    key = key.casefold()
    match key:
        case "space":
            return spelling, sentence("Leave spaces out, and press Enter at the end.")
        case "enter" if keys:
            return None, Asked(spelling.command, _label(keys))
        case "enter" | "escape":
            return None, sentence("No number was given.")
        case "backspace":
            say = sentence("Taken back." if keys else "Nothing to take back.")
            return Spelling(spelling.command, keys[:-1]), say
    said = {"l": "Left.", "r": "Right."}.get(key) or f"{number_words(int(key))}."
    return Spelling(spelling.command, keys + key), sentence(said)


def _typed(text: str, key: str) -> tuple[Spelling | None, Utterance | Asked]:
    """One more key of a remark: its character is said, and shown at the end of the text so far."""
    match key:
        case "enter" if text.strip():
            return None, Asked(Command.REMARK, text.strip())
        case "enter" | "escape":
            return None, sentence("No remark was given.")
        case "backspace":
            text, said = text[:-1], "Taken back." if text else "Nothing to take back."
        case _:
            text += " " if key == "space" else key
            said = f"{key}."
    return Spelling(Command.REMARK, text), (Clause(said, text or said),)


def _label(keys: str) -> str:
    """The side and the digits may come in either order: "20l" is "l20"."""
    sides = "".join(key for key in keys if key in "lr")
    return sides + "".join(key for key in keys if key not in "lr")
