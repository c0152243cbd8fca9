"""A pedal's lesson at work: one inbox for every source, one thread that owns the lesson.

1. Each source has a thread that puts in what goes down and up there; the terminal puts in its keys.
2. One press may come in by several sources. They are waited for, and the nearest to the pedal
   counts: its own device before the keys of the whole system, and those before the terminal's.
3. For each press, and for a long quiet, `lesson` answers.
4. What is to be kept is on the disk before the answer is shown and said.
"""

import queue
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from caller.calling.commands import Command, from_line
from caller.calling.events import News, Pressed, Trouble, Typed
from caller.calling.pedals import lesson
from caller.calling.pedals.lesson import LearnedPedal, PedalLesson, PedalReply
from caller.calling.pedals.presses import KINDS, Kind, Press, Presses
from caller.calling.ports import Edge, Loudspeaker, Voice
from caller.calling.signals import Signal
from caller.calling.speech import last_words, signalled
from caller.calling.words.utterance import Utterance, sentence, shown
from caller.settings import PedalKey, PedalKind, PressSettings

SETTLE_S = 0.3
"""One press is waited for so long at the other sources."""
PATIENCE_S = 15.0
"""A press is waited for so long, in quiet, before the question comes again."""
REPEATING_S = 0.8
"""Longer than a terminal's key is held before it repeats; it does not tell when it goes up."""

TICK_S = 0.02

_RANK = ("device", "midi", "system")


@dataclass(frozen=True)
class Felt:
    """What went down or up at a source; `device` is its name, "" for any."""

    source: PedalKind
    device: str
    edge: Edge


Inbox = queue.SimpleQueue[object]
"""What reaches a lesson: `Felt`, `Pressed` and `Typed` at the terminal, `Command.LEAVE`,
`Trouble` and `News`."""


@dataclass(frozen=True)
class PedalDesk:
    """All that a pedal's lesson works with.

    `keep` keeps the pedal that was learned. `show` puts a line on the screen; `clock` gives
    seconds, as `Edge.at_s` does.
    """

    voice: Voice
    loudspeaker: Loudspeaker
    presses: PressSettings
    keep: Callable[[PedalKey], None]
    show: Callable[[str], None]
    inbox: Inbox
    clock: Callable[[], float] = time.monotonic


def run(opened: PedalReply, desk: PedalDesk) -> PedalLesson:
    """Lead the lesson from its opening to its end.

    Raises SettingError when the pedal cannot be kept; then nothing is.
    """
    sitting = _Sitting(desk, opened.lesson)
    over = sitting.tell(opened)
    while not over:
        try:
            event = desk.inbox.get(timeout=TICK_S)
        except queue.Empty:
            event = None
        for reply in sitting.answers(event):
            over = sitting.tell(reply)
            if over:
                break
    last_words(desk.loudspeaker, desk.show)
    return sitting.lesson


@dataclass
class _Sitting:
    """One lesson, and what is pressed in it.

    `_found` is where one press came in while the pedal is looked for: pedals, and the terminal's
    key. `_typed` is that key, and when it came last.
    """

    desk: PedalDesk
    lesson: PedalLesson
    _presses: dict[tuple[PedalKind, str], Presses] = field(default_factory=dict)
    _found: list[LearnedPedal | str] = field(default_factory=list)
    _found_s: float = 0.0
    _typed: tuple[str, float] = ("", float("-inf"))
    _told_s: float = 0.0

    def tell(self, reply: PedalReply) -> bool:
        """Keep, show, sound and say what there is to; whether that was the end."""
        if reply.keep is not None:
            self.desk.keep(reply.keep)
        self.lesson = reply.lesson
        self._told_s = self.desk.clock()
        self.desk.show(shown(reply.say))
        self._say(reply.say, reply.signal)
        return reply.over

    def answers(self, event: object) -> Iterator[PedalReply]:
        """What is to be told of what came in and of the time, each told before the next is drawn.

        `event` is None when only time has passed.
        """
        match event:
            case Felt(source, device, edge):
                for press in self._presses_of(source, device).feed(edge):
                    yield from self._pressed(source, device, press)
            case Pressed("control-c" | "control-d") | Command.LEAVE:
                yield lesson.left(self.lesson)
            case Pressed(key):
                self._at_terminal(key)
            case Typed(line):
                left = from_line(line) is Command.LEAVE
                yield (lesson.left if left else lesson.again)(self.lesson)
            case News(said):
                self.desk.show(said)
                self._say(sentence(said), None)
            case Trouble(error, aloud):
                self.desk.show(str(error))
                if aloud:
                    self._say(sentence(str(error)), Signal.TROUBLE)
        yield from self._in_time(self.desk.clock())

    def _in_time(self, now_s: float) -> Iterator[PedalReply]:
        for (source, device), presses in self._presses.items():
            for press in presses.tick(now_s):
                yield from self._pressed(source, device, press)
        if self._found and now_s - self._found_s >= SETTLE_S:
            found, self._found = self._found, []
            nearest = min(found, key=self._distance)
            if isinstance(nearest, LearnedPedal):
                yield lesson.found(self.lesson, nearest)
            else:
                yield lesson.at_terminal(self.lesson, nearest)
        quiet_s = min(now_s - self._told_s, self.desk.loudspeaker.quiet_for())
        if quiet_s >= PATIENCE_S and not self._found:
            yield lesson.quiet(self.lesson)

    def _presses_of(self, source: PedalKind, device: str) -> Presses:
        """The presses at one source; while the pedal is looked for, of every key there."""

        def bound(_source: str, key: str) -> tuple[Kind, ...]:
            if self.lesson.looking:
                return ("short",)
            return KINDS if self.lesson.pedal == LearnedPedal(source, device, key) else ()

        if (source, device) not in self._presses:
            self._presses[source, device] = Presses(self.desk.presses, bound)
        return self._presses[source, device]

    def _pressed(self, source: PedalKind, device: str, press: Press) -> Iterator[PedalReply]:
        if self.lesson.looking:
            self._find(LearnedPedal(source, device, press.key))
        else:
            yield lesson.pressed(self.lesson, press.kind)

    def _at_terminal(self, key: str) -> None:
        """A key that the terminal repeats while it is held counts once."""
        before, before_s = self._typed
        now_s = self.desk.clock()
        self._typed = key, now_s
        if self.lesson.looking and (key != before or now_s - before_s >= REPEATING_S):
            self._find(key)

    def _find(self, found: LearnedPedal | str) -> None:
        if not self._found:
            self._found_s = self.desk.clock()
        self._found.append(found)

    def _distance(self, found: LearnedPedal | str) -> int:
        if not isinstance(found, LearnedPedal):
            return len(_RANK)
        return -1 if found == self.lesson.pedal else _RANK.index(found.source)

    def _say(self, say: Utterance, signal: Signal | None) -> None:
        """Cut the speech, if any, and say this."""
        before = () if signal is None else (signal,)
        desk = self.desk
        desk.loudspeaker.play(signalled(desk.voice, say, desk.inbox.put, before))
