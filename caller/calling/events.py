"""What reaches a session: commands, keys, typed lines, and what goes wrong."""

import contextlib
import queue
from dataclasses import dataclass

from caller import leaving
from caller.calling.commands import Command
from caller.calling.place import Place
from caller.errors import CallerError


@dataclass(frozen=True)
class Pressed:
    """A key, named as in `commands.Way.keys`, or the character that it types.

    `on_page` where a button of the page at the machine stands for it.
    """

    key: str
    on_page: bool = False


@dataclass(frozen=True)
class Typed:
    """A line from an input that is no terminal."""

    line: str


@dataclass(frozen=True)
class Spoken:
    """A command that was said, and the number said with it as it is typed: "42", "L20".

    `rival` is the number that it was else most likely; `close` when that is about as likely.
    """

    command: Command
    number: str = ""
    rival: str = ""
    close: bool = False


@dataclass(frozen=True)
class NotQuiteHeard:
    """What was said was nearly a command; it gets a soft signal and no words."""


@dataclass(frozen=True)
class Following:
    """It is time for the next portion of the row, which follows by itself."""


@dataclass(frozen=True)
class Unknown:
    """Something came in that is no command."""

    what: str


@dataclass(frozen=True)
class Trouble:
    """A device failed; the error says what, and what to do.

    `aloud` is False where the voice itself has failed and saying it would fail again.
    """

    error: CallerError
    aloud: bool = True

    @property
    def sentence(self) -> str:
        return str(self.error)


@dataclass(frozen=True)
class News:
    """Something to be told when there is time: it is said after whatever is being said."""

    sentence: str


@dataclass(frozen=True)
class Moved:
    """Another session has called this place; this one looks on."""

    place: Place


@dataclass(frozen=True)
class Again:
    """It is time to try once more what could not be kept: what was ordered at this place, and the
    event that ordered it."""

    place: Place
    event: "Ordering"


Ordering = Command | Spoken | Following | Pressed | Typed | Unknown
"""What may order something."""
Event = Ordering | NotQuiteHeard | Trouble | News | Moved | Again
Events = queue.SimpleQueue[Event]

WAKES_S = 1.0
"""Seconds of waiting after which it is looked whether a signal has come."""


def next_event(events: Events, timeout_s: float | None = None) -> Event:
    """Wait for an event; queue.Empty where none has come in time.

    In a wait without an end, Python notices a signal that came just before it, or on another
    thread, with the next event only: a session that the system ends would go on. So would
    one whose end was raised in a library's callback, where Python drops it.
    """
    leaving.go_on_unless_ended()
    if timeout_s is not None:
        return events.get(timeout=timeout_s)
    while True:
        leaving.go_on_unless_ended()
        with contextlib.suppress(queue.Empty):
            return events.get(timeout=WAKES_S)
