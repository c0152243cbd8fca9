"""Settings: frozen values, each field with a line that says what it is, and its unit."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from caller.checks import one_of, whole, within
from caller.errors import SettingError
from caller.plain_text import LONGEST_REMINDER

SLOWEST_WPM, FASTEST_WPM = 80, 350
HIGHEST_PITCH, LOUDEST = 99, 200
FULL_VOLUME = 100

MOST_RUNS_AT_ONCE = 200
USUAL_PORTION = 4
"""Yarns that are called together. A memory holds about four things (N. Cowan, Behavioral and Brain
Sciences 24, 2001, from memory); a yarn and its needle are two of them, and while the fourth is
being said about two have been laid (tests/bench/pace.py)."""
LONGEST_PAUSE_S = 10.0
MOST_MINUTES = 24 * 60
MOST_ROWS_APART = 10_000
MOST_ROWS_TO_CHECK = 1000
STRICTEST = 100

VoiceKind = Literal["auto", "piper", "espeak", "system"]
Wording = Literal["short", "full", "changes"]
NumberStyle = Literal["words", "digits", "checked"]
PedalKind = Literal["system", "device", "midi"]
Engine = Literal["auto", "own", "english", "vosk", "pocketsphinx"]
SignalChoice = Literal["off", "commands", "all"]
SoundFormat = Literal["ogg", "flac", "mp3", "wav"]
PaperSize = Literal["a4", "letter"]
Rotation = Literal["90", "180", "270"]
"""Degrees clockwise, as they are typed."""
PageOn = Literal["computer", "home"]
"""Who reaches the page at the machine: this computer alone, or the network that it is in."""


@dataclass(frozen=True)
class VoiceSettings:
    """Which voice speaks and how. Raises SettingError for what cannot be."""

    kind: VoiceKind = "auto"
    """"auto" is the most natural voice that is there and can do what is asked for; "piper" speaks
    with `file` or the voice that is installed; "espeak" comes with the program; "system" is the
    computer's own."""
    rate_wpm: int = 140
    """Words a minute, 80 to 350. People read aloud at 150 to 160 (audiobook practice); needles and
    names are heard more surely a little slower (docs/figures.md), and hands take longer still."""
    name: str | None = None
    """espeak: a language code, such as "en-us" or "de"; system: a voice's name; None: the usual."""
    pitch: int = 50
    """How high espeak speaks, 0 to 99; other voices have a pitch of their own."""
    volume: int = FULL_VOLUME
    """Percent, 0 to 200 for espeak and 1 to 100 for others."""
    file: Path | None = None
    """The .onnx file of a piper voice."""

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
    """Whether and how to listen. Raises SettingError for what cannot be."""

    listen: bool = True
    """False leaves the commands to keys and pedals."""
    engine: Engine = "auto"
    """"own" is the knitter's own voice, as taught; "english" hears English phrases from anyone;
    "vosk" is a model that the knitter has put in place; "pocketsphinx" runs on every computer;
    "auto" is the best of these that is there, and what was taught beside it."""
    model_folder: Path | None = None
    """The folder of a Vosk model; None: the first that is found."""
    strictness: int = 50
    """How surely the own voice must be heard, 0 to 100."""
    listen_while_speaking: bool = False
    """Whether commands are heard while the caller speaks, too."""
    microphone: str | None = None
    """A microphone by its name, or a part of it; None: the system's usual one."""

    def __post_init__(self) -> None:
        one_of(SettingError, "recogniser", self.engine, Engine)
        whole(SettingError, "A strictness", self.strictness, most=STRICTEST)
        if self.model_folder is not None and self.engine in ("own", "english", "pocketsphinx"):
            raise SettingError(
                "A model folder is for Vosk", "leave --model away, or use --recogniser vosk."
            )


