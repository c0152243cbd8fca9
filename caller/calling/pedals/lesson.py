"""The lesson in which a pedal is learned, as a pure state machine.

The pedal is pressed until it is known for sure; then its presses are given their commands and tried
out. Every function gives a `PedalReply`: the lesson as it is then, what sounds and is said, and the
pedal that is to be kept.
"""

from dataclasses import dataclass, replace
from enum import Enum
from typing import NamedTuple

from caller.calling.commands import WAYS, Command, from_key
from caller.calling.pedals.presses import KINDS, Kind
from caller.calling.signals import Signal
from caller.calling.words.keys import key_words
from caller.calling.words.utterance import RUN_PAUSE_S, Clause, Utterance
from caller.plain_text import capitalised
from caller.settings import PedalKey, PedalKind

MOST_UNANSWERED = 4
"""The lesson ends when nothing has come so many times in a row."""

_PRESS = {"short": "A short press", "long": "A long press", "double": "Two quick presses"}
_DOES = {way.command.value: way.does for way in WAYS} | {"": "nothing"}
# A needle is asked about by its number, and a remark has words, which a pedal cannot give.
_NOT_BY_PEDAL = (Command.NEEDLE, Command.HAPPENED, Command.REMARK)
_OFFERED = tuple(command.value for command in Command if command not in _NOT_BY_PEDAL)
_LEAVING = "To leave, press control C."


class Bound(NamedTuple):
    """The names of the commands that the presses give, "" for none."""

    short: str = Command.NEXT.value
    long: str = Command.BACK.value
    double: str = Command.REPEAT.value

    def of(self, kind: Kind) -> str:
        return {"short": self.short, "long": self.long, "double": self.double}[kind]


@dataclass(frozen=True)
class LearnedPedal:
    """What was pressed, named as in `PedalKey`."""

    source: PedalKind
    device: str
    key: str


class Stage(Enum):
    """What the lesson waits for."""

    FIND = "the pedal"
    ENSURE = "the pedal once more"
    OFFER = "a short press that keeps what it gives, or a long one"
    CHOOSE = "a short press that keeps the command in question, or a long one for another"
    TRY = "any press"


@dataclass(frozen=True)
class PedalLesson:
    """Where a lesson stands.

    `bound` is what the presses give by now, and `known` are the pedals that are kept already.
    `trouble` says what could not be listened to. `kind` is the press whose command is chosen, and
    `choice` counts how often another one was asked for. `unanswered` counts the times that nothing
    came, in a row.
    """

    bound: Bound
    known: tuple[PedalKey, ...] = ()
    trouble: str = ""
    stage: Stage = Stage.FIND
    pedal: LearnedPedal | None = None
    kind: Kind = "short"
    choice: int = 0
    unanswered: int = 0

    @property
    def looking(self) -> bool:
        """Whether the pedal is still looked for."""
        return self.stage in (Stage.FIND, Stage.ENSURE)


@dataclass(frozen=True)
class PedalReply:
    """The lesson after something happened, the signal and the words, and whether it is over.

    `keep` is the pedal with its commands, once they are settled.
    """

    lesson: PedalLesson
    say: Utterance
    signal: Signal | None = None
    keep: PedalKey | None = None
    over: bool = False


def begin(
    bound: Bound, known: tuple[PedalKey, ...] = (), trouble: str = "", at_once: bool = False
) -> PedalReply:
    """Open a lesson; `trouble` is told when nothing comes, or `at_once`."""
    lesson = PedalLesson(bound, known, trouble)
    first = _told(trouble) if trouble and at_once else ()
    return PedalReply(lesson, first + _question(lesson) + _told(_LEAVING))


def found(lesson: PedalLesson, pedal: LearnedPedal) -> PedalReply:
    """Something was pressed while the pedal is looked for."""
    lesson = replace(lesson, unanswered=0)
    if lesson.stage is Stage.ENSURE and pedal == lesson.pedal:
        lesson = replace(lesson, stage=Stage.OFFER)
        return PedalReply(lesson, _told("That is your pedal.") + _question(lesson), Signal.HEARD)
    another = lesson.stage is Stage.ENSURE
    told = f"{key_words(pedal.key)}, from {_from(pedal)}."
    say = [f"That is another one: {told}" if another else capitalised(told)]
    if pedal.source == "system":
        say.append("It acts in every window while you knit.")
    if any((kept.source, kept.device, kept.key) == _parts(pedal) for kept in lesson.known):
        say.append("It is known already, and what it gives now takes the place of that.")
    lesson = replace(lesson, stage=Stage.ENSURE, pedal=pedal)
    return PedalReply(
        lesson, _told(*say) + _question(lesson), Signal.NOT_UNDERSTOOD if another else Signal.HEARD
    )


def at_terminal(lesson: PedalLesson, key: str) -> PedalReply:
    """A key came to the terminal alone, while the pedal is looked for; named as in `Way.keys`."""
    lesson = replace(lesson, unanswered=0)
    command = from_key(key)
    say = [f"{capitalised(key_words(key))}, at this terminal."]
    if command is None:
        say += [
            "It gives no command there.",
            "Set the pedal to send page down, which calls what follows, or page up, which calls "
            "what came before.",
        ]
    else:
        say += [
            f"While this terminal has the focus, it gives this already: {_DOES[command.value]}.",
            "Nothing need be bound.",
        ]
    return PedalReply(lesson, _told(*say) + _question(lesson) + _told(_LEAVING), Signal.HEARD)


