"""What every `PedalSource` promises, each promise a function of a stand.

Run as a program, `pedal_promises.py STAND PROMISE ...`, it keeps these, each on a new stand that
needs an environment of its own, and prints the name of each that is kept and why another is not.
"""

import os
import queue
import sys
import threading
import time
import traceback
from pathlib import Path
from typing import Protocol

sys.path.insert(0, str(Path(__file__).parent.parent))

from caller.calling.ports import Edge, PedalSource
from caller.errors import PedalError

WAIT_S = 20


class Stand(Protocol):
    """A pedal that a test can tread on, take away and bring back."""

    source: str
    key: str

    def open(self) -> PedalSource: ...

    def press(self) -> None:
        """The key goes down and up; a reader is there."""

    def lose(self) -> None: ...

    def restore(self) -> None: ...

    def close(self) -> None: ...


class Reader:
    """Reads a pedal on a thread of its own: its edges, then its error or None."""

    def __init__(self, source: PedalSource) -> None:
        self._told: queue.SimpleQueue[Edge | PedalError | None] = queue.SimpleQueue()
        self._source = source
        self.thread = threading.Thread(target=self._read, daemon=True)
        self.thread.start()

    def _read(self) -> None:
        try:
            for edge in self._source.edges():
                self._told.put(edge)
            self._told.put(None)
        except PedalError as error:
            self._told.put(error)

    def next(self):
        return self._told.get(timeout=WAIT_S)


def a_press_is_told_down_then_up(stand: Stand) -> None:
    source = stand.open()
    reader = Reader(source)
    for _ in range(3):
        before_s = time.monotonic()
        stand.press()
        down, up = reader.next(), reader.next()
        after_s = time.monotonic()
        assert (down.source, down.key, down.down) == (stand.source, stand.key, True), down
        assert (up.source, up.key, up.down) == (stand.source, stand.key, False), up
        assert before_s <= down.at_s <= up.at_s <= after_s
    source.close()
    assert reader.next() is None


def closing_from_another_thread_ends_it(stand: Stand) -> None:
    source = stand.open()
    reader = Reader(source)
    time.sleep(0.2)
    source.close()
    assert reader.next() is None
    reader.thread.join(WAIT_S)
    assert not reader.thread.is_alive()


def closing_between_two_edges_ends_it(stand: Stand) -> None:
    source = stand.open()
    edges = source.edges()
    treading = threading.Thread(target=stand.press)
    treading.start()
    assert next(edges).down
    treading.join(WAIT_S)
    source.close()
    assert next(edges, None) is None


def it_may_be_closed_twice(stand: Stand) -> None:
    source = stand.open()
    reader = Reader(source)
    stand.press()
    assert reader.next().down
    assert not reader.next().down
    source.close()
    source.close()
    reader.thread.join(WAIT_S)
    source.close()


def closed_before_it_is_read_it_tells_nothing(stand: Stand) -> None:
    source = stand.open()
    source.close()
    assert list(source.edges()) == []


def taken_away_it_says_so(stand: Stand) -> None:
    source = stand.open()
    reader = Reader(source)
    stand.press()
    assert reader.next().down
    assert not reader.next().down
    stand.lose()
    error = reader.next()
    assert isinstance(error, PedalError)
    assert str(error).endswith(".")
    source.close()


def it_can_be_opened_anew(stand: Stand) -> None:
    lost = stand.open()
    reader = Reader(lost)
    stand.press()
    assert reader.next().down
    stand.lose()
    while not isinstance(reader.next(), PedalError):
        pass
    lost.close()
    stand.restore()
    source = stand.open()
    reader = Reader(source)
    stand.press()
    assert reader.next().key == stand.key
    assert not reader.next().down
    source.close()


PROMISES = {
    promise.__name__: promise
    for promise in (
        a_press_is_told_down_then_up,
        closing_from_another_thread_ends_it,
        closing_between_two_edges_ends_it,
        it_may_be_closed_twice,
        closed_before_it_is_read_it_tells_nothing,
        taken_away_it_says_so,
        it_can_be_opened_anew,
    )
}


class PipeStand:
    """A device on Linux, by a named pipe."""

    source, key = "device", "pagedown"

    def __init__(self, folder: Path) -> None:
        from pedal_stand_ins import PipePedal

        self._pipe = PipePedal(folder / "event0")
        self.press = self._pipe.press
        self.lose = self.close = self._pipe.unplug

    def open(self) -> PedalSource:
        from caller.devices.keys.evdev import EvdevPedal

        return EvdevPedal(self._pipe.path)

    def restore(self) -> None:
        """The next press opens the pipe again."""


class MidiStand:
    """A sustain pedal at the system's MIDI, which the variable MIDO_BACKEND names.

    JACK connects ports in its next cycle, some 20 ms later, and drops what is sent before. When a
    port is closed it cancels the thread that tells messages wherever that is: if it tells one just
    then, it takes Python's lock with it, and all other threads wait for ever.
    """

    source, key, cycles_s = "midi", "sustain", 0.2

    def __init__(self) -> None:
        self.restore()

    def restore(self) -> None:
        import mido

        self._port = mido.Backend(load=True).open_output("Foot Pedal", virtual=True)

    def open(self) -> PedalSource:
        from caller.devices.keys.midi import MidiPedal

        pedal = MidiPedal("foot pedal")
        time.sleep(self.cycles_s)
        return pedal

    def press(self) -> None:
        import mido

        for value in (127, 0):
            self._port.send(mido.Message("control_change", control=64, value=value))
        time.sleep(self.cycles_s)

    def lose(self) -> None:
        self._port.close()

    def close(self) -> None:
        self._port.close()


class SystemStand:
    """Keys of the whole system, on a virtual display."""

    source, key = "system", "pagedown"

    def __init__(self) -> None:
        self.restore()

    def restore(self) -> None:
        from virtual_display import VirtualDisplay

        self._display = VirtualDisplay().__enter__()
        os.environ.update(self._display.env)
        os.environ.pop("XDG_SESSION_TYPE", None)

    def open(self) -> PedalSource:
        from caller.devices.keys.system import SystemKeys

        return SystemKeys()

    def press(self) -> None:
        self._display.press("Next")

    def lose(self) -> None:
        self._display.stop()

    def close(self) -> None:
        self._display.stop()


STANDS = {"midi": MidiStand, "system": SystemStand}

if __name__ == "__main__":
    for _name in sys.argv[2:]:
        _stand = STANDS[sys.argv[1]]()
        try:
            PROMISES[_name](_stand)
        except Exception:
            traceback.print_exc()
        else:
            sys.stdout.write(f"{_name}\n")
        _stand.close()
