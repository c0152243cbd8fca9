"""`caller knit` ends in time, whatever a device does."""

import queue
import subprocess
import sys
import threading
import time

import numpy as np
import pytest
from PIL import Image
from virtual_sound import VirtualSound, why_not

LONGEST_S = 5.0


@pytest.fixture
def sound():
    """A server of its own, for it is stopped."""
    if reason := why_not():
        pytest.skip(reason)
    with VirtualSound() as server:
        yield server


@pytest.mark.sound
@pytest.mark.slow
@pytest.mark.parametrize("listening", ["--listen", "--no-listen"])
def test_a_sound_server_that_hangs(sound, tmp_path, listening):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")
    sitting = subprocess.Popen(
        [
            *(sys.executable, "-m", "caller", "knit", str(tmp_path / "stripes.png")),
            *(listening, "--voice", "espeak", "--recogniser", "pocketsphinx"),
        ],
        env=sound.env,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    lines = queue.Queue()
    threading.Thread(target=lambda: [lines.put(x) for x in sitting.stdout], daemon=True).start()

    def type_(line: str) -> None:
        sitting.stdin.write(f"{line}\n")
        sitting.stdin.flush()

    def until(words: str) -> None:
        while words not in lines.get(timeout=60):
            pass

    try:
        until("Row 1, going right")
        with sound.hanging():
            type_("next")
            until("Row 2, going left")
            type_("leave")
            until("Stopping at row 2 of 9. Your place is kept.")
            began_s = time.monotonic()
            code = sitting.wait(timeout=30)
            assert time.monotonic() - began_s < LONGEST_S
        assert (code, sitting.stderr.read()) == (0, "")
    finally:
        sitting.kill()
