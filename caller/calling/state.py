"""Where a session stands, what can be ordered, and what an order leads to: plain data."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from caller.calling.commands import Command
from caller.calling.confirming import Question
from caller.calling.place import Place
from caller.calling.signals import Signal
from caller.calling.spelling import Asked, Spelled, Spelling
from caller.calling.words.row_call import How
from caller.calling.words.utterance import Utterance
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill
from caller.settings import CallSettings

Order = Command | Spelled | Asked


@dataclass(frozen=True)
class State:
    """Where a session stands.

    The work: `marked` are the rows that the knitter has marked, `remarks` the notes by rows, and
    `refills` the bobbins that were filled. `setting_up` is the first end of those being told before
    row 1, None once they hang; it is not kept, for at row 1 a session begins with them.

    The talk: `rate_wpm` is the rate of the voice, and `listening` whether spoken commands are
    obeyed. `last` is the order before and `times` how often it came in a row; `how` is how the
    place was called, so that it is repeated in the same words. `spelling` holds the keys pressed
    for a number, None when none is asked for. `question` waits for a yes. `explained` is the needle
    that was just asked about; asked again, the ways out are told.

    Times, in seconds of the session's clock: `began_s` is when the session began, `looked_s` when
    the reminders by the clock were last looked at, and `entered_s` when this row was first called.
    `row_times_s` is how long each of the last rows took, `yarn_times_s` how long a yarn of each.
    `hurried` counts the spoken moves in a hurry.
    """

    place: Place
    rate_wpm: int
    last: Order | None = None
    times: int = 0
    spelling: Spelling | None = None
    question: Question | None = None
    listening: bool = True
    marked: frozenset[int] = frozenset()
    how: How = "on"
    setting_up: int | None = None
    explained: Asked | None = None
    refills: tuple[Refill, ...] = ()
    remarks: Mapping[int, str] = field(default_factory=dict)
    began_s: float = 0.0
    looked_s: float = 0.0
    hurried: int = 0
    entered_s: float = 0.0
    row_times_s: tuple[float, ...] = ()
    yarn_times_s: tuple[float, ...] = ()


@dataclass(frozen=True)
class Answer:
    """What an order leads to: the new state, what is said and at which rate, the signals around
    it, and whether the session ends. After `goes_on_s` seconds from its beginning the next portion
    of the row is called unless something else is ordered; None waits for an order.

    The loop keeps the place on the disk before it says a word.
    """

    state: State
    say: Utterance
    rate_wpm: int
    before: tuple[Signal, ...] = ()
    after: tuple[Signal, ...] = ()
    leave: bool = False
    goes_on_s: float | None = None


@dataclass(frozen=True)
class Told:
    """An answer that was told, and what of; `begun` is False while no row has been called yet, as
    long as something is asked before the first one."""

    pattern: Pattern
    settings: CallSettings
    answer: Answer
    begun: bool
