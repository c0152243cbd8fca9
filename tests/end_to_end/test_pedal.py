"""`caller pedal` as a whole: on a pseudo-terminal, with real keys on a virtual display, and with a
pedal's own device."""

import json
import os
import struct
import subprocess
import sys
import time
import tomllib

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from virtual_sound import RATE

pexpect = pytest.importorskip("pexpect")

SYSTEM = {"source": "system", "key": "pagedown", "short": "next", "long": "back"}
PAGE_UP, PAGE_DOWN = "\x1b[5~", "\x1b[6~"  # ECMA-48 and the VT220
KEY_B, EV_KEY = 48, 1  # the Linux kernel's input-event-codes.h (seen)


@pytest.fixture
def settings(tmp_path):
    return tmp_path / "own" / "settings.toml"


@pytest.fixture
def nowhere(settings):
    """No sound, no display, and settings of their own."""
    env = {**WITHOUT_SOUND, "TERM": "xterm", "CALLER_SETTINGS": str(settings)}
    for name in ("DISPLAY", "XDG_SESSION_TYPE"):
        env.pop(name, None)
    return env


@pytest.fixture
def at_display(nowhere, virtual_display):
    return {**nowhere, **{key: virtual_display.env[key] for key in ("DISPLAY", "XAUTHORITY")}}


def sit_down(env, *options):
    sitting = pexpect.spawn(
        sys.executable,
        ["-m", "caller", "pedal", "--voice", "espeak", *options],
        env=env,
        encoding="utf-8",
        dimensions=(24, 300),
        timeout=20,
    )
    sitting.expect("Press the pedal.")
    return sitting


def ended(sitting):
    sitting.expect(pexpect.EOF)
    sitting.close()
    return sitting.exitstatus


