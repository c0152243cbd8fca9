"""Keys of the terminal, and with them every pedal that sends keys; and typed lines."""

import io
import sys
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol, TextIO

from caller.calling.commands import Command
from caller.calling.events import Pressed, Trouble, Typed
from caller.errors import ScreenError

if TYPE_CHECKING:
    from prompt_toolkit.key_binding import KeyPress

_NAMES = {
    " ": "space",
    "c-m": "enter",
    "c-j": "enter",
    "c-h": "backspace",
    "c-c": "control-c",
    "c-d": "control-d",
}
"""What prompt_toolkit calls a key, against what the table of commands calls it."""
_ESCAPE_S = 0.5
"""Other keys begin with the byte of Escape; it is Escape when no more has come by then."""


class Inbox(Protocol):
    """Takes what is pressed and typed: the queue of a session or of a lesson."""

    def put(self, event: Pressed | Typed | Command | Trouble, /) -> None: ...


NO_KEYS = Trouble(
    ScreenError(
        "No keys can be read here.",
        "Speak the commands, or use a pedal. To end without either, close the window.",
    )
)


def _none(_key: str) -> bool:
    return False


def _yes() -> bool:
    return True


class Keyboard:
    """Reads single keys from the terminal on a thread of its own and puts them in the queue.

    The terminal is in raw mode from `start` to `close`: keys act at once and are not echoed. Keys
    for which `taken` is true are left to a pedal that is heard elsewhere. A terminal that cannot be
    read leaves, where the keys are `alone`, and else is told of.
    """

    def __init__(
        self,
        events: Inbox,
        taken: Callable[[str], bool] = _none,
        alone: Callable[[], bool] = _yes,
    ) -> None:
        import asyncio  # late: typed lines begin a tenth sooner without it

        self._events = events
        self._taken = taken
        self._alone = alone
        self._loop: asyncio.AbstractEventLoop | None = None
        self._done = asyncio.Event()
        self._ready = threading.Event()
        self._thread = threading.Thread(target=self._run, name="keyboard", daemon=True)

    def start(self) -> None:
        self._thread.start()
        self._ready.wait(5)

    def close(self) -> None:
        if self._loop is not None and self._thread.is_alive():
            self._loop.call_soon_threadsafe(self._done.set)
            self._thread.join(5)

    def _run(self) -> None:
        import asyncio

        try:
            asyncio.run(self._read())
        except Exception:  # the terminal's or its library's, which names none
            self._lost()
        finally:
            self._ready.set()

    def _lost(self) -> None:
        self._events.put(Command.LEAVE if self._alone() else NO_KEYS)

    async def _read(self) -> None:
        import asyncio

        from prompt_toolkit.input import create_input

        self._loop = loop = asyncio.get_running_loop()
        source = create_input(always_prefer_tty=True)

        def press(keys: "list[KeyPress]") -> None:
            for one in keys:
                self._press(one.key if isinstance(one.key, str) else one.key.value)

        later: asyncio.TimerHandle | None = None

        def take() -> None:
            nonlocal later
            if later is not None:
                later.cancel()
            later = loop.call_later(_ESCAPE_S, lambda: press(source.flush_keys()))
            try:
                press(source.read_keys())
                if source.closed:
                    self._events.put(Command.LEAVE)
                    self._done.set()
            except OSError:  # asyncio would write it on the screen, again and again
                self._lost()
                self._done.set()

        with source.raw_mode(), source.attach(take):
            self._ready.set()
            await self._done.wait()
        source.close()

    def _press(self, key: str) -> None:
        if key.startswith("<"):
            return  # the terminal's own replies
        name = _NAMES.get(key, key)
        if not self._taken(name):
            self._events.put(Pressed(name))


class TypedLines:
    """Reads one command a line when the input is no terminal; the end of input leaves.

    An input without a line, or one that cannot be read, leaves where nothing else gives commands,
    for which `alone` is asked, and else is told of.
    """

    def __init__(
        self, events: Inbox, source: TextIO | None = None, alone: Callable[[], bool] = _yes
    ) -> None:
        self._events = events
        self._source = source if source is not None else sys.stdin
        self._alone = alone
        self._thread = threading.Thread(target=self._run, name="typed lines", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def close(self) -> None:
        """Nothing to do: the thread ends with the input or with the program."""

    def _run(self) -> None:
        typed = False
        try:
            if isinstance(self._source, io.TextIOWrapper):
                self._source.reconfigure(errors="replace")  # then it is not understood, no more
            for line in self._source:
                typed = True
                self._events.put(Typed(line))
        except (OSError, ValueError):  # ValueError: it has been closed
            typed = False
        self._events.put(Command.LEAVE if typed or self._alone() else NO_KEYS)


def key_source(
    events: Inbox,
    is_terminal: Callable[[], bool],
    taken: Callable[[str], bool] = _none,
    alone: Callable[[], bool] = _yes,
) -> Keyboard | TypedLines:
    """Single keys from a terminal, but for those that are taken; lines from anything else."""
    if is_terminal():
        return Keyboard(events, taken, alone)
    return TypedLines(events, alone=alone)
