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
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from caller import toml_tables
from caller.calling.commands import BY_NAME, Command, Words
from caller.errors import SettingError
from caller.files import make_folder, write_whole
from caller.settings import PedalKey, PressSettings
from caller.toml_tables import OPTION, SECONDS, TEXT, TEXTS, Section

ENVIRONMENT = "CALLER_SETTINGS"
"""Names another settings file."""

KEPT_OPTIONS = (
    *("voice", "voice-name", "voice-file", "rate", "pitch", "volume"),
    *("wording", "runs", "pause", "numbers", "follow", "crossings", "check-rows"),
    *("signals", "stereo", "listen", "recogniser", "model", "strictness", "listen-while-speaking"),
    *("microphone", "loudspeaker"),
)
"""The options that are a matter of taste or of the room, and so may be kept."""

_SECTIONS = {
    "options": Section(dict.fromkeys(KEPT_OPTIONS, OPTION)),
    "words": Section(other=TEXTS),
    "presses": Section(dict.fromkeys(("debounce", "long", "double", "together"), SECONDS)),
    "pedals": Section(
        dict.fromkeys(("source", "device", "key", "short", "long", "double"), TEXT),
        needed=("source", "key"),
        listed=True,
    ),
}


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
    file = toml_tables.read(path, "settings file", SettingError)
    if file is None:
        return KeptSettings()
    table = file.parsed()
    file.check(table, Section(), _SECTIONS)
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
    file = toml_tables.read(path, "settings file", SettingError)
    document = tomlkit.parse("" if file is None else file.text)
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


def _as_typed(value: str | int | float | bool) -> str | bool:
    """As it would be written on the command line, where it is checked."""
    return value if isinstance(value, bool) else str(value)
