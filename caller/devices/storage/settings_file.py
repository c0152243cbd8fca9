"""The knitter's own settings, kept in one file (TOML) from one evening to the next.

[options]            # any of KEPT_OPTIONS, as on the command line but without its dashes
rate = 180
wording = "full"

[words]              # what is said for a command; then nothing else is listened for
next = ["next row"]

[presses]            # seconds: debounce, long, double, together
long = 0.8

[[pedals]]           # written by `row-caller pedal`
source = "device"
key = "pagedown"
short = "next"
"""

import os
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from caller.calling.commands import BY_NAME, Command, Words
from caller.errors import SettingError
from caller.files import make_folder, write_whole
from caller.pattern.storage.schema import line_of
from caller.settings import PedalKey, PressSettings

ENVIRONMENT = "CALLER_SETTINGS"
"""Names another settings file."""

KEPT_OPTIONS = (
    *("voice", "voice-name", "voice-file", "rate", "pitch", "volume"),
    *("wording", "runs", "pause", "numbers", "events", "crossings", "check-rows"),
    *("signals", "stereo", "listen", "recogniser", "model", "strictness", "barge-in"),
    *("microphone", "loudspeaker"),
)
"""The options that are a matter of taste or of the room, and so may be kept."""

LARGEST_FILE = 1_000_000
_PRESSES = ("debounce", "long", "double", "together")
_PEDAL = ("source", "device", "key", "short", "long", "double")
_SECTIONS = {"options": KEPT_OPTIONS, "words": (), "presses": _PRESSES, "pedals": _PEDAL}


@dataclass(frozen=True)
class KeptSettings:
    """What the file holds; empty where it is not there.

    `options` are the values by the options' names, as they would be written on the command line,
    or True and False for switches. `words` are empty where the program's own are used.
    """

    options: Mapping[str, str | bool] = field(default_factory=dict)
    words: Words = field(default_factory=dict)
    presses: PressSettings = field(default_factory=PressSettings)
    pedals: tuple[PedalKey, ...] = ()


def settings_path() -> Path:
    """Where the file is kept: named by CALLER_SETTINGS, else in the user's folder for settings."""
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    import platformdirs

    return platformdirs.user_config_path("caller") / "settings.toml"


def load() -> KeptSettings:
    """Read the file; SettingError that names it, and the line, when something in it is wrong."""
    path = settings_path()
    text = _text(path)
    if not text:
        return KeptSettings()
    table = _parsed(path, text)
    for section, known in _SECTIONS.items():
        _check_section(path, text, table, section, known)
    try:
        return KeptSettings(
            {name: _as_typed(value) for name, value in table.get("options", {}).items()},
            spoken_words(table.get("words", {})),
            PressSettings(**{f"{key}_s": value for key, value in table.get("presses", {}).items()}),
            tuple(_pedal(entry) for entry in table.get("pedals", ())),
        )
    except SettingError as error:
        raise error.at(f"In {path}") from None


def _pedal(entry: Mapping[str, Any]) -> PedalKey:
    pedal = PedalKey(**entry)
    for press, name in (("short", pedal.short), ("long", pedal.long), ("double", pedal.double)):
        if name and name not in BY_NAME:
            raise SettingError(
                f"The {press} press of {pedal.key} gives {name!r}, which is no command",
                f"the commands are {', '.join(BY_NAME)}.",
            )
    return pedal


def spoken_words(table: Mapping[str, Sequence[str]]) -> Words:
    """Phrases by command names, as the words to listen for.

    SettingError for an unknown command, an empty phrase, one phrase for two commands, and one that
    begins another: the shorter one would be heard in the longer one.
    """
    words: dict[str, Command] = {}
    for name, phrases in table.items():
        if name not in BY_NAME:
            raise SettingError(f"{name!r} is no command", f"the commands are {', '.join(BY_NAME)}.")
        for phrase in phrases:
            plain = " ".join(phrase.casefold().split())
            if not any(letter.isalpha() for letter in plain):
                raise SettingError(
                    f"The words for {name!r} must have letters", f"{phrase!r} has none."
                )
            if words.setdefault(plain, BY_NAME[name]) is not BY_NAME[name]:
                raise SettingError(f"{plain!r} is said for two commands", "choose other words.")
    for short in words:
        for longer in words:
            if longer.startswith(f"{short} "):
                raise SettingError(
                    f"{longer!r} begins with {short!r}, so one would be heard for the other",
                    "choose other words.",
                )
    return words


