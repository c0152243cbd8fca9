"""Keys of the whole system, for real on a virtual display."""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator

import pytest
from virtual_display import VirtualDisplay

from caller.devices.keys.system import SystemKeys, name_of
from caller.errors import PedalError

HEAR = """
import json, sys, threading
from dataclasses import asdict
from caller.devices.keys.system import SystemKeys
from caller.errors import PedalError

def close_on_line(keys):
    sys.stdin.readline()
    keys.close()

for _ in range(int(sys.argv[1])):
    keys = SystemKeys(json.loads(sys.argv[2]))
    print('"ready"', flush=True)
    threading.Thread(target=close_on_line, args=(keys,), daemon=True).start()
    try:
        for edge in keys.edges():
            print(json.dumps(asdict(edge)), flush=True)
    except PedalError as error:
        print(json.dumps(str(error)), flush=True)
    keys.close()
    print('"closed"', flush=True)
"""


class Hearing:
    """A child process that hears keys and tells every edge."""

    def __init__(self, display, times=1, only=None):
        self._process = subprocess.Popen(
            [sys.executable, "-c", HEAR, str(times), json.dumps(only)],
            env=display.env,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
        )
        self.ready()

    def ready(self):
        assert self.line() == "ready"
        time.sleep(0.2)  # the display takes a moment from the answer to the first key

    def line(self):
        return json.loads(self._process.stdout.readline())

    def edges(self, count):
        return [self.line() for _ in range(count)]

    def presses(self, count):
        """The keys of so many presses, each down and up."""
        edges = self.edges(2 * count)
        assert [edge["down"] for edge in edges] == [True, False] * count
        assert [edge["key"] for edge in edges[::2]] == [edge["key"] for edge in edges[1::2]]
        assert {edge["source"] for edge in edges} == {"system"}
        return [edge["key"] for edge in edges[::2]]

    def close(self):
        self._process.stdin.write("\n")
        self._process.stdin.flush()

    def rest(self):
        self._process.stdin.close()
        told = self._process.stdout.read()
        self._process.wait(20)
        return told


def test_keys_are_heard_while_another_window_has_the_focus_and_reach_it_too(
    virtual_display, tmp_path
):
    hearing = Hearing(virtual_display)
    virtual_display.window("somebody elses", tmp_path / "typed")
    virtual_display.press("Next", "Prior", "space", "Return", "Left", "BackSpace", "a", "1")
    assert hearing.presses(8) == [
        *("pagedown", "pageup", "space", "enter", "left", "backspace", "a", "1")
    ]
    hearing.close()
    assert hearing.rest() == '"closed"\n'
    # Control sequences: ECMA-48 and the VT220, as xterm documents them (seen).
    typed = b"\x1b[6~\x1b[5~ \r\x1b[D\x7fa1"
    until = time.monotonic() + 20
    while (tmp_path / "typed").read_bytes() != typed and time.monotonic() < until:
        time.sleep(0.05)
    assert (tmp_path / "typed").read_bytes() == typed


def test_capitals_are_the_same_keys(virtual_display):
    hearing = Hearing(virtual_display)
    virtual_display.press("A")
    assert [edge["key"] for edge in hearing.edges(4) if edge["key"] != "shift"] == ["a", "a"]
    hearing.close()
    hearing.rest()


# The numbers that the Linux kernel gives these keys (input-event-codes.h: KEY_F13 is 183 and so on;
# seen), to which X11 adds eight. The usual layout has no symbol for F19.
@pytest.mark.parametrize(("kernel", "name"), [(183, "f13"), (188, "f18"), (189, "#0")])
def test_keys_that_no_keyboard_has(virtual_display, kernel, name):
    hearing = Hearing(virtual_display)
    virtual_display.press(str(kernel + 8))
    assert hearing.presses(1) == [name]
    hearing.close()
    hearing.rest()


