"""The knitter's own settings, kept in one file (TOML) from one evening to the next.

[options]            # any of KEPT_OPTIONS, as on the command line but without its dashes
rate = 180
wording = "full"

[words]              # what is said for a command; then nothing else is listened for
next = ["next row"]

[presses]            # seconds: debounce, long, double, together
long = 0.8

[[reminders]]        # with every pattern: row, every_rows or every_minutes
every_rows = 20
say = "move the weights up"

[[pedals]]           # written by `row-caller pedal`
source = "device"
key = "pagedown"
short = "next"
"""

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Any, Self, TypeVar

from caller import toml_tables
from caller.calling.commands import BY_NAME, Command, Words
from caller.calling.pedals.presses import KINDS
from caller.errors import BadInputError, SettingError
from caller.files import make_folder, write_whole
from caller.settings import OwnReminder, PedalKey, PressSettings
from caller.toml_tables import OPTION, SECONDS, TEXT, TEXTS, WHOLE, Section

Made = TypeVar("Made")
ENVIRONMENT = "CALLER_SETTINGS"
"""Names another settings file."""

KEPT_OPTIONS = (
    *("voice", "voice-name", "voice-file", "rate", "pitch", "volume"),
    *("wording", "runs", "pause", "numbers", "follow", "crossings", "check-rows", "rest-minutes"),
    *("signals", "stereo", "listen", "recogniser", "model", "strictness", "listen-while-speaking"),
    *("microphone", "loudspeaker"),
)
"""The options that are a matter of taste or of the room, and so may be kept."""

_MOST_FAULTS = 20  # a file with more is something else, and nobody listens to them all
_SECTIONS = {
    "options": Section(dict.fromkeys(KEPT_OPTIONS, OPTION)),
    "words": Section(other=TEXTS),
    "presses": Section(dict.fromkeys(("debounce", "long", "double", "together"), SECONDS)),
    "reminders": Section(
        {"say": TEXT, **dict.fromkeys(("row", "every_rows", "every_minutes"), WHOLE)},
        needed=("say",),
        listed=True,
    ),
    "pedals": Section(
        dict.fromkeys(("source", "device", "key", *KINDS), TEXT),
        needed=("source", "key"),
        listed=True,
    ),
}


@dataclass(frozen=True)
class KeptSettings:
    """What the file holds; empty where it is not there.

    `options` are the values by the options' names, as they would be written on the command line,
    or True and False for switches. `words` are empty where the program's own are used. What is
    wrong is left out, and stands in `troubles` with the section that it is in, "" for the whole
    file.
    """

    options: Mapping[str, str | bool] = field(default_factory=dict)
    words: Words = field(default_factory=dict)
    presses: PressSettings = field(default_factory=PressSettings)
    pedals: tuple[PedalKey, ...] = ()
    reminders: tuple[OwnReminder, ...] = ()
    troubles: tuple[tuple[str, BadInputError], ...] = ()

    def whole(self) -> Self:
        """These settings; SettingError when something in the file is wrong."""
        for _, error in self.troubles:
            raise error
        return self


def settings_path() -> Path:
    """Where the file is kept: named by CALLER_SETTINGS, else in the user's folder for settings."""
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    import platformdirs

    return platformdirs.user_config_path("caller") / "settings.toml"


def load() -> KeptSettings:
    """Read the file. What is wrong in it is left out, and told with its line in `troubles`."""
    path = settings_path()
    try:
        file = toml_tables.read(path, "settings file", SettingError)
        if file is None:
            return KeptSettings()
        table = file.parsed()
    except SettingError as error:
        return KeptSettings(troubles=(("", error),))
    faults = list(islice(file.faults(table, Section(), _SECTIONS), _MOST_FAULTS + 1))
    if len(faults) > _MOST_FAULTS:
        first = faults[0].error
        more = f"and there are more than {_MOST_FAULTS} such mistakes"
        many = SettingError(f"{first.finding.rstrip('.')}, {more}", "is it another file?")
        return KeptSettings(troubles=(("", many),))
    troubles: list[tuple[str, BadInputError]] = [(fault.section, fault.error) for fault in faults]

    def serving(section: str) -> Mapping[str, Any]:
        """The keys of a section that are not wrong."""
        wrong = {fault.key for fault in faults if fault.section == section}
        if "" in wrong:
            return {}
        return {key: value for key, value in table.get(section, {}).items() if key not in wrong}

    def made(section: str, make: Callable[[], Made]) -> Made | None:
        """What is made of a section; None where it is wrong."""
        try:
            return make()
        except SettingError as error:
            troubles.append((section, error.at(f"In {path}")))
            return None

    def each(section: str, make: Callable[[Mapping[str, Any]], Made]) -> tuple[Made, ...]:
        """What is made of each table of a list that is not wrong."""
        wrong = {fault.index for fault in faults if fault.section == section}
        listed = not any(fault.section == section and not fault.key for fault in faults)
        entries = enumerate(table.get(section, ()) if listed else ())
        found = [
            made(section, partial(make, entry)) for index, entry in entries if index not in wrong
        ]
        return tuple(one for one in found if one is not None)

    presses = {f"{key}_s": value for key, value in serving("presses").items()}
    return KeptSettings(
        {name: _as_typed(value) for name, value in serving("options").items()},
        made("words", lambda: spoken_words(serving("words"))) or {},
        made("presses", lambda: PressSettings(**presses)) or PressSettings(),
        each("pedals", _pedal),
        each("reminders", lambda entry: OwnReminder(**entry)),
        tuple(troubles),
    )


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

    load().whole()  # a file with a mistake is left for the knitter to mend
    path = settings_path().resolve()  # a link to it stays one
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
