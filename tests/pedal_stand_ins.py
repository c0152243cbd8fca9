"""Pedals for tests: records of the kernel in a named pipe, MIDI messages, and one by hand."""

import os
import queue
import struct
from pathlib import Path

from caller.calling.ports import Edge
from caller.errors import PedalError

# From input-event-codes.h of Linux (seen).
EV_SYN, EV_KEY, EV_MSC = 0, 1, 4
SYN_REPORT, SYN_DROPPED = 0, 3
KEY_ESC, KEY_PAGEUP, KEY_PAGEDOWN, KEY_F13 = 1, 104, 109, 183


def record(kind, code, value):
    """struct input_event of linux/input.h (seen), at no time of note."""
    return struct.pack("@llHHi", 0, 0, kind, code, value)


REPORT = record(EV_SYN, SYN_REPORT, 0)


def moved(code, value):
    """As a USB keyboard tells it: the scan code, the key and the end of the report."""
    return record(EV_MSC, 4, 0x7004E) + record(EV_KEY, code, value) + REPORT


class PipePedal:
    """A named pipe in place of a device; a context manager. The reader must open it first."""

    def __init__(self, path: Path) -> None:
        self.path = path
        os.mkfifo(path)
        self._fd = None

    def send(self, data):
        if self._fd is None:
            self._fd = os.open(self.path, os.O_WRONLY)
        os.write(self._fd, data)

    def press(self, code=KEY_PAGEDOWN):
        self.send(moved(code, 1) + moved(code, 0))

    def unplug(self):
        if self._fd is not None:
            os.close(self._fd)
        self._fd = None

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.unplug()


class HandPedal:
    """Fulfils `PedalSource`; the test says what goes down and up, and when it is lost."""

    def __init__(self, source="hand"):
        self._source = source
        self._moves = queue.SimpleQueue()
        self.closed = 0

    def move(self, key, down, at_s):
        self._moves.put(Edge(self._source, key, down, at_s))

    def lose(self, sentence):
        self._moves.put(PedalError(sentence))

    def edges(self):
        while (move := self._moves.get()) is not None:
            if isinstance(move, PedalError):
                raise move
            yield move

    def close(self):
        self.closed += 1
        self._moves.put(None)