def keep_pedals(pedals: Sequence[PedalKey]) -> Path:
    """Write these pedals into the file in place of those it has; give the file's path.

    Everything else in it stays, comments too. SettingError when it cannot be read or written.
    """
    import tomlkit

    load()  # a file with a mistake is left for the knitter to mend
    path = settings_path()
    document = tomlkit.parse(_text(path))
    document.pop("pedals", None)
    if pedals:
        tables = tomlkit.aot()
        for pedal in pedals:
            kept = {key: value for key, value in asdict(pedal).items() if value}
            tables.append(tomlkit.item(kept))
        document["pedals"] = tables
    try:
        make_folder(path.parent)
        write_whole(path, tomlkit.dumps(document).encode())
    except OSError as error:
        raise SettingError(
            f"The settings file {path} cannot be written: {error.strerror}.",
            f"Choose another with the environment variable {ENVIRONMENT}.",
        ) from None
    return path


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise SettingError(f"{path} is too large for a settings file", "is it another file?")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return ""
    except UnicodeDecodeError:
        raise SettingError(f"The settings file {path} is not a text file in UTF-8.") from None
    except OSError as error:
        raise SettingError(f"The settings file {path} cannot be read: {error.strerror}.") from None


def _parsed(path: Path, text: str) -> dict[str, Any]:
    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise SettingError(f"The settings file {path} is not valid TOML: {error}.") from None
    for key in table:
        if key not in _SECTIONS:
            raise SettingError(
                f"{line_of(path, text, key, '', 0)}: {key!r} is not known in the settings file",
                f"its parts are {', '.join(_SECTIONS)}.",
            )
    return table


def _check_section(
    path: Path, text: str, table: Mapping[str, Any], section: str, known: Sequence[str]
) -> None:
    """Every key known and its value of a kind that can be read; the error names the line."""
    whole = table.get(section, [] if section == "pedals" else {})
    tables = whole if section == "pedals" else [whole]
    if not isinstance(tables, list) or not all(isinstance(entry, dict) for entry in tables):
        brackets = f"[[{section}]]" if section == "pedals" else f"[{section}]"
        raise SettingError(
            f"{line_of(path, text, section, '', 0)}: {section!r} must be written as {brackets}."
        )
    for index, entry in enumerate(tables):
        for key, value in entry.items():
            here = line_of(path, text, key, section, index)
            if known and key not in known:
                raise SettingError(
                    f"{here}: {key!r} is not known here", f"it is one of {', '.join(known)}."
                )
            if not _of_its_kind(section, value):
                raise SettingError(f"{here}: {key!r} must be {_KINDS[section]}.")
        missing = [key for key in ("source", "key") if section == "pedals" and key not in entry]
        if missing:
            raise SettingError(f"{path}: number {index + 1} of [[pedals]] has no {missing[0]!r}.")


_KINDS = {
    "options": "text in quotes, a number, true or false",
    "words": 'a list of texts, like ["next row"]',
    "presses": "a number of seconds",
    "pedals": "text in quotes",
}


def _of_its_kind(section: str, value: object) -> bool:
    match section:
        case "options":
            return isinstance(value, str | int | float)
        case "words":
            return (
                isinstance(value, list)
                and bool(value)
                and all(isinstance(phrase, str) for phrase in value)
            )
        case "presses":
            return isinstance(value, int | float) and not isinstance(value, bool)
        case _:
            return isinstance(value, str)


def _as_typed(value: str | int | float | bool) -> str | bool:
    """As it would be written on the command line, where it is checked."""
    return value if isinstance(value, bool) else str(value)
