"""A chosen pedal or keyboard on Linux, read by itself: its keys reach no other program.

The kernel gives what is pressed as records at /dev/input/event*; their form and the requests are
those of linux/input.h (seen). After lost records the rest of the report is ignored and what is down
is asked for, as the kernel's event-codes.rst has it (second-hand: libevdev's page on SYN_DROPPED).
"""

import errno
import os
import re
import select
import struct
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from caller.calling.ports import Edge
from caller.devices.keys.key_codes import name_of
from caller.errors import PedalError

SOURCE = "device"
ROOT = Path("/")

RECORD = struct.Struct("llHHi")
"""struct input_event: seconds, microseconds, type, code, value."""
EV_SYN, EV_KEY = 0, 1
SYN_REPORT, SYN_DROPPED = 0, 3
UP, DOWN = 0, 1  # and 2 for a key that is held and repeats

_RECORDS_AT_ONCE = 64
_KEY_BYTES = 0x300 // 8
_GRAB = 0x40044590  # EVIOCGRAB
_KEYS_DOWN = 0x80004518 | _KEY_BYTES << 16  # EVIOCGKEY
_SET_CLOCK = 0x400445A0  # EVIOCSCLOCKID
_LET_GO_S = 2.0

_NOT_LINUX = (
    "A pedal's own device can be chosen on Linux only",
    "here its keys are heard without choosing it, or by MIDI.",
)


@dataclass(frozen=True)
class InputDevice:
    """A device with keys: the name to choose it by, and where it is read."""

    name: str
    path: Path


def list_device_pedals(root: Path = ROOT) -> list[InputDevice]:
    """The devices with keys, in the system's order; PedalError anywhere but on Linux.

    Each has a name of its own: where several give the same one, as the parts of one pedal do, it
    is the system's name that stays the same at every plug ("usb-...-event-kbd"). `root` is the
    folder that stands for /.
    """
    if not sys.platform.startswith("linux"):
        raise PedalError(*_NOT_LINUX)
    lasting: dict[str, str] = {}
    for link in sorted((root / "dev/input/by-id").glob("*")):
        if link.is_symlink():
            lasting.setdefault(link.readlink().name, link.name)
    given: dict[str, str] = {}
    for folder in sorted((root / "sys/class/input").glob("event*"), key=_number):
        if any(_text(folder / "device/capabilities/key", "1").replace(" ", "").strip("0")):
            given[folder.name] = _text(folder / "device/name", folder.name)
    return [
        InputDevice(
            name if list(given.values()).count(name) == 1 else lasting.get(node, f"{name} {node}"),
            root / "dev/input" / node,
        )
        for node, name in given.items()
    ]


class EvdevPedal:
    """Fulfils `PedalSource`: `device` is the device's name, a part of it, or its path.

    While it is open, what it sends reaches this program alone. Raises PedalError where there is no
    such device, or it cannot be read.
    """

    def __init__(self, device: str | Path = "", root: Path = ROOT) -> None:
        if not sys.platform.startswith("linux"):
            raise PedalError(*_NOT_LINUX)
        chosen = _chosen(device, root)
        self.name = chosen.name
        self._fd = _opened(chosen)
        try:
            _grab(self._fd, chosen)
        except PedalError:
            os.close(self._fd)
            raise
        self._tells_time = _set_clock(self._fd)
        self._woken, self._wake = os.pipe()
        self._down: set[int] = set()
        self._lock = threading.Lock()
        self._reading = self._closed = False

    def edges(self) -> Iterator[Edge]:
        with self._lock:
            if self._closed:
                return
            self._reading = True
        try:
            yield from self._read()
        finally:
            with self._lock:
                self._reading = False
                if self._closed:
                    self._let_go()

    def close(self) -> None:
        with self._lock:
            if self._closed:
                return
            self._closed = True
            if self._reading:
                os.write(self._wake, b"!")
            else:
                self._let_go()

    def _let_go(self) -> None:
        for descriptor in (self._fd, self._woken, self._wake):
            os.close(descriptor)

    def _read(self) -> Iterator[Edge]:
        rest, lost = b"", False
        while not self._closed:
            ready, _, _ = select.select([self._fd, self._woken], [], [])
            if self._woken in ready:
                return
            rest += self._records()
            whole = len(rest) - len(rest) % RECORD.size
            for seconds, micros, kind, code, value in RECORD.iter_unpack(rest[:whole]):
                at_s = seconds + micros / 1e6 if self._tells_time else time.monotonic()
                if (kind, code) == (EV_SYN, SYN_DROPPED):
                    lost = True
                elif lost:
                    # What comes up to the next report is no longer whole: ask what is down now.
                    if (kind, code) == (EV_SYN, SYN_REPORT):
                        lost = False
                        yield from self._caught_up(at_s)
                elif kind == EV_KEY and value in (UP, DOWN):
                    yield from self._edge(code, value == DOWN, at_s)
            rest = rest[whole:]

    def _records(self) -> bytes:
        try:
            records = os.read(self._fd, _RECORDS_AT_ONCE * RECORD.size)
        except BlockingIOError:
            return b""
        except OSError:
            records = b""
            # Whatever the reason, there is no pedal any more; for most it was unplugged, ENODEV.
        if not records:
            raise PedalError(
                f"The pedal {self.name} was taken away or switched itself off",
                "plug it in again. Keys and spoken commands work.",
            )
        return records

    def _edge(self, code: int, down: bool, at_s: float) -> Iterator[Edge]:
        """What is new: no repeat, and no up of what was down before the pedal was opened."""
        if down != (code in self._down) and not self._closed:
            self._down ^= {code}
            yield Edge(SOURCE, name_of(code), down, at_s)

    def _caught_up(self, at_s: float) -> Iterator[Edge]:
        now = _keys_down(self._fd)
        for code in sorted(self._down ^ now):
            yield from self._edge(code, code in now, at_s)


