"""Settings: frozen values, each with its unit in its name or docstring."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from caller.errors import SettingError

SLOWEST_WPM, FASTEST_WPM = 80, 350
HIGHEST_PITCH, LOUDEST = 99, 200
FULL_VOLUME = 100

MOST_RUNS_AT_ONCE = 200
LONGEST_PAUSE_S = 10.0
MOST_ROWS_TO_CHECK = 1000

VoiceKind = Literal["espeak", "system", "piper"]
Wording = Literal["short", "full", "changes"]
NumberStyle = Literal["words", "digits", "checked"]
SignalChoice = Literal["off", "commands", "all"]


@dataclass(frozen=True)
class VoiceSettings:
    """Which voice speaks and how.

    "espeak" comes with the program; "system" is the computer's own; "piper" speaks with the voice
    in `file`, an .onnx file. People read aloud at 150 to 160 words a minute (audiobook practice),
    hence the default rate. `name` is a language code for espeak, such as "en-us" or "de", and the
    voice's name for the system; None is the usual one. `pitch` is 0 to 99, espeak's alone;
    `volume` is in percent, 0 to 200 for espeak and 1 to 100 for others. SettingError for anything
    else.
    """

    kind: VoiceKind = "espeak"
    rate_wpm: int = 160
    name: str | None = None
    pitch: int = 50
    volume: int = FULL_VOLUME
    file: Path | None = None

    def __post_init__(self) -> None:
        _one_of("kind of voice", self.kind, VoiceKind)
        if not SLOWEST_WPM <= self.rate_wpm <= FASTEST_WPM:
            raise SettingError(
                f"A rate of {self.rate_wpm} words a minute cannot be used; choose one from "
                f"{SLOWEST_WPM} to {FASTEST_WPM}."
            )
        if self.kind != "espeak" and self.pitch != VoiceSettings.pitch:
            raise SettingError(
                f"The {self.kind} voice has a pitch of its own; leave --pitch away, or use "
                "--voice espeak."
            )
        if self.kind != "espeak" and not 1 <= self.volume <= FULL_VOLUME:
            raise SettingError(
                f"A volume of {self.volume} percent cannot be used with the {self.kind} voice; "
                f"choose one from 1 to {FULL_VOLUME}, or use --voice espeak."
            )
        if (self.kind == "piper") != (self.file is not None):
            raise SettingError(
                "A piper voice is in a file, and other voices are not; give --voice piper and "
                "--voice-file FILE.onnx together."
            )
        if self.kind == "piper" and self.name is not None:
            raise SettingError(
                "A piper voice is chosen by its file; leave --voice-name away, or use another "
                "--voice."
            )
        _within("A pitch", self.pitch, HIGHEST_PITCH)
        _within("A volume", self.volume, LOUDEST, "percent")


@dataclass(frozen=True)
class EarSettings:
    """Whether to listen, and the folder of a Vosk model when the knitter names one."""

    listen: bool = True
    model_folder: Path | None = None


@dataclass(frozen=True)
class CallSettings:
    """How the rows are called.

    `wording`: "short" says each yarn and the last needle of its run, "full" both needles, the
    stitches and the supplies too, "changes" only what differs from the row before. `runs_at_once`
    is how many runs a command brings; 0 brings the whole row. `pause_s` is the silence after each
    run. `numbers`: "words"; "digits" for one digit after the other; "checked" for words, with the
    digits after those that are easily misheard, 13 and 30 to 19 and 90. `events` adds to the short
    and the changes wording where supplies join, are carried and are cut. `crossings` counts the
    joints at which neighbouring yarns cross. Every `check_every_rows` rows the side of the
    carriage and the hanging supplies are told; 0 is never. `signals`: "commands" has a tone for
    what was heard, not understood, or went wrong; "all" also one for where the carriage goes in
    each new row, and one at the end of a row that is called in pieces. `stereo` lets each run be
    heard from where it lies in the work, left to right.

    SettingError for anything else, and for changes in pieces: they are told of whole rows.
    """

    wording: Wording = "short"
    runs_at_once: int = 0
    pause_s: float = 0.15
    numbers: NumberStyle = "words"
    events: bool = False
    crossings: bool = False
    check_every_rows: int = 0
    signals: SignalChoice = "commands"
    stereo: bool = False

    def __post_init__(self) -> None:
        _one_of("wording", self.wording, Wording)
        _one_of("way to say numbers", self.numbers, NumberStyle)
        _one_of("choice of signals", self.signals, SignalChoice)
        _within("A pace", self.runs_at_once, MOST_RUNS_AT_ONCE, "runs at once")
        _within("A check", self.check_every_rows, MOST_ROWS_TO_CHECK, "rows apart")
        if isinstance(self.pause_s, bool) or not 0 <= self.pause_s <= LONGEST_PAUSE_S:
            raise SettingError(
                f"A pause of {self.pause_s} seconds cannot be used; give a number from 0 to "
                f"{LONGEST_PAUSE_S:g}."
            )
        if self.wording == "changes" and self.runs_at_once:
            raise SettingError(
                "The changes wording tells what differs in a whole row, so it cannot come run by "
                "run; choose the short or the full wording, or whole rows."
            )


def _one_of(what: str, value: str, choices: object) -> None:
    if value not in get_args(choices):
        raise SettingError(
            f"The {what} {value!r} is not known; it is one of {', '.join(get_args(choices))}."
        )


def _within(what: str, value: int, most: int, unit: str = "") -> None:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= most:
        raise SettingError(
            f"{what} of {f'{value} {unit}'.rstrip()} cannot be used; "
            f"give a whole number from 0 to {most}."
        )
