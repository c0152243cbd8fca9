"""Pedals at work: what their keys do becomes commands in the session's queue.

1. Each pedal is read on a thread of its own; one that is lost is opened again and again.
2. One thread puts all that comes in through `Presses`, woken when a press falls due.
3. A press that a command is bound to puts it into the session's queue.
"""

import queue
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass, replace

from caller.calling.commands import BY_NAME, Command
from caller.calling.events import Events, News, Trouble
from caller.calling.pedals.presses import Kind, Press, Presses
from caller.calling.ports import Edge, PedalSource
from caller.errors import PedalError, SettingError
from caller.plain_text import capitalised
from caller.settings import PedalKey, PressSettings

RETRY_S = 2.0


@dataclass(frozen=True)
class OpenPedal:
    """A pedal that can be opened anew, its name for the knitter, and what its keys give.

    `open` raises PedalError where the pedal is not there.
    """

    name: str
    open: Callable[[], PedalSource]
    keys: Sequence[PedalKey]


@dataclass(frozen=True)
class _Lost:
    pedal: int


Commands = dict[tuple[str, str], dict[Kind, Command]]
"""What the presses of a key give, by the number of the pedal and the key's name."""


class PedalReader:
    """Reads pedals from `start` to `close` and puts what they give into the queue.

    Of pedals trodden together only the first counts, whichever they are. A pedal that cannot be
    opened, or is lost, is told of once, tried again every `retry_s`, and told of when it is back.
    Raises SettingError for a command that is not known, and for a press that gives two.
    """

    def __init__(
        self,
        pedals: Sequence[OpenPedal],
        settings: PressSettings,
        events: Events,
        retry_s: float = RETRY_S,
    ) -> None:
        self._pedals = pedals
        self._events = events
        self._retry_s = retry_s
        self._commands = _bound(pedals)
        self._presses = Presses(settings, lambda *key: self._commands.get(key, {}).keys())
        self._moved: queue.SimpleQueue[Edge | _Lost | None] = queue.SimpleQueue()
        self._closed = threading.Event()
        self._lock = threading.Lock()
        self._open: dict[int, PedalSource] = {}
        works: list[tuple[Callable[..., None], tuple[int, ...]]] = [(self._decide, ())]
        works += [(self._read, (number,)) for number in range(len(pedals))]
        self._threads = [
            threading.Thread(target=work, args=args, name="pedals", daemon=True)
            for work, args in works
        ]

    def start(self) -> None:
        for thread in self._threads:
            thread.start()

    def close(self) -> None:
        """Let go of the pedals; harmless when done twice."""
        with self._lock:
            self._closed.set()
            sources = list(self._open.values())
        self._moved.put(None)
        for source in sources:
            source.close()
        for thread in self._threads:
            if thread.is_alive():
                thread.join(5)

    def _read(self, number: int) -> None:
        """Pass on what one pedal does; its edges bear the pedal's number for their source."""
        pedal, missed = self._pedals[number], False
        while not self._closed.is_set():
            try:
                with closing(pedal.open()) as source:
                    if not self._kept(number, source):
                        return
                    if missed:
                        self._events.put(News(f"{capitalised(pedal.name)} is back."))
                    missed = False
                    for edge in source.edges():
                        self._moved.put(replace(edge, source=str(number)))
            except PedalError as error:
                if not missed and not self._closed.is_set():
                    self._events.put(Trouble(error))
                missed = True
            self._moved.put(_Lost(number))
            self._closed.wait(self._retry_s)

    def _kept(self, number: int, source: PedalSource) -> bool:
        """Remember an open source, so that closing reaches it; False when all is closed already."""
        with self._lock:
            self._open[number] = source
            return not self._closed.is_set()

    def _decide(self) -> None:
        """Turn what goes down and up into commands; time passes only when nothing waits."""
        while True:
            due_s = self._presses.due_s()
            wait_s = None if due_s is None else max(0.0, due_s - time.monotonic())
            try:
                moved = self._moved.get(timeout=wait_s)
            except queue.Empty:
                self._tell(self._presses.tick(time.monotonic()))
                continue
            if moved is None:
                return
            if isinstance(moved, Edge):
                self._tell(self._presses.feed(moved))
            else:
                self._presses.lost(str(moved.pedal))

    def _tell(self, presses: Sequence[Press]) -> None:
        for press in presses:
            command = self._commands[press.source, press.key].get(press.kind)
            if command is not None:
                self._events.put(command)


def _bound(pedals: Sequence[OpenPedal]) -> Commands:
    commands: Commands = {}
    for number, pedal in enumerate(pedals):
        for key in pedal.keys:
            of_key = commands.setdefault((str(number), key.key.casefold()), {})
            names: dict[Kind, str] = {"short": key.short, "long": key.long, "double": key.double}
            for kind, name in names.items():
                if name and name not in BY_NAME:
                    raise SettingError(
                        f"The pedal's key {key.key} is to give {name!r}, which is no command",
                        f"the commands are {', '.join(BY_NAME)}.",
                    )
                if name and of_key.setdefault(kind, BY_NAME[name]) is not BY_NAME[name]:
                    raise SettingError(
                        f"The {kind} press of the pedal's key {key.key} gives two commands, "
                        f"{of_key[kind].value} and {name}",
                        "leave one away.",
                    )
    return commands