def _chosen(device: str | Path, root: Path) -> InputDevice:
    if isinstance(device, Path) or device.startswith("/"):
        return InputDevice(str(device), Path(device))
    there = list_device_pedals(root)
    plain = device.casefold()
    exact = [one for one in there if one.name.casefold() == plain]
    found = exact or [one for one in there if plain in one.name.casefold()]
    if len(found) == 1:
        return found[0]
    names = ", ".join(one.name for one in found or there)
    if found:
        raise PedalError("Which pedal?", f"Choose one of these by its whole name: {names}.")
    if names:
        raise PedalError(
            f"There is no pedal named {device!r}", f"plug it in. These are there: {names}."
        )
    raise PedalError(
        "There is no pedal or keyboard that could be read by itself", "plug the pedal in."
    )


def _opened(chosen: InputDevice) -> int:
    try:
        return os.open(chosen.path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except PermissionError:
        raise PedalError(
            f"You may not read {chosen.name}",
            "enter  sudo usermod -aG input $USER  once, then log out and in again.",
        ) from None
    except OSError as error:
        raise PedalError(
            f"The pedal {chosen.name} cannot be read: {error.strerror}.",
            "Plug it in again, or choose another.",
        ) from None


def _grab(descriptor: int, chosen: InputDevice) -> None:
    """Keep its keys from every other program; what is no device, such as a pipe, has no others."""
    import fcntl

    # A key that is down now must come up for the others too, or they would see it held for good.
    until_s = time.monotonic() + _LET_GO_S
    while _keys_down(descriptor) and time.monotonic() < until_s:
        time.sleep(0.02)
    try:
        fcntl.ioctl(descriptor, _GRAB, 1)
    except OSError as error:
        if error.errno == errno.EBUSY:
            raise PedalError(
                f"Another program keeps the pedal {chosen.name} for itself", "end it first."
            ) from None


def _set_clock(descriptor: int) -> bool:
    """Have the records bear the time by `time.monotonic`; False where they cannot.

    The kernel's own time tells a bounce from a press however busy this program is.
    """
    import fcntl

    try:
        fcntl.ioctl(descriptor, _SET_CLOCK, struct.pack("i", time.CLOCK_MONOTONIC))
    except OSError:
        return False
    return True


def _keys_down(descriptor: int) -> set[int]:
    """The codes of the keys that are down; none where that cannot be asked."""
    import fcntl

    bits = bytearray(_KEY_BYTES)
    with suppress(OSError):
        fcntl.ioctl(descriptor, _KEYS_DOWN, bits)
    return {code for code in range(_KEY_BYTES * 8) if bits[code // 8] >> code % 8 & 1}


def _number(folder: Path) -> int:
    return int(re.sub(r"\D", "", folder.name) or 0)


def _text(path: Path, otherwise: str) -> str:
    try:
        return path.read_text(encoding="utf-8", errors="replace").strip() or otherwise
    except OSError:
        return otherwise