def caller(env, *options):
    return subprocess.run(
        [sys.executable, "-m", "caller", "pedal", "--voice", "espeak", *options],
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def rest():
    """A foot's pause: the presses of a foot are never as close as those of a program."""
    time.sleep(0.3)


def test_a_pedal_is_learned_with_another_window_in_front(
    at_display, virtual_display, settings, tmp_path
):
    sitting = sit_down(at_display)
    virtual_display.window("a letter", tmp_path / "typed")
    virtual_display.press("Next")
    sitting.expect("Page down, from the keyboard. It acts in every window while you knit.")
    virtual_display.press("Next")
    sitting.expect("That is your pedal. A short press: hear what follows.")
    rest()
    virtual_display.hold("Next", 1.0)
    sitting.expect("A short press: hear what follows?")
    for answer in ("A long press: hear what came before?", "Two quick presses: hear it again?"):
        rest()
        virtual_display.press("Next")
        sitting.expect_exact(answer)
    rest()
    assert not settings.exists()
    virtual_display.press("Next")
    sitting.expect("It is kept.")
    kept = [{**SYSTEM, "double": "repeat"}]
    assert tomllib.loads(settings.read_text())["pedals"] == kept
    rest()
    virtual_display.hold("Next", 1.0)
    sitting.expect("A long press: hear what came before.")
    rest()
    virtual_display.xdotool(
        "key", "--delay", "60", "--repeat", "2", "--repeat-delay", "120", "Next"
    )
    sitting.expect("Two quick presses: hear it again.")
    sitting.send("\x03")
    sitting.expect("Done.")
    assert ended(sitting) == 0
    assert (tmp_path / "typed").read_bytes().startswith(PAGE_DOWN.encode())


def test_presses_are_chosen_on_the_command_line(at_display, virtual_display, settings):
    options = ("--from", "system", "--short", "where", "--long", "nothing", "--double", "nothing")
    sitting = sit_down(at_display, *options)
    for answer in ("once more", "A long press: nothing", "It is kept"):
        rest()
        virtual_display.press("F8")
        sitting.expect(answer)
    sitting.send("\x03")
    assert ended(sitting) == 0
    kept = [{"source": "system", "key": "f8", "short": "where"}]
    assert tomllib.loads(settings.read_text())["pedals"] == kept


def test_leaving_halfway_keeps_nothing(at_display, virtual_display, settings):
    sitting = sit_down(at_display)
    for answer in ("once more", "That is your pedal"):
        rest()
        virtual_display.press("Next")
        sitting.expect(answer)
    sitting.send("\x03")
    sitting.expect("Stopped. Nothing is kept.")
    assert ended(sitting) == 0
    assert not settings.exists()


def test_a_pedal_that_types_into_the_terminal_needs_nothing(nowhere, settings):
    sitting = sit_down(nowhere)
    assert "There is no display here whose keys could be heard." in sitting.before
    sitting.send(PAGE_UP)
    sitting.expect("Page up, at this terminal. .* gives this already: hear what came before.")
    sitting.expect("Nothing need be bound.")
    sitting.send("x")
    sitting.expect("The letter X, at this terminal. It gives no command there.")
    sitting.expect("Set the pedal to send page down")
    sitting.send("\x03")
    sitting.expect("Stopped.")
    assert ended(sitting) == 0
    assert not settings.exists()


def test_a_key_that_comes_to_the_terminal_and_the_system_is_the_systems(
    at_display, virtual_display
):
    sitting = sit_down(at_display)
    sitting.send(PAGE_DOWN)
    virtual_display.press("Next")
    sitting.expect("Page down, from the keyboard.")
    assert "terminal" not in sitting.before
    sitting.send("\x03")
    assert ended(sitting) == 0


class Fifo:
    """A pedal's own device: the kernel's records, in a named pipe."""

    def __init__(self, path):
        os.mkfifo(path)
        self.path = path
        self._pipe = os.open(path, os.O_RDWR)

    def press(self, held_s=0.1, code=KEY_B):
        self._write(code, 1)
        time.sleep(held_s)
        self._write(code, 0)

    def _write(self, code, value):
        os.write(self._pipe, struct.pack("llHHi", 0, 0, EV_KEY, code, value))

    def unplug(self):
        os.close(self._pipe)


@pytest.fixture
def foot_switch(tmp_path):
    return Fifo(tmp_path / "foot-switch")


def test_a_pedals_own_device(nowhere, settings, foot_switch):
    sitting = sit_down(nowhere, "--device", str(foot_switch.path))
    for answer in ("The letter B, from .*foot-switch. Press it once more", "That is your pedal"):
        foot_switch.press()
        sitting.expect(answer)
        rest()
    foot_switch.press()
    sitting.expect("It is kept.")
    foot_switch.unplug()
    sitting.expect("was taken away")
    sitting.send("\x03")
    sitting.expect("Done.")
    assert ended(sitting) == 0
    kept = {"source": "device", "device": str(foot_switch.path), "key": "b", "short": "next"}
    assert tomllib.loads(settings.read_text())["pedals"] == [
        {**kept, "long": "back", "double": "repeat"}
    ]


@pytest.mark.sound
def test_the_lesson_is_heard(virtual_sound, settings, foot_switch):
    env = {**virtual_sound.env, "TERM": "xterm", "CALLER_SETTINGS": str(settings)}
    with virtual_sound.recording() as recording:

        def wait_until(sounding):
            """Until something has sounded, or nothing has, for half a second."""
            until = time.monotonic() + 20
            while sounding != bool(
                (np.abs(recording.samples[-RATE // 2 :].astype(int)) > 500).any()
            ):
                assert time.monotonic() < until, f"sounding is not {sounding}"
                time.sleep(0.1)

        sitting = sit_down(env, "--device", str(foot_switch.path))
        wait_until(True)
        wait_until(False)
        foot_switch.press()
        sitting.expect("once more")
        wait_until(True)
        sitting.send("\x03")
        assert ended(sitting) == 0


def test_the_lesson_as_json(nowhere, settings, foot_switch):
    process = subprocess.Popen(
        [sys.executable, "-m", "caller", "pedal", "--device", str(foot_switch.path), "--json"],
        env=nowhere,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    told = []

    def told_until(text):
        while not told or text not in told[-1].get("said", ""):
            told.append(json.loads(process.stdout.readline()))

    for text in ("Press the pedal", "Press it once more", "That is your pedal"):
        told_until(text)
        foot_switch.press()
        rest()
    told_until("It is kept.")
    process.stdin.write("leave\n")
    process.stdin.close()
    told += [json.loads(line) for line in process.stdout]
    assert process.wait(20) == 0
    assert told[-2] == {"said": "Done."}
    kept = told[-1]["kept"]
    assert (kept["source"], kept["key"], kept["double"]) == ("device", "b", "repeat")
    assert settings.exists()


def test_pedals_are_listed_and_forgotten(nowhere, settings):
    settings.parent.mkdir()
    settings.write_text(
        "# mine\n[options]\nrate = 200\n\n"
        '[[pedals]]\nsource = "system"\nkey = "f13"\nshort = "next"\n\n'
        '[[pedals]]\nsource = "midi"\ndevice = "Stage Piano"\nkey = "sustain"\nlong = "where"\n'
    )
    listed = caller(nowhere, "--list")
    assert listed.returncode == 0, listed.stderr
    assert listed.stdout.splitlines()[:2] == [
        "Kept: F 13, from the keyboard: short next.",
        "Kept: sustain, from Stage Piano: long where.",
    ]
    assert "--from system: There is no display here" in listed.stdout
    told = json.loads(caller(nowhere, "--list", "--json").stdout)
    assert told["file"] == str(settings)
    assert [pedal["key"] for pedal in told["pedals"]] == ["f13", "sustain"]
    assert "system" in [source["from"] for source in told["not_there"]]

    forgotten = json.loads(caller(nowhere, "--forget", "--from", "midi", "--json").stdout)
    assert [pedal["device"] for pedal in forgotten["forgotten"]] == ["Stage Piano"]
    assert caller(nowhere, "--forget").stdout == (
        "Forgotten: F 13, from the keyboard: short next.\n"
    )
    assert caller(nowhere, "--forget").stdout == "Nothing was forgotten.\n"
    assert settings.read_text().startswith("# mine\n[options]\nrate = 200\n")


def test_the_display_is_listed(at_display):
    told = json.loads(caller(at_display, "--list", "--json").stdout)
    assert {"from": "system", "device": "", "path": ""} in told["there"]


@pytest.mark.parametrize(
    ("options", "why"),
    [
        (("--from", "system"), "There is no display here"),
        (("--from", "keys"), "Keys of the terminal can be learned in a terminal only"),
        (("--device", "/nowhere/at/all"), "cannot be read: No such file or directory"),
        (("--device", "no such pedal"), "no pedal"),
        (("--from", "system", "--device", "x"), "--device is for --from device and --from midi"),
        ((), "There is no display here"),
    ],
)
def test_what_cannot_be_listened_to_is_told_in_a_sentence(nowhere, settings, options, why):
    ended = caller(nowhere, *options)
    assert ended.returncode == 2
    assert ended.stderr.startswith("row-caller: ")
    assert why in ended.stderr
    assert len(ended.stderr.splitlines()) == 1
    assert ended.stdout == ""
    assert not settings.exists()


def test_settings_that_cannot_be_written_are_told(nowhere, settings, foot_switch):
    settings.parent.write_text("not a folder")
    ended = caller(nowhere, "--device", str(foot_switch.path))
    assert ended.returncode == 2
    assert "settings" in ended.stderr
    assert "Traceback" not in ended.stderr
