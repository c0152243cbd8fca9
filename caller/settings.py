"""Settings: frozen values, each with its unit in its name or docstring."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from caller.checks import one_of, whole, within
from caller.errors import SettingError

SLOWEST_WPM, FASTEST_WPM = 80, 350
HIGHEST_PITCH, LOUDEST = 99, 200
FULL_VOLUME = 100

MOST_RUNS_AT_ONCE = 200
USUAL_PORTION = 4
"""Yarns that are called together. A memory holds about four things (N. Cowan, Behavioral and Brain
Sciences 24, 2001, from memory); a yarn and its needle are two of them, and while the fourth is
being said about two have been laid (tests/bench/pace.py)."""
LONGEST_PAUSE_S = 10.0
MOST_ROWS_TO_CHECK = 1000
STRICTEST = 100

VoiceKind = Literal["auto", "piper", "espeak", "system"]
Wording = Literal["short", "full", "changes"]
NumberStyle = Literal["words", "digits", "checked"]
PedalKind = Literal["system", "device", "midi"]
Engine = Literal["auto", "own", "english", "vosk", "pocketsphinx"]
SignalChoice = Literal["off", "commands", "all"]


@dataclass(frozen=True)
class VoiceSettings:
    """Which voice speaks and how.

    "auto" is the most natural voice that is there and can do what is asked for; "piper" speaks with
    the voice in `file`, an .onnx file, or with the one that is installed; "espeak" comes with the
    program; "system" is the computer's own. People read aloud at 150 to 160 words a minute
    (audiobook practice), hence the default rate. `name` is a language code for espeak, such as
    "en-us" or "de", and the voice's name for the system; None is the usual one. `pitch` is 0 to 99,
    espeak's alone; `volume` is in percent, 0 to 200 for espeak and 1 to 100 for others.
    SettingError for anything else.
    """

    kind: VoiceKind = "auto"
    rate_wpm: int = 160
    name: str | None = None
    pitch: int = 50
    volume: int = FULL_VOLUME
    file: Path | None = None

    def __post_init__(self) -> None:
        one_of(SettingError, "kind of voice", self.kind, VoiceKind)
        whole(SettingError, "A rate", self.rate_wpm, SLOWEST_WPM, FASTEST_WPM, "words a minute")
        if self.kind in ("piper", "system") and self.pitch != VoiceSettings.pitch:
            raise SettingError(
                f"The {self.kind} voice has a pitch of its own",
                "leave --pitch away, or use --voice espeak.",
            )
        if self.kind in ("piper", "system") and not 1 <= self.volume <= FULL_VOLUME:
            raise SettingError(
                f"A volume of {self.volume} percent cannot be used with the {self.kind} voice",
                f"choose one from 1 to {FULL_VOLUME}, or use --voice espeak.",
            )
        if self.kind in ("espeak", "system") and self.file is not None:
            raise SettingError(
                f"The {self.kind} voice is not in a file",
                "leave --voice-file away, or use --voice piper.",
            )
        if self.name is not None and (self.kind == "piper" or self.file is not None):
            raise SettingError(
                "A piper voice is chosen by its file",
                "leave --voice-name away, or use another --voice.",
            )
        whole(SettingError, "A pitch", self.pitch, most=HIGHEST_PITCH)
        whole(SettingError, "A volume", self.volume, most=LOUDEST, unit="percent")


@dataclass(frozen=True)
class ListeningSettings:
    """Whether and how to listen.

    `engine`: "own" is the knitter's own voice, as taught; "english" hears English phrases from
    anyone; "vosk" is a model that the knitter has put in place, in `model_folder` where it is
    named; "pocketsphinx" runs on every computer; "auto" is the best of these that is there.
    `strictness` is how surely the own voice must be heard, 0 to 100.
    `barge_in` hears commands while the caller speaks, too. `microphone` is a device by its name, or
    a part of it; None is the system's usual one. SettingError for anything else.
    """

    listen: bool = True
    engine: Engine = "auto"
    model_folder: Path | None = None
    strictness: int = 50
    barge_in: bool = False
    microphone: str | None = None

    def __post_init__(self) -> None:
        one_of(SettingError, "recogniser", self.engine, Engine)
        whole(SettingError, "A strictness", self.strictness, most=STRICTEST)
        if self.model_folder is not None and self.engine in ("own", "english", "pocketsphinx"):
            raise SettingError(
                "A model folder is for Vosk", "leave --model away, or use --recogniser vosk."
            )


@dataclass(frozen=True)
class PressSettings:
    """When what goes down and up is a press, in seconds.

    What bounces back within `debounce_s` is one press. Held for `long_s` it is a long press. A
    second press that begins within `double_s` of the first one's end makes a double press; it is
    only waited for where a double press is bound to something. Of two pedals pressed within
    `together_s` of one another only the first counts.
    """

    debounce_s: float = 0.03
    long_s: float = 0.6
    double_s: float = 0.35
    together_s: float = 0.08

    def __post_init__(self) -> None:
        for name, value, least, most in (
            ("A debounce", self.debounce_s, 0.0, 0.2),
            ("A long press", self.long_s, 0.3, 3.0),
            ("A double press", self.double_s, 0.1, 1.0),
            ("A pair of pedals", self.together_s, 0.0, 0.5),
        ):
            within(SettingError, name, value, least, most, "seconds")


@dataclass(frozen=True)
class PedalKey:
    """One key of a pedal and the names of the commands that its presses give, "" for none.

    `source`: "system" is any key while another window has the focus, "device" a chosen keyboard or
    pedal on Linux that then reaches nobody else, "midi" a MIDI pedal. `device` is its name as
    `row-caller pedal` tells it, "" for any; `key` is what goes down, as that source names it.
    SettingError for anything else, and for a key that gives no command.
    """

    source: PedalKind
    key: str
    device: str = ""
    short: str = ""
    long: str = ""
    double: str = ""

    def __post_init__(self) -> None:
        one_of(SettingError, "kind of pedal", self.source, PedalKind)
        if not self.key:
            raise SettingError(
                "A pedal's key has no name", "press it in row-caller pedal to learn it."
            )
        if not (self.short or self.long or self.double):
            raise SettingError(
                f"The pedal's key {self.key} gives no command",
                "bind its short, long or double press.",
            )


@dataclass(frozen=True)
class CallSettings:
    """How the rows are called.

    `wording`: "short" says each yarn and the last needle of its run, "full" both needles, the
    stitches and the tails too, "changes" only what differs from the row before. `runs_at_once` is
    the most runs that a command brings, so that a long row comes in portions; 0 brings whole rows.
    With `follow` the next portion of a row comes by itself at the knitter's pace. `pause_s` is the
    silence after each run. `numbers`: "checked" for words, with the digits after those that are
    easily misheard, 13 to 19; "words" alone; "digits" for one digit after the other. `crossings`
    says at every joint which yarn the next one is taken up from under. Every `check_every_rows`
    rows the side of the carriage and the hanging ends are told; 0 is never. `signals`: "commands"
    has a tone for what was heard, not understood, or went wrong; "all" also one for where the
    carriage goes in each new row, and one at the end of a row that is called in portions. `stereo`
    lets each run be heard from where it lies in the work, left to right.

    `said` are the words that are spoken to the caller, as (words, name of the command); None are
    the program's own. `taught` tells that they are the knitter's own, known by their sound only,
    and `numbers_heard` that commands with a number can be spoken too.

    SettingError for anything else.
    """

    wording: Wording = "short"
    runs_at_once: int = USUAL_PORTION
    follow: bool = False
    pause_s: float = 0.15
    numbers: NumberStyle = "checked"
    crossings: bool = False
    check_every_rows: int = 0
    signals: SignalChoice = "commands"
    stereo: bool = False
    said: tuple[tuple[str, str], ...] | None = None
    taught: bool = False
    numbers_heard: bool = False

    def __post_init__(self) -> None:
        one_of(SettingError, "wording", self.wording, Wording)
        one_of(SettingError, "way to say numbers", self.numbers, NumberStyle)
        one_of(SettingError, "choice of signals", self.signals, SignalChoice)
        whole(
            SettingError, "A pace", self.runs_at_once, most=MOST_RUNS_AT_ONCE, unit="runs at once"
        )
        whole(
            SettingError,
            "A check",
            self.check_every_rows,
            most=MOST_ROWS_TO_CHECK,
            unit="rows apart",
        )
        within(SettingError, "A pause", self.pause_s, 0, LONGEST_PAUSE_S, "seconds")
