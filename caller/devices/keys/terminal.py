"""Keys of the terminal, and with them every pedal that sends keys; and typed lines."""

import asyncio
import sys
import threading
from collections.abc import Callable
from typing import Protocol, TextIO

from caller.calling.commands import Command
from caller.calling.events import Pressed, Typed

_NAMES = {
    " ": "space",
    "c-m": "enter",
    "c-j": "enter",
    "c-h": "backspace",
    "c-c": "control-c",
    "c-d": "control-d",
}
"""What prompt_toolkit calls a key, against what the table of commands calls it."""


class Inbox(Protocol):
    """Takes what is pressed and typed: the queue of a session or of a lesson."""

    def put(self, event: Pressed | Typed | Command, /) -> None: ...


def _none(_key: str) -> bool:
    return False


class Keyboard:
    """Reads single keys from the terminal on a thread of its own and puts them in the queue.

    The terminal is in raw mode from `start` to `close`: keys act at once and are not echoed. Keys
    for which `taken` is true are left to a pedal that is heard elsewhere.
    """

    def __init__(self, events: Inbox, taken: Callable[[str], bool] = _none) -> None:
        self._events = events
        self._taken = taken
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
        asyncio.run(self._read())

    async def _read(self) -> None:
        from prompt_toolkit.input import create_input

        self._loop = asyncio.get_running_loop()
        source = create_input(always_prefer_tty=True)

        def take() -> None:
            for press in source.read_keys():
                self._press(press.key if isinstance(press.key, str) else press.key.value)
            if source.closed:
                self._events.put(Command.LEAVE)
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
    """Reads one command a line when the input is no terminal; the end of input leaves."""

    def __init__(self, events: Inbox, source: TextIO | None = None) -> None:
        self._events = events
        self._source = source if source is not None else sys.stdin
        self._thread = threading.Thread(target=self._run, name="typed lines", daemon=True)

    def start(self) -> None:
        self._thread.start()

    def close(self) -> None:
        """Nothing to do: the thread ends with the input or with the program."""

    def _run(self) -> None:
        for line in self._source:
            self._events.put(Typed(line))
        self._events.put(Command.LEAVE)


def key_source(
    events: Inbox, is_terminal: Callable[[], bool], taken: Callable[[str], bool] = _none
) -> Keyboard | TypedLines:
    """Single keys from a terminal, but for those that are taken; lines from anything else."""
    return Keyboard(events, taken) if is_terminal() else TypedLines(events)