@dataclass(frozen=True)
class PressSettings:
    """When what goes down and up is a press. Raises SettingError for what cannot be."""

    debounce_s: float = 0.03
    """Seconds; what bounces back within them is one press."""
    long_s: float = 0.6
    """Seconds; a key that is down for so long makes a long press."""
    double_s: float = 0.35
    """Seconds; a second press that begins so soon after the end of the first makes a double press.
    It is waited for only where a double press is bound to something."""
    together_s: float = 0.08
    """Seconds; of two pedals pressed within them only the first counts."""

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
    """One key of a pedal, and what its presses give.

    Raises SettingError for a key that gives no command, and for what cannot be.
    """

    source: PedalKind
    """"system" is any key while another window has the focus; "device" is a chosen keyboard or
    pedal on Linux, which then reaches nobody else; "midi" is a MIDI pedal."""
    key: str
    """What goes down, as that source names it."""
    device: str = ""
    """The device's name as `row-caller pedal` tells it; "" for any."""
    short: str = ""
    """The name of the command that a short press gives; "" for none."""
    long: str = ""
    """The same for a long press."""
    double: str = ""
    """The same for a double press."""

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
class OwnReminder:
    """Something that the knitter wants to be told with every pattern, at one of three times.

    Raises SettingError for none of them, or more than one.
    """

    say: str
    row: int | None = None
    """The row that it is told in."""
    every_rows: int | None = None
    """Rows from one time to the next."""
    every_minutes: int | None = None
    """Minutes from one time to the next; it is then told with the row after."""

    def __post_init__(self) -> None:
        if not self.say.strip() or len(self.say) > LONGEST_REMINDER:
            raise SettingError(
                f"The reminder {self.say[:20]!r} has {len(self.say)} letters",
                f"give it 1 to {LONGEST_REMINDER}.",
            )
        times = [self.row, self.every_rows, self.every_minutes]
        if sum(time is not None for time in times) != 1:
            raise SettingError(
                f"The reminder {self.say[:20]!r} needs one time",
                "write one of row, every_rows and every_minutes.",
            )
        for time, most in ((self.row, None), (self.every_rows, MOST_ROWS_APART)):
            if time is not None:
                whole(SettingError, "A reminder's time", time, 1, most, "rows")
        if self.every_minutes is not None:
            whole(SettingError, "A reminder's time", self.every_minutes, 1, MOST_MINUTES, "minutes")


@dataclass(frozen=True)
class CallSettings:
    """How the rows are called. Raises SettingError for what cannot be."""

    wording: Wording = "short"
    """"short" says each yarn and the last needle of its run; "full" both needles, the stitches and
    the tails too; "changes" only what differs from the row before."""
    runs_at_once: int = USUAL_PORTION
    """The most runs that a command brings, so that a long row comes in portions; 0: whole rows."""
    follow: bool = False
    """Whether the next portion of a row comes by itself, at the knitter's pace."""
    pause_s: float = 0.15
    """Seconds of silence after each run."""
    numbers: NumberStyle = "checked"
    """"checked" says words, with the digits after those that are easily misheard, 13 to 19; "words"
    says words alone; "digits" one digit after the other."""
    crossings: bool = False
    """Whether each joint says which yarn the next one is taken up from under."""
    check_every_rows: int = 0
    """Rows from one check of the carriage's side and the hanging ends to the next; 0: never."""
    signals: SignalChoice = "commands"
    """"commands" has a tone for what was heard, not understood, or went wrong; "all" also one for
    where the carriage goes in each new row, and one at the end of a row called in portions."""
    stereo: bool = False
    """Whether each run is heard from where it lies in the work, left to right."""
    rest_minutes: int = 45
    """Minutes from one reminder to rest hands and shoulders to the next; 0: never. (Common advice
    is a break every half hour to an hour, from memory.)"""
    every_minutes: tuple[tuple[int, str], ...] = ()
    """The knitter's own reminders, as (minutes from one to the next, what is said)."""
    said: tuple[tuple[str, str], ...] | None = None
    """The words that are spoken to the caller, as (words, name of the command); None: the
    program's own."""
    taught: tuple[str, ...] = ()
    """The names of the commands that are heard in the knitter's own words too, known by their sound
    only."""
    numbers_heard: bool = False
    """Whether commands with a number can be spoken too."""

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
        whole(SettingError, "A rest", self.rest_minutes, most=MOST_MINUTES, unit="minutes apart")
        within(SettingError, "A pause", self.pause_s, 0, LONGEST_PAUSE_S, "seconds")