def test_a_key_that_is_held_repeats(virtual_display):
    hearing = Hearing(virtual_display)
    virtual_display.hold("Next", 1.2)
    first = hearing.line()
    assert (first["key"], first["down"]) == ("pagedown", True)
    downs, edge = 0, hearing.line()
    while edge["at_s"] < first["at_s"] + 1.15:
        assert edge["key"] == "pagedown"
        downs += edge["down"]
        edge = hearing.line()
    while edge["down"]:
        downs, edge = downs + 1, hearing.line()
    assert downs > 0
    assert edge["at_s"] - first["at_s"] >= 1.1
    hearing.close()
    assert hearing.rest() == '"closed"\n'


def test_only_the_keys_that_are_wanted_are_passed_on(virtual_display):
    hearing = Hearing(virtual_display, only=["pagedown"])
    virtual_display.press("s", "e", "c", "r", "e", "t", "Next", "Prior")
    assert hearing.presses(1) == ["pagedown"]
    hearing.close()
    assert hearing.rest() == '"closed"\n'


def test_closed_keys_are_silent_and_others_can_follow(virtual_display):
    hearing = Hearing(virtual_display, times=3)
    for round_number in range(3):
        virtual_display.press("Next")
        assert hearing.presses(1) == ["pagedown"]
        hearing.close()
        assert hearing.line() == "closed"
        if round_number < 2:
            hearing.ready()
    virtual_display.press("Next")
    assert hearing.rest() == ""


def test_a_display_that_is_taken_away_is_told_in_a_sentence(virtual_display):
    with VirtualDisplay() as display:
        hearing = Hearing(display)
    assert hearing.line().startswith("The keys of the whole system can no longer be heard.")
    assert hearing.rest() == '"closed"\n'


@pytest.fixture
def on_linux(monkeypatch) -> Iterator[None]:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("XDG_SESSION_TYPE", raising=False)
    monkeypatch.delenv("DISPLAY", raising=False)
    return


def test_no_display_is_told_in_a_sentence(on_linux):
    with pytest.raises(PedalError, match=r"^There is no display here[^.]*\. [^.]*\.$"):
        SystemKeys()


def test_wayland_is_told_in_a_sentence(on_linux, monkeypatch):
    monkeypatch.setenv("XDG_SESSION_TYPE", "wayland")
    monkeypatch.setenv("DISPLAY", ":0")
    with pytest.raises(PedalError, match=r"^On Wayland[^.]*\. [^.]*\.$"):
        SystemKeys()


def test_a_display_that_answers_nobody_is_told_in_a_sentence():
    pytest.importorskip("Xlib")
    code = "from caller.devices.keys.system import SystemKeys; SystemKeys()"
    told = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "DISPLAY": ":54321", "XDG_SESSION_TYPE": "x11"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "PedalError: There is no display here" in told.stderr
    assert told.stdout == ""


def test_a_missing_library_is_told_in_a_sentence(on_linux, monkeypatch):
    monkeypatch.setenv("DISPLAY", ":54321")
    monkeypatch.setitem(sys.modules, "pynput", None)
    with pytest.raises(PedalError, match=r"pynput is not installed; .* add system-keys"):
        SystemKeys()


class Key:
    """A key as the library tells it."""

    def __init__(self, name=None, char=None, vk=None):
        self.name, self.char, self.vk = name, char, vk


@pytest.mark.parametrize(
    ("key", "name"),
    [
        (Key(name="page_down"), "pagedown"),
        (Key(name="f13"), "f13"),
        (Key(char="É", vk=201), "é"),
        (Key(char=" ", vk=32), "space"),
        (Key(char="\x03", vk=67), "#67"),
        (Key(vk=96), "#96"),
        (Key(), "#0"),
        (None, "#0"),
    ],
)
def test_names_of_keys(key, name):
    assert name_of(key) == name


def test_numbers_of_x11_mean_nothing_elsewhere(monkeypatch):
    tools = Key(vk=0x1008FF81)
    monkeypatch.setattr(sys, "platform", "linux")
    assert name_of(tools) == "f13"
    monkeypatch.setattr(sys, "platform", "win32")
    assert name_of(tools) == "#269025153"
