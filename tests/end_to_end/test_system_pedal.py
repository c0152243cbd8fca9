"""`caller knit` moved on by keys that are pressed in another window, on a virtual display."""

import sys
import time

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from PIL import Image
from virtual_display import VirtualDisplay

pexpect = pytest.importorskip("pexpect")

PAGE_DOWN = "\x1b[6~"  # the VT220's
PEDAL = '[[pedals]]\nsource = "system"\nkey = "pagedown"\nshort = "next"\n'


def sit_down(folder, display):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(folder / "stripes.png")
    (folder / "settings.toml").write_text(PEDAL)
    own = {"TERM": "xterm", "CALLER_SETTINGS": str(folder / "settings.toml")}
    sitting = pexpect.spawn(
        sys.executable,
        ["-m", "caller", "knit", str(folder / "stripes.png"), "--no-listen", "--voice", "espeak"],
        env={**WITHOUT_SOUND, **display.env, "PYTHONPATH": WITHOUT_SOUND["PYTHONPATH"], **own},
        encoding="utf-8",
        dimensions=(24, 400),
        timeout=20,
    )
    sitting.expect("Row 1, going right")
    return sitting


def pressed_until(display, sitting, told):
    """Press page down until it is heard: the display may just be opened."""
    while sitting.expect([told, pexpect.TIMEOUT], timeout=1):
        display.press("Next")


def test_a_row_for_each_press_with_another_window_in_front(virtual_display, tmp_path):
    sitting = sit_down(tmp_path, virtual_display)
    virtual_display.window("a pattern book", tmp_path / "typed")
    pressed_until(virtual_display, sitting, "Row 2, going left")
    for row in range(3, 6):
        time.sleep(0.3)  # a foot's pause; presses as close as a program's are a pedal's bouncing
        virtual_display.press("Next")
        sitting.expect(f"Row {row}, ")
    virtual_display.press("Prior", "space", "s")  # these are the other window's alone
    # The terminal leaves to the pedal what the pedal hears anyway, or one press would count twice.
    sitting.send(PAGE_DOWN)
    sitting.send("w")
    sitting.expect("This is row 5 of 9")
    sitting.send(" ")
    sitting.expect("Row 6, ")
    sitting.send("q")
    sitting.expect("Stopping at row 6")
    sitting.expect(pexpect.EOF)
    sitting.close()
    assert sitting.exitstatus == 0


def test_when_the_display_goes_the_terminals_keys_are_back(virtual_display, tmp_path):
    with VirtualDisplay() as display:
        sitting = sit_down(tmp_path, display)
        pressed_until(display, sitting, "Row 2, going left")
    sitting.expect("The keys of the whole system can no longer be heard.")
    sitting.send(PAGE_DOWN)
    sitting.expect("Row 3, ")
    sitting.send("q")
    sitting.expect("Stopping at row 3")
    sitting.expect(pexpect.EOF)
    assert "Traceback" not in sitting.before
