"""What a check of everything finds: results as data, and the sentences that tell them."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from enum import Enum
from typing import Any

from caller.calling import commands
from caller.calling.commands import Command
from caller.calling.listening.level import Fault, Level, fault_of
from caller.errors import CallerError
from caller.plain_text import capitalised


class Outcome(Enum):
    """How a part is. "absent" is what can be done without; "skipped" was not tried."""

    WORKS = "works"
    FAILS = "fails"
    ABSENT = "not there"
    SKIPPED = "not tried"


ANSWERED = ("spoken command", "pedal")
"""The parts that the knitter is asked to try."""


@dataclass(frozen=True)
class Result:
    """What was found of one part, and what to do about it; both are full sentences.

    An `essential` part that fails makes the whole check fail.
    """

    part: str
    state: Outcome
    finding: str
    remedy: str = ""
    essential: bool = False

    @property
    def shown(self) -> str:
        return f"{self._head} {self.finding} {self.remedy}".rstrip()

    @property
    def is_news(self) -> bool:
        """Whether it is said unasked: what fails, and what came of the knitter's word and press."""
        answers = self.state is Outcome.WORKS and self.part in ANSWERED
        return self.state is Outcome.FAILS or answers

    @property
    def said(self) -> str:
        """Shorter, for the ear; of what fails all is said."""
        match self.state:
            case Outcome.WORKS:
                return self.finding
            case Outcome.ABSENT:
                return f"{self._head} {self.remedy}".rstrip()
            case _:
                return self.shown

    @property
    def _head(self) -> str:
        return f"{capitalised(self.part)}: {self.state.value}."


def needed(results: Sequence[Result]) -> list[str]:
    """The parts that are needed and fail."""
    return [one.part for one in results if one.essential and one.state is Outcome.FAILS]


@dataclass(frozen=True)
class Report:
    """All results, in the order in which they were told, and what helps to understand them.

    `devices` are the names of loudspeakers and microphones, the usual one first; `levels` those of
    the room and of a voice in it, where they were measured.
    """

    versions: Mapping[str, str | None]
    devices: Mapping[str, Sequence[str]]
    levels: Mapping[str, Level] = field(default_factory=dict)
    results: Sequence[Result] = ()

    @property
    def works(self) -> bool:
        return not needed(self.results)

    def as_json(self) -> dict[str, Any]:
        """One object for whoever helps; levels in decibels below full scale."""
        return {
            "works": self.works,
            "versions": dict(self.versions),
            "devices": {kind: list(names) for kind, names in self.devices.items()},
            "levels": {
                what: {key: _rounded(value) for key, value in asdict(level).items()}
                for what, level in self.levels.items()
            },
            "results": [
                asdict(one) | {"state": one.state.name.lower(), "remedy": one.remedy or None}
                for one in self.results
            ],
        }


def _rounded(value: float | bool) -> float | bool:
    return value if isinstance(value, bool) else round(value, 2)


def summary(results: Sequence[Result]) -> str:
    """Said when all that is needed was tried."""
    missing = needed(results)
    if not missing:
        return "All that is needed works."
    return f"Not all that is needed works. What fails: {', '.join(missing)}."


def not_there(results: Sequence[Result]) -> str | None:
    """One sentence for all that can be done without and is not there; None where all is."""
    parts = [one.part for one in results if one.state is Outcome.ABSENT]
    if not parts:
        return None
    *others, last = parts
    named = f"{', '.join(others)} and {last}" if others else last
    return f"Not there, and not needed: {named}."


def failed(part: str, error: CallerError, essential: bool = True) -> Result:
    """A part that an error keeps from working."""
    return Result(part, Outcome.FAILS, *_sentences(error), essential)


def absent(part: str, finding: str, remedy: str) -> Result:
    """A part that can be done without, and is not there."""
    return Result(part, Outcome.ABSENT, finding, remedy)


def unusable(part: str, error: CallerError) -> Result:
    """A part that can be done without, and that an error keeps from working."""
    return absent(part, *_sentences(error))


def _sentences(error: CallerError) -> tuple[str, str]:
    """The finding and the remedy of an error, each as a sentence of its own."""
    finding = error.finding if error.finding.endswith((".", "?")) else f"{error.finding}."
    return finding, capitalised(error.remedy)


def microphone_result(name: str | None, room: Level, voice: Level | None = None) -> Result:
    """The microphone, None for the usual one, by what it hears of the room and of a voice in it."""
    fault = fault_of(room, voice) if room.silent else fault_of(room)
    if fault is not None:
        return Result("microphone", Outcome.FAILS, fault.finding, fault.remedy, essential=True)
    who = f"The microphone {name}" if name else "The microphone"
    finding = f"{who} hears the room at {room.floor_db:.0f} decibels."
    if room.silent:  # some drivers let nothing pass until somebody speaks
        finding = f"{who} hears you, and nothing of the room."
    return Result("microphone", Outcome.WORKS, finding, essential=True)


def level_result(room: Level, voice: Level) -> Result:
    """The level of a voice, once something was said."""
    fault = fault_of(room, voice)
    if fault is not None:
        return Result("level", Outcome.FAILS, fault.finding, fault.remedy)
    above = "" if room.silent else f", {voice.loudest_db - room.floor_db:.0f} above the room"
    finding = f"Your voice is at {voice.loudest_db:.0f} decibels{above}."
    return Result("level", Outcome.WORKS, finding)


def heard_result(phrase: str, command: Command, engine: str) -> Result:
    means = "" if phrase == command.value else f", for the command {command.value}"
    finding = f"Heard by {engine}: {phrase}{means}."
    return Result("spoken command", Outcome.WORKS, finding, essential=True)


def unheard_result(seconds: float, nearly: bool, fault: Fault | None) -> Result:
    """Nothing that was said is a command; a fault of the level is then what to mend first."""
    finding = (
        "What you said sounded nearly like a command."
        if nearly
        else f"No command was heard in {seconds:g} seconds."
    )
    remedy = (
        "Say it again a little slower and nearer; row-caller teach lets it learn your own voice."
    )
    return Result(
        "spoken command", Outcome.FAILS, finding, fault.remedy if fault else remedy, essential=True
    )


def key_result(key: str, words: str) -> Result:
    """A key of the terminal; `words` is what it is called aloud."""
    command = commands.from_key(key)
    called = capitalised(words)
    if command is None:
        finding = f"{called} came in, and gives no command."
        return Result("pedal", Outcome.FAILS, finding, "Teach it with: row-caller pedal")
    return Result("pedal", Outcome.WORKS, f"{called} gives the command {command.value}.")


def pedal_result(command: Command) -> Result:
    """A press of a pedal that is kept."""
    return Result("pedal", Outcome.WORKS, f"Your pedal gives the command {command.value}.")


def unpressed_result(seconds: float, troubles: Sequence[CallerError]) -> Result:
    """No key and no pedal; not needed by those who speak."""
    if troubles:
        findings, remedies = zip(*map(_sentences, troubles), strict=True)
        return Result("pedal", Outcome.FAILS, " ".join(findings), " ".join(remedies))
    return Result(
        "pedal",
        Outcome.ABSENT,
        f"No pedal and no key was pressed in {seconds:g} seconds.",
        "If you have a pedal, teach it with: row-caller pedal",
    )
