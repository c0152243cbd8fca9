"""Whole evenings by foot: pedals of the settings file, and a session that knits on by them."""

import queue
import subprocess
import sys
import threading

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from pedal_stand_ins import KEY_ESC, KEY_PAGEDOWN, KEY_PAGEUP, PipePedal, moved
from PIL import Image
from virtual_midi import served

from caller.calling import loop
from caller.calling.desk import Desk
from caller.calling.events import Events
from caller.calling.pedals.reader import OpenPedal, PedalReader
from caller.devices.keys.evdev import EvdevPedal
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.storage.pattern_file import load
from caller.settings import PedalKey, PressSettings

pexpect = pytest.importorskip("pexpect")
linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="devices of Linux")


@pytest.fixture
def picture(tmp_path):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")
    return tmp_path / "stripes.png"


@pytest.fixture
def foot(tmp_path):
    with PipePedal(tmp_path / "event3") as pedal:
        yield pedal


@pytest.fixture(scope="module")
def virtual_midi():
    yield from served()


def wait(seconds):
    threading.Event().wait(seconds)


def sit_down(picture, settings, env=WITHOUT_SOUND):
    """`caller knit` in a terminal, with these settings of the knitter's own."""
    kept = picture.with_name("settings.toml")
    kept.write_text(settings)
    return pexpect.spawn(
        sys.executable,
        ["-m", "caller", "knit", str(picture), "--no-listen", "--voice", "espeak"],
        env={**env, "TERM": "xterm", "CALLER_SETTINGS": str(kept)},
        encoding="utf-8",
        dimensions=(24, 400),
        timeout=40,
    )


def two_keys(foot):
    return f"""
[[pedals]]
source = "device"
device = "{foot.path}"
key = "pagedown"
short = "next"

[[pedals]]
source = "device"
device = "{foot.path}"
key = "pageup"
short = "repeat"
long = "where"
double = "back"
"""


@linux
def test_rows_by_a_pedal_of_its_own(picture, foot):
    sitting = sit_down(picture, two_keys(foot))
    sitting.expect("Row 1, going right: black to R3.")
    foot.press()
    sitting.expect("Row 2, going left: new white to R1; black waiting at R3, to L3.")
    wait(0.3)  # sooner, it would be two pedals at once
    foot.press(KEY_PAGEUP)
    sitting.expect("Row 2, going left: new white to R1; black waiting at R3, to L3.")
    foot.send(moved(KEY_PAGEUP, 1))
    sitting.expect("This is row 2 of 9")
    foot.send(moved(KEY_PAGEUP, 0))
    wait(0.5)
    foot.press(KEY_PAGEUP)
    wait(0.1)
    foot.press(KEY_PAGEUP)
    sitting.expect("Row 1, going right")
    # The keys of the terminal go on as they did.
    sitting.send(" ")
    sitting.expect("Row 2, going left")
    sitting.send("q")
    sitting.expect("Stopping at row 2 of 9. Your place is kept.")
    sitting.expect(pexpect.EOF)
    sitting.close()
    assert sitting.exitstatus == 0


@linux
def test_a_pedal_is_unplugged_and_comes_back(picture, foot):
    sitting = sit_down(picture, two_keys(foot))
    sitting.expect("Row 1, going right")
    foot.press()
    sitting.expect("Row 2, going left")
    foot.unplug()
    sitting.expect("was taken away or switched itself off")
    sitting.send(" ")
    sitting.expect("Row 3, going right")
    sitting.expect("is back.")
    foot.press()
    sitting.expect("Row 4, going left")
    sitting.send("q")
    sitting.expect("Stopping at row 4")
    sitting.expect(pexpect.EOF)


@linux
def test_a_pedal_that_is_not_there_does_not_keep_one_from_knitting(picture, foot):
    foot.path.unlink()
    sitting = sit_down(picture, two_keys(foot))
    sitting.expect("No such file or directory")
    sitting.send(" ")
    sitting.expect("Row 2, going left")
    sitting.send("q")
    sitting.expect(pexpect.EOF)
    assert "Traceback" not in sitting.before


def test_a_command_that_is_none_is_told_and_the_call_goes_on(picture, foot):
    sitting = sit_down(picture, two_keys(foot).replace('"where"', '"whither"'))
    sitting.expect("'whither', which is no command")
    sitting.send("q")
    sitting.expect(pexpect.EOF)
    sitting.close()
    assert sitting.exitstatus == 0


@pytest.mark.sound
def test_rows_by_a_midi_pedal(picture, virtual_midi):
    # The pedal is a process of its own: for each line it is trodden on.
    pedal = subprocess.Popen(
        [
            sys.executable,
            "-c",
            "import mido, sys\n"
            "port = mido.Backend(load=True).open_output('Music Pedal', virtual=True)\n"
            "print('there', flush=True)\n"
            "for line in sys.stdin:\n"
            "    for value in (127, 0):\n"
            "        port.send(mido.Message('control_change', control=64, value=value))\n",
        ],
        env=virtual_midi.env,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        bufsize=1,
    )
    assert pedal.stdout.readline() == "there\n"
    binding = '[[pedals]]\nsource = "midi"\ndevice = "music pedal"\nkey = "sustain"\n'
    env = {**virtual_midi.env, "PYTHONPATH": WITHOUT_SOUND["PYTHONPATH"]}
    sitting = sit_down(picture, f'{binding}short = "next"\n', env)
    sitting.expect("Row 1, going right")
    for _ in range(10):  # the port may not be open yet
        pedal.stdin.write("\n")
        if sitting.expect(["Row 2, going left", pexpect.TIMEOUT], timeout=4) == 0:
            break
    pedal.kill()
    pedal.wait()
    sitting.expect("MIDI pedal music pedal was taken away")
    sitting.send("q")
    sitting.expect("Stopping at row")
    sitting.expect(pexpect.EOF)


@linux
def test_every_tread_is_one_row(picture, foot, tmp_path):
    """In one process, each tread as soon as the last one is shown: none is lost, none doubled."""
    pattern = load(picture)
    journal = FileJournal(tmp_path / "kept.place", pattern)
    events, shown = Events(), queue.SimpleQueue()
    keys = (
        PedalKey("device", "pagedown", short="next"),
        PedalKey("device", "pageup", short="back"),
        PedalKey("device", "esc", short="leave"),
    )
    settings = PressSettings(together_s=0)
    reader = PedalReader([OpenPedal("foot", lambda: EvdevPedal(foot.path), keys)], settings, events)
    desk = Desk(EspeakVoice(), SilentLoudspeaker(), journal, shown.put, events)
    session = threading.Thread(target=lambda: places.append(loop.run(pattern, desk, None)))
    places = []
    session.start()
    reader.start()
    assert "Row 1, going right" in shown.get(timeout=40)
    for _ in range(20):
        for code, row in (
            (KEY_PAGEDOWN, "Row 2, going left"),
            (KEY_PAGEUP, "Row 1, going right"),
        ):
            foot.press(code)
            assert row in shown.get(timeout=40)
            wait(0.05)
    foot.press(KEY_ESC)
    session.join(40)
    reader.close()
    journal.close()
    assert [place.row for place in places] == [1]
    assert shown.get(timeout=1).startswith("Stopping at row 1")
    assert shown.empty()
