"""Keys heard while another window has the focus: on X11, macOS and Windows."""

import logging
import os
import queue
import sys
import threading
import time
from collections.abc import Collection, Iterator
from contextlib import suppress
from importlib import import_module
from typing import Any

from caller.calling.ports import Edge
from caller.errors import PedalError
from caller.installation import installs

SOURCE = "system"

_OPENING_S = 10.0
_NAMES = {"page_down": "pagedown", "page_up": "pageup", " ": "space"}
"""What pynput calls a key, against what the table of commands calls it."""

# X11's usual layout has no F13 to F18; it gives the keys other symbols (xkeyboard-config,
# symbols/inet, section evdev; seen), which pynput knows by number only.
_X11_NUMBERS = {
    0x1008FF81: "f13",  # XF86Tools
    0x1008FF45: "f14",  # XF86Launch5 and those that follow
    0x1008FF46: "f15",
    0x1008FF47: "f16",
    0x1008FF48: "f17",
    0x1008FF49: "f18",
    0xFFD2: "f21",
    0xFFD3: "f22",
    0xFFD4: "f23",
    0xFFD5: "f24",
}

_WAY_OUT = (
    "Choose a pedal's own device with row-caller pedal --from device, or use the keys of this "
    "terminal."
)
_MISSING = "Keys cannot be heard in other windows, because pynput is not installed"
_WAYLAND = (
    "On Wayland only the keys of some programs can be heard, so keys of the whole system are not "
    "used.",
    _WAY_OUT,
)
_NO_DISPLAY = ("There is no display here whose keys could be heard.", _WAY_OUT)
_NOT_ALLOWED = (
    "This terminal may not hear the keys of other windows",
    "allow it in the system settings under Privacy, Accessibility, or use the keys of this "
    "terminal.",
)
_LOST = ("The keys of the whole system can no longer be heard.", _WAY_OUT)


class SystemKeys:
    """Fulfils `PedalSource` with the keys of every window; never holds one back from it.

    `only` are the keys that are passed on, as `name_of` names them; None passes on all, and none is
    kept. A key that is held repeats: as a down and an up, or as downs, as the system has it.
    Raises PedalError where the system does not let keys be heard.
    """

    def __init__(self, only: Collection[str] | None = None) -> None:
        if sys.platform.startswith("linux"):
            if os.environ.get("XDG_SESSION_TYPE") == "wayland":
                raise PedalError(*_WAYLAND)
            if not os.environ.get("DISPLAY"):
                raise PedalError(*_NO_DISPLAY)
        self._only = None if only is None else frozenset(only)
        self._heard: queue.SimpleQueue[Edge | None] = queue.SimpleQueue()
        self._closed = False
        self.listening = True
        """Whether keys still come in."""
        self._listener = _library().Listener(
            on_press=lambda key, _injected: self._take(key, True),
            on_release=lambda key, _injected: self._take(key, False),
        )
        if not self._began() or not getattr(self._listener, "IS_TRUSTED", True):
            self.close()
            raise PedalError(*(_NOT_ALLOWED if sys.platform == "darwin" else _NO_DISPLAY))

    def edges(self) -> Iterator[Edge]:
        while (edge := self._heard.get()) is not None:
            if not self._closed:
                yield edge
        if not self._closed:
            raise PedalError(*_LOST)

    def close(self) -> None:
        self._closed, self.listening = True, False
        self._heard.put(None)
        with suppress(Exception):  # the display may be gone already
            self._listener.stop()

    def _began(self) -> bool:
        """Listen on a thread of its own; whether that began."""
        begun: queue.SimpleQueue[bool] = queue.SimpleQueue()

        def listen() -> None:
            with suppress(Exception):  # it has a traceback for when the display goes away
                self._listener.run()
            self.listening = False
            begun.put(False)
            with suppress(Exception):  # the library's own; else the other thread would wait on
                self._listener._mark_ready()
            self._heard.put(None)

        def tell_when_ready() -> None:
            self._listener.wait()
            begun.put(True)

        for work in (listen, tell_when_ready):
            threading.Thread(target=work, name="system keys", daemon=True).start()
        try:
            return begun.get(timeout=_OPENING_S)
        except queue.Empty:
            return False

    def _take(self, key: Any, down: bool) -> None:
        name = name_of(key)
        if not self._closed and (self._only is None or name in self._only):
            self._heard.put(Edge(SOURCE, name, down, time.monotonic()))


def name_of(key: Any) -> str:
    """The name of one of pynput's keys: as in `commands.Way.keys` where it has one there.

    Others are named by the library ("f13", "shift"), by the character that they type, in lower
    case, or by the system's number for them, as "#269025153".
    """
    name = getattr(key, "name", None) or getattr(key, "char", None) or ""
    if name.isprintable() and name:
        return _NAMES.get(name, name.casefold())
    number = getattr(key, "vk", None) or 0
    if sys.platform.startswith("linux") and number in _X11_NUMBERS:
        return _X11_NUMBERS[number]
    return f"#{number}"


def _library() -> Any:
    """pynput's keyboard; importing it needs a display. It must not print, nor log to the screen."""
    with suppress(ImportError):  # on X11 only; it prints when nobody needs to log in
        vars(import_module("Xlib.xauth"))["print"] = lambda *_: None
    logging.getLogger("pynput").addHandler(logging.NullHandler())
    try:
        from pynput import keyboard
    except ModuleNotFoundError:
        raise PedalError(_MISSING, installs("system-keys")) from None
    except Exception:  # Whatever the display's library raises: no display, or no entry to it.
        raise PedalError(*_NO_DISPLAY) from None
    return keyboard
