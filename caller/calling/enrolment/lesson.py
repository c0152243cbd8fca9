"""The lesson in which the knitter teaches their own words, as a pure state machine.

One command after the other is asked for, take by take; then any of them is tried out. Every
function gives an `EnrolmentReply`: the lesson as it is then, what sounds and is said, and what is
to be kept.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from types import MappingProxyType

from caller.calling.commands import Command, from_key, from_line
from caller.calling.enrolment import sentences
from caller.calling.enrolment.takes import (
    ENOUGH,
    MOST,
    HeardAs,
    Sound,
    Take,
    alike,
    check,
    like_another,
    most_alike,
    phrase_of_another,
    unheard,
)
from caller.calling.ports import TakeLikeness
from caller.calling.signals import Signal
from caller.calling.words.utterance import Utterance
from caller.checks import whole
from caller.errors import SettingError

MOST_EXTRA = 2
"""The most takes that are asked for beyond the usual, when those of a command are unlike."""
MOST_UNANSWERED = 3
"""The lesson ends after so many questions in a row without an answer."""

Taught = Mapping[Command, tuple[Sound, ...]]


class LearnerAnswer(Enum):
    """What a key, or a typed line, asks for."""

    AGAIN = "again"
    BACK = "back"
    SKIP = "skip"
    LEAVE = "leave"
    PLAY = "play"
    KEYS = "keys"


@dataclass(frozen=True)
class EnrolmentLesson:
    """Where a lesson stands.

    `asked` are the commands to teach, `at` the one that is asked for; past the last they are tried.
    `taught` is everything that is kept, `fresh` the takes of the present command; `replacing` when
    it is taught already and they take the place of others, once they are all there. `extra` counts
    the takes asked for because the others were unlike, `unanswered` the questions without an
    answer, in a row. `understood` are the commands that the trial has heard.
    """

    asked: tuple[Command, ...]
    takes_each: int
    taught: Taught
    at: int = 0
    fresh: tuple[Sound, ...] = ()
    replacing: bool = False
    extra: int = 0
    unanswered: int = 0
    understood: frozenset[Command] = frozenset()

    @property
    def trying(self) -> bool:
        """Whether all is taught, and tried out."""
        return self.at >= len(self.asked)

    @property
    def command(self) -> Command:
        return self.asked[self.at]

    @property
    def whole(self) -> frozenset[Command]:
        """The commands that can be listened for."""
        return frozenset(name for name, takes in self.taught.items() if len(takes) >= ENOUGH)

    @property
    def to_try(self) -> frozenset[Command]:
        """What the trial waits to hear."""
        return (self.whole & set(self.asked)) - self.understood


@dataclass(frozen=True)
class EnrolmentReply:
    """The lesson after something happened, the signal and the words, and whether it is over.

    `play` is a take that is played back behind the words; `keep` are takes that are now all there
    is of a command.
    """

    lesson: EnrolmentLesson
    say: Utterance
    signal: Signal | None = None
    keep: tuple[Command, tuple[Sound, ...]] | None = None
    over: bool = False
    play: Sound | None = None


def checked_count(takes_each: int) -> int:
    """How many takes of each command; SettingError for too few or too many."""
    return whole(SettingError, "A lesson", takes_each, ENOUGH, MOST, "takes a command")


def begin(
    asked: Sequence[Command], takes_each: int, taught: Taught, anew: bool = False
) -> EnrolmentReply:
    """Open a lesson with what is kept already.

    Commands that are taught are passed over, unless `anew`; one that was begun is carried on.
    SettingError for too few or too many takes.
    """
    lesson = EnrolmentLesson(
        tuple(asked), checked_count(takes_each), MappingProxyType(dict(taught))
    )
    if not anew:
        asked = [command for command in asked if command not in lesson.whole]
        if not asked:
            lesson = replace(lesson, at=len(lesson.asked))
            return EnrolmentReply(lesson, sentences.taught_already() + sentences.trial())
        lesson = replace(lesson, asked=tuple(asked))
    lesson = _turned_to(lesson, 0)
    return EnrolmentReply(lesson, sentences.opening() + _question(lesson))


def heard(
    lesson: EnrolmentLesson, take: Take, likeness: TakeLikeness, heard_as: HeardAs
) -> EnrolmentReply:
    """Something was said in answer to a question."""
    lesson = replace(lesson, unanswered=0)
    finding = check(take) or unheard(take.samples, likeness)
    if finding is not None:
        say = sentences.refused(finding) + _repeated(lesson)
        return EnrolmentReply(lesson, say, Signal.NOT_UNDERSTOOD)
    other = like_another(take.samples, lesson.command, lesson.taught, likeness)
    if other is not None:
        say = sentences.like_another(other) + _question(lesson)
        return EnrolmentReply(lesson, say, Signal.NOT_UNDERSTOOD)
    other = phrase_of_another(take.samples, lesson.command, heard_as)
    if other is not None:
        say = sentences.phrase_of_another(other) + _question(lesson)
        return EnrolmentReply(lesson, say, Signal.NOT_UNDERSTOOD)
    lesson = replace(lesson, fresh=(*lesson.fresh, take.samples))
    if len(lesson.fresh) < lesson.takes_each:
        say = sentences.another(len(lesson.fresh) + 1)
        return _kept(EnrolmentReply(lesson, say, Signal.HEARD), lesson.fresh)
    best = most_alike(lesson.fresh, lesson.takes_each, likeness)
    agree = alike(best, likeness)
    if not agree and lesson.extra < MOST_EXTRA:
        lesson = replace(lesson, extra=lesson.extra + 1)
        return EnrolmentReply(lesson, sentences.once_more(), Signal.HEARD)
    reply = _kept(EnrolmentReply(lesson, (), Signal.HEARD), best)
    return _next(reply, () if agree else sentences.still_unlike())


def tried(lesson: EnrolmentLesson, command: Command | None) -> EnrolmentReply:
    """Something was said in the trial, and understood as this command, or not at all."""
    lesson = replace(lesson, unanswered=0)
    if command is None:
        return EnrolmentReply(lesson, sentences.not_understood(), Signal.NOT_UNDERSTOOD)
    lesson = replace(lesson, understood=lesson.understood | {command})
    say = sentences.understood(command)
    if not lesson.to_try:
        return EnrolmentReply(lesson, say + sentences.all_understood(), Signal.HEARD, over=True)
    return EnrolmentReply(lesson, say, Signal.HEARD)


def silent(lesson: EnrolmentLesson, dead: bool = False) -> EnrolmentReply:
    """Nothing was said for a while; `dead` when the microphone gives no sound at all."""
    lesson = replace(lesson, unanswered=lesson.unanswered + 1)
    if lesson.unanswered >= MOST_UNANSWERED:
        return EnrolmentReply(lesson, sentences.silent_end(), over=True)
    say = sentences.dead_microphone() if dead else sentences.nothing_heard()
    return EnrolmentReply(lesson, say + _question(lesson))


def answer_of(text: str, line: bool) -> LearnerAnswer | None:
    """What a key, or a whole typed line, asks for; the keys are those of the commands."""
    word = text.casefold().strip()
    if line and word in {answer.value for answer in LearnerAnswer}:
        return LearnerAnswer(word)
    command = from_line(text) if line else from_key(text)
    return None if command is None else _BY_COMMAND.get(command)


_BY_COMMAND = {
    Command.REPEAT: LearnerAnswer.AGAIN,
    Command.WHERE: LearnerAnswer.AGAIN,
    Command.BACK: LearnerAnswer.BACK,
    Command.NEXT: LearnerAnswer.SKIP,
    Command.LEAVE: LearnerAnswer.LEAVE,
    Command.PAUSE: LearnerAnswer.PLAY,
    Command.HELP: LearnerAnswer.KEYS,
}


def pressed(lesson: EnrolmentLesson, answer: LearnerAnswer | None) -> EnrolmentReply:
    """A key was pressed, or a line typed; None for one that means nothing here."""
    lesson = replace(lesson, unanswered=0)
    match answer:
        case LearnerAnswer.AGAIN:
            return EnrolmentReply(lesson, _question(lesson), Signal.HEARD)
        case LearnerAnswer.BACK:
            return _back(lesson)
        case LearnerAnswer.SKIP if not lesson.trying:
            return _next(EnrolmentReply(lesson, (), Signal.HEARD), sentences.left_out())
        case LearnerAnswer.SKIP | LearnerAnswer.LEAVE:
            return EnrolmentReply(lesson, _ending(lesson), Signal.HEARD, over=True)
        case LearnerAnswer.PLAY:
            return _played_back(lesson)
        case LearnerAnswer.KEYS:
            return EnrolmentReply(lesson, sentences.keys() + _question(lesson), Signal.HEARD)
        case None:
            say = sentences.no_such_key() + _question(lesson)
            return EnrolmentReply(lesson, say, Signal.NOT_UNDERSTOOD)


def _played_back(lesson: EnrolmentLesson) -> EnrolmentReply:
    """The take that was kept last, of this command or the one before; the question stays."""
    takes = lesson.fresh
    if not takes and lesson.at > 0:
        takes = lesson.taught.get(lesson.asked[lesson.at - 1], ())
    if not takes:
        say = sentences.nothing_to_play() + _question(lesson)
        return EnrolmentReply(lesson, say, Signal.NOT_UNDERSTOOD)
    return EnrolmentReply(lesson, sentences.playing_back(), Signal.HEARD, play=takes[-1])


def _back(lesson: EnrolmentLesson) -> EnrolmentReply:
    """The take before is taken away and asked for again, in the command before if need be."""
    if not lesson.fresh and lesson.at == 0:
        return EnrolmentReply(
            lesson, sentences.first_take() + _question(lesson), Signal.NOT_UNDERSTOOD
        )
    if not lesson.fresh:
        at = lesson.at - 1
        before = lesson.taught.get(lesson.asked[at], ())
        lesson = replace(_turned_to(lesson, at), fresh=before, understood=frozenset())
    lesson = replace(lesson, fresh=lesson.fresh[:-1], extra=0)
    say = sentences.taken_away() + _question(lesson)
    return _kept(EnrolmentReply(lesson, say, Signal.HEARD), lesson.fresh)


def _kept(reply: EnrolmentReply, takes: tuple[Sound, ...]) -> EnrolmentReply:
    """These takes of the present command are kept; not before they are all there, when they take
    the place of others."""
    lesson = reply.lesson
    if lesson.replacing and len(takes) < lesson.takes_each:
        return reply
    taught = {**lesson.taught, lesson.command: takes}
    lesson = replace(lesson, taught=MappingProxyType(taught))
    return replace(reply, lesson=lesson, keep=(lesson.command, takes))


def _next(reply: EnrolmentReply, say: Utterance) -> EnrolmentReply:
    """On to the next command, to the trial, or, with nothing to try, to the end."""
    lesson = _turned_to(reply.lesson, reply.lesson.at + 1)
    if lesson.trying and not lesson.to_try:
        return replace(reply, lesson=lesson, say=say + _ending(lesson), over=True)
    return replace(reply, lesson=lesson, say=say + _question(lesson))


def _turned_to(lesson: EnrolmentLesson, at: int) -> EnrolmentLesson:
    """The lesson at another command, with the takes of it that were kept before it was whole."""
    lesson = replace(lesson, at=at, fresh=(), replacing=False, extra=0)
    if lesson.trying:
        return lesson
    if lesson.command in lesson.whole:
        return replace(lesson, replacing=True)
    return replace(lesson, fresh=lesson.taught.get(lesson.command, ()))


def _question(lesson: EnrolmentLesson) -> Utterance:
    if lesson.trying:
        return sentences.trial()
    return sentences.question(lesson.command, len(lesson.fresh) + 1, _count(lesson))


def _repeated(lesson: EnrolmentLesson) -> Utterance:
    """The question after a refusal, which is for the same take."""
    return sentences.another(len(lesson.fresh) + 1)


def _count(lesson: EnrolmentLesson) -> int:
    return max(lesson.takes_each, len(lesson.fresh) + 1)


def _ending(lesson: EnrolmentLesson) -> Utterance:
    left = [command for command in lesson.asked if command not in lesson.whole]
    return sentences.ending(len(lesson.whole), len(left))
