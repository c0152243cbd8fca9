"""`caller knit` with a screen or keys that fail: the rows are called on, and the place is kept."""

import os
import subprocess
import sys
import time

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from PIL import Image

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX shell")

KNIT = [sys.executable, "-m", "caller", "knit", "--voice", "espeak"]


@pytest.fixture
def picture(tmp_path):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")
    return tmp_path / "stripes.png"


def knit(picture, streams, env, typed="next\nnext\nleave\n", options="--no-listen"):
    """A session whose streams the shell redirects; what it wrote, and its exit code."""
    program = f"exec {sys.executable} -m caller knit {picture} --voice espeak {options} {streams}"
    return subprocess.run(
        ["/bin/sh", "-c", program],
        input=typed,
        env=env,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def row_kept(picture):
    again = knit(picture, "", WITHOUT_SOUND, "leave\n").stdout
    return int(again.split("Carrying on at row ")[1].split()[0])


@pytest.mark.sound
@pytest.mark.parametrize("streams", [">/dev/full 2>/dev/full", ">&- 2>&-"])
def test_an_output_that_is_full_or_closed(virtual_sound, picture, streams):
    env = virtual_sound.env
    done = knit(picture, streams, env)
    assert (done.returncode, done.stderr) == (0, "")
    assert row_kept(picture) == 3
    assert not list(picture.parent.glob("*.part"))


@pytest.mark.sound
def test_a_reader_that_goes_away(virtual_sound, picture):
    """It is told of once, by ear, and the rows go on."""
    reading, writing = os.pipe()
    with virtual_sound.recording() as heard:
        sitting = subprocess.Popen(
            [*KNIT, str(picture), "--no-listen"],
            env=virtual_sound.env,
            stdin=subprocess.PIPE,
            stdout=writing,
            stderr=subprocess.PIPE,
            text=True,
        )
        os.close(writing)
        os.read(reading, 1)
        os.close(reading)
        sitting.stdin.write("next\n")
        sitting.stdin.flush()
        time.sleep(3)
        before = len(heard.samples)
        sitting.stdin.write("next\nleave\n")
        sitting.stdin.close()
        assert sitting.wait(30) == 0
        assert np.abs(heard.samples[before:]).max() > 1000
    assert sitting.stderr.read() == ""
    assert row_kept(picture) == 3


def test_without_sound_and_screen_it_ends(picture):
    done = knit(picture, ">/dev/full", WITHOUT_SOUND, "next\n" * 3 + "leave\n")
    assert (done.returncode, done.stderr) == (0, "")
    assert row_kept(picture) in range(1, 5)


def test_an_input_that_cannot_be_read_ends_what_has_no_other(picture):
    done = knit(picture, "<&- >&- 2>&-", WITHOUT_SOUND)
    assert (done.returncode, done.stderr) == (0, "")
    assert row_kept(picture) == 1


def test_an_error_where_nothing_can_be_shown(tmp_path):
    done = knit(tmp_path / "nothing.png", ">/dev/full 2>/dev/full", WITHOUT_SOUND)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", "")


def test_a_list_that_cannot_be_written_is_said(picture):
    full = subprocess.run(
        ["/bin/sh", "-c", f"{sys.executable} -m caller rows {picture} >/dev/full"],
        env=WITHOUT_SOUND,
        capture_output=True,
        text=True,
        check=False,
    )
    assert full.returncode == 2
    assert full.stderr.count("\n") == 1
    assert "cannot be written: No space left on device. Is the disk full?" in full.stderr


def test_a_code_page_that_lacks_letters(picture):
    strange = picture.with_name("針仕事 – ё.png")
    picture.rename(strange)
    env = {**WITHOUT_SOUND, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(
        [*KNIT, str(strange), "--no-listen"],
        env=env,
        input=b"next\n\xff\xfe\nleave\n",
        capture_output=True,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Row 2, going left" in done.stdout
    assert b"That was not understood" in done.stdout


def test_help_on_a_bare_code_page():
    env = {**WITHOUT_SOUND, "PYTHONIOENCODING": "ascii"}
    command = [sys.executable, "-m", "caller", "knit", "--help"]
    done = subprocess.run(command, env=env, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
