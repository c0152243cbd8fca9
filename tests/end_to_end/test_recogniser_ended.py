"""`caller knit` whose recogniser is killed: it is told once, and what is said is heard again."""

import queue

import numpy as np
import psutil
import pytest
from PIL import Image
from test_hands_free import say_into_microphone
from test_leaving import Sitting

from caller.calling.listening.loading import AGAIN


@pytest.mark.sound
@pytest.mark.slow
def test_a_recogniser_that_is_killed(virtual_sound, tmp_path):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")

    def say_until(sitting, words, told):
        """Say it, thrice at most, since a busy machine loses sound; the lines until it is told."""
        lines = []
        for _ in range(3):
            say_into_microphone(virtual_sound, words, tmp_path)
            try:
                while told not in (line := sitting.lines.get(timeout=10)):
                    lines.append(line)
                return lines
            except queue.Empty:
                continue
        raise AssertionError(lines)

    picture, faster = tmp_path / "stripes.png", ("--rate", "350")
    with virtual_sound.quiet_room(), Sitting(picture, virtual_sound.env, *faster) as sitting:
        sitting.until("Row 1, going right")
        say_until(sitting, "next row", "Row 2, going left")
        children = psutil.Process(sitting.process.pid).children()
        [worker] = [one for one in children if "caller.devices.recognisers.worker" in one.cmdline()]
        worker.kill()
        say_until(sitting, "next row", AGAIN.sentence)
        sitting.type("next")
        sitting.until("Row 3, going right")
        say_until(sitting, "next row", "Row 4, going left")
        assert psutil.Process(sitting.process.pid).children()
        sitting.leave()