def pressed(lesson: PedalLesson, kind: Kind) -> PedalReply:
    """A press of the pedal that was found."""
    lesson = replace(lesson, unanswered=0)
    match lesson.stage, kind:
        case Stage.TRY, _:
            say = f"{_PRESS[kind]}: {_DOES[lesson.bound.of(kind)]}."
            return PedalReply(lesson, _told(say), Signal.HEARD)
        case _, "double":
            return PedalReply(lesson, _question(lesson), Signal.HEARD)
        case Stage.OFFER, "short":
            return _settled(lesson, chosen=False)
        case Stage.OFFER, "long":
            lesson = replace(lesson, stage=Stage.CHOOSE, kind=KINDS[0], choice=0)
            return PedalReply(lesson, _question(lesson), Signal.HEARD)
        case Stage.CHOOSE, "short":
            return _chosen(lesson)
        case Stage.CHOOSE, "long":
            lesson = replace(lesson, choice=lesson.choice + 1)
            return PedalReply(
                lesson, _told(f"{capitalised(_DOES[_proposed(lesson)])}?"), Signal.HEARD
            )
    return again(lesson)


def again(lesson: PedalLesson) -> PedalReply:
    """The question once more."""
    return PedalReply(lesson, _question(lesson))


def quiet(lesson: PedalLesson) -> PedalReply:
    """Nothing came for a while."""
    if lesson.stage is Stage.TRY:
        return left(lesson)
    lesson = replace(lesson, unanswered=lesson.unanswered + 1)
    if lesson.unanswered >= MOST_UNANSWERED:
        ending = "See that the pedal is plugged in, and begin again."
        return PedalReply(lesson, _told("No press came, so nothing is kept.", ending), over=True)
    say = ["No press has come yet."]
    if lesson.stage is Stage.FIND and lesson.trouble:
        say.append(lesson.trouble)
    return PedalReply(lesson, _told(*say) + _question(lesson) + _told(_LEAVING))


def left(lesson: PedalLesson) -> PedalReply:
    """The knitter leaves."""
    kept = lesson.stage is Stage.TRY
    return PedalReply(lesson, _told("Done." if kept else "Stopped. Nothing is kept."), over=True)


def _chosen(lesson: PedalLesson) -> PedalReply:
    """The command in question is taken, and the next press is asked for."""
    lesson = replace(lesson, bound=lesson.bound._replace(**{lesson.kind: _proposed(lesson)}))
    following = KINDS.index(lesson.kind) + 1
    if following == len(KINDS):
        return _settled(lesson, chosen=True)
    lesson = replace(lesson, kind=KINDS[following], choice=0)
    return PedalReply(lesson, _question(lesson), Signal.HEARD)


def _settled(lesson: PedalLesson, chosen: bool) -> PedalReply:
    """The pedal is to be kept; what its presses give is told where it was chosen one by one."""
    assert lesson.pedal is not None, "a pedal is found before its presses are chosen"
    source, device, key = _parts(lesson.pedal)
    lesson = replace(lesson, stage=Stage.TRY)
    keep = PedalKey(source, key, device, *lesson.bound)
    say = _told("It is kept.") + (_bound(lesson.bound) if chosen else ()) + _question(lesson)
    return PedalReply(lesson, say, Signal.HEARD, keep)


def _question(lesson: PedalLesson) -> Utterance:
    """What the lesson waits for."""
    match lesson.stage:
        case Stage.FIND:
            return _told("Press the pedal.")
        case Stage.ENSURE:
            return _told("Press it once more, to be sure.")
        case Stage.OFFER:
            return _bound(lesson.bound) + _told(
                "To keep this, press short; to choose others, press long."
            )
        case Stage.CHOOSE:
            return _told(
                f"{_PRESS[lesson.kind]}: {_DOES[_proposed(lesson)]}?",
                "To take it, press short; for another, press long.",
            )
        case Stage.TRY:
            return _told("Try it; when you are done, wait.")


def _proposed(lesson: PedalLesson) -> str:
    """The command in question: first what is bound, then the others, at last none."""
    bound = lesson.bound.of(lesson.kind)
    names: list[str] = [bound, *(name for name in _OFFERED if name != bound)]
    if lesson.kind != "short" and bound:
        names.append("")
    return names[lesson.choice % len(names)]


def _bound(bound: Bound) -> Utterance:
    return _told(*(f"{_PRESS[kind]}: {_DOES[bound.of(kind)]}." for kind in KINDS))


def _from(pedal: LearnedPedal) -> str:
    if pedal.source == "midi":
        return f"MIDI device {pedal.device}"
    return pedal.device or "the keyboard"


def _parts(pedal: LearnedPedal) -> tuple[PedalKind, str, str]:
    return pedal.source, pedal.device, pedal.key


def _told(*sentences: str) -> Utterance:
    return tuple(Clause(sentence, sentence, RUN_PAUSE_S) for sentence in sentences)
