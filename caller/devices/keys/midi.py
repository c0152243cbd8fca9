"""MIDI pedals and foot controllers.

What counts as down is from the MIDI 1.0 specification's tables of control changes (second-hand, as
mido and the usual charts have them): a switch, such as the sustain pedal 64, is off at values 0 to
63 and on at 64 to 127, and a note on with velocity 0 is a note off.
"""

import queue
import re
import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import suppress
from typing import Any

from caller.calling.ports import Edge
from caller.devices.sound.stderr import silence_alsa
from caller.errors import PedalError
from caller.installation import installs

SOURCE = "midi"
SUSTAIN, ON = 64, 64

# Bank and parameter numbers, which come along with other messages, and the modes of a channel: no
# pedal's own. All others may be a pedal, for many can be set to any of them.
_NO_PEDALS = {0, 6, 32, 38, *range(96, 102), *range(120, 128)}

_LOOK_S = 1.0
"""How often the ports are looked for: the library does not tell when one goes."""

_NONE = ("There is no MIDI pedal", "plug it in. Keys and spoken commands work.")
_FAILED = (
    "MIDI does not work on this computer",
    "use the pedal as keys, or the keys themselves.",
)


class FootController:
    """What goes down and up in a stream of MIDI messages; keeps which switches are down."""

    def __init__(self) -> None:
        self._down: set[str] = set()

    def moves(self, message: Any) -> list[tuple[str, bool]]:
        """The keys of a mido message, each with whether it goes down; none for other messages.

        Keys are "sustain", "controller-67", "note-36" and "program-3", numbered as in the message,
        from 0. A program comes only once, so it goes down and up.
        """
        match message.type:
            case "control_change" if message.control not in _NO_PEDALS:
                number = message.control
                key = "sustain" if number == SUSTAIN else f"controller-{number}"
                return self._moved(key, message.value >= ON)
            case "note_on" | "note_off":
                down = message.type == "note_on" and message.velocity > 0
                return self._moved(f"note-{message.note}", down)
            case "program_change":
                key = f"program-{message.program}"
                return [(key, True), (key, False)]
            case _:
                return []

    def _moved(self, key: str, down: bool) -> list[tuple[str, bool]]:
        """Nothing when it is there already: a pedal that tells each step of its way moves once."""
        if down == (key in self._down):
            return []
        self._down ^= {key}
        return [(key, down)]


def list_midi_pedals() -> list[str]:
    """The MIDI devices from which something may come, as they are named from plug to plug.

    Raises PedalError where MIDI cannot be had.
    """
    ports = _port_names(_backend())
    short = [_lasting(port) for port in ports]
    return [
        port if short.count(name) > 1 else name for port, name in zip(ports, short, strict=True)
    ]


class MidiPedal:
    """Fulfils `PedalSource`: `name` is a device's name or a part of it, None for every device.

    Raises PedalError where there is none.
    """

    def __init__(self, name: str | None = None) -> None:
        self._backend = _backend()
        self._heard: queue.SimpleQueue[tuple[Any, float] | None] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._closed = False
        self._controller = FootController()
        there = _port_names(self._backend)
        names = _found(name or "", there)
        if not names:
            if not name:
                raise PedalError(*_NONE)
            others = f"These are there: {', '.join(map(_lasting, there))}." if there else ""
            raise PedalError(f"There is no MIDI pedal named {name!r}.", others)
        self._name = name or _lasting(names[0])
        self._ports: dict[str, Any] = {}
        try:
            for port in names:
                self._ports[port] = self._backend.open_input(port, callback=self._take)
        except Exception:  # whatever the driver raises
            self.close()
            raise PedalError(
                f"The MIDI pedal {self._name} cannot be opened; another program may keep it for "
                "itself.",
                "End that program, or plug the pedal in again.",
            ) from None

    def edges(self) -> Iterator[Edge]:
        look_s = time.monotonic() + _LOOK_S
        while not self._closed:
            try:
                heard = self._heard.get(timeout=max(0.0, look_s - time.monotonic()))
            except queue.Empty:
                self._look()
                look_s = time.monotonic() + _LOOK_S
                continue
            if heard is None or self._closed:
                return
            message, at_s = heard
            for key, down in self._controller.moves(message):
                yield Edge(SOURCE, key, down, at_s)

    def close(self) -> None:
        with self._lock:
            if self._closed:
                return
            self._closed = True
        self._heard.put(None)
        for port in self._ports.values():
            with suppress(Exception):  # the port may be gone already
                port.close()

    def _take(self, message: Any) -> None:
        """A message; called on the driver's thread."""
        self._heard.put((message, time.monotonic()))

    def _look(self) -> None:
        """PedalError when a port has gone, or the driver itself."""
        there: set[str] = set()
        with suppress(PedalError):
            there = set(_port_names(self._backend))
        if not self._ports.keys() <= there and not self._closed:
            raise PedalError(
                f"The MIDI pedal {self._name} was taken away",
                "plug it in again. Keys and spoken commands work.",
            )


def _backend() -> Any:
    """mido's way to the system's MIDI; the variable MIDO_BACKEND names another one."""
    silence_alsa()
    try:
        import mido

        return mido.Backend(load=True)
    except ModuleNotFoundError:
        raise PedalError("MIDI pedals need two more libraries", installs("pedal")) from None
    except Exception:  # a driver's library that is missing or of another kind
        raise PedalError(*_FAILED) from None


def _port_names(backend: Any) -> list[str]:
    """The ports that a pedal may be at; PedalError when the driver does not answer.

    Linux has one that passes on what other programs send to it, "Midi Through".
    """
    try:
        names: list[str] = backend.get_input_names()
    except Exception:  # whatever the driver raises
        raise PedalError(*_FAILED) from None
    return [name for name in names if not name.startswith("Midi Through")]


def _lasting(port: str) -> str:
    """A port's name without the number that changes from plug to plug, "Pedal 20:0" on Linux."""
    return re.sub(r" \d+:\d+$" if sys.platform.startswith("linux") else r" \d+$", "", port)


def _found(name: str, ports: Sequence[str]) -> list[str]:
    """The ports of this whole name, else those that have it as a part; all for an empty one."""
    plain = name.casefold()
    exact = [port for port in ports if plain in (port.casefold(), _lasting(port).casefold())]
    return exact or [port for port in ports if plain in port.casefold()]
