"""`caller knit` ends in time, whatever a device does."""

import os
import signal
import sys
import time

import click
import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from click.testing import CliRunner
from PIL import Image
from running import Running
from virtual_sound import VirtualSound, why_not

from caller.cli import main
from caller.installation import PROGRAM

LONGEST_S = 5.0
STOPPED = "Stopped. Nothing is lost; the same command begins again."


@pytest.fixture
def sound():
    """A server of its own, for it is stopped."""
    if reason := why_not():
        pytest.skip(reason)
    with VirtualSound() as server:
        yield server


@pytest.fixture
def picture(tmp_path):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")
    return tmp_path / "stripes.png"


class Sitting(Running):
    """One `row-caller knit`."""

    def __init__(self, picture, env, *options):
        usual = ("knit", picture, "--voice", "espeak", "--recogniser", "pocketsphinx")
        super().__init__(env, *usual, *options)

    def leave(self):
        """The seconds that it took to end, from its last words on."""
        self.type("leave")
        self.until("Your place is kept.")
        began_s = time.monotonic()
        assert self.ended() == ""
        return time.monotonic() - began_s


@pytest.mark.sound
@pytest.mark.slow
@pytest.mark.parametrize("listening", ["--listen", "--no-listen"])
def test_a_sound_server_that_hangs(sound, picture, listening):
    with Sitting(picture, sound.env, listening) as sitting:
        sitting.until("Row 1, going right")
        with sound.hanging():
            sitting.type("next")
            sitting.until("Row 2, going left")
            assert sitting.leave() < LONGEST_S


@pytest.mark.sound
@pytest.mark.slow
def test_a_sound_server_that_hangs_from_the_start(sound, picture):
    """The rows are on the screen; the sound comes when the server answers."""
    with Sitting(picture, sound.env) as sitting:
        with sound.hanging():
            sitting.until("Row 1, going right")
            sitting.until("The computer's sound does not answer")
            sitting.type("next")
            sitting.until("Row 2, going left")
        with sound.recording() as heard:
            sitting.until("The loudspeaker is back.")
            sitting.type("repeat")
            sitting.until("Row 2, going left")
            assert sitting.leave() < LONGEST_S
            assert np.abs(heard.samples).max() > 1000
    with sound.hanging(), Sitting(picture, sound.env) as sitting:
        sitting.until("Row 2, going left")
        assert sitting.leave() < LONGEST_S


@pytest.mark.sound
@pytest.mark.slow
def test_a_loudspeaker_that_is_suspended_or_lost_is_told_of_at_once(sound, picture):
    """By nothing else than the program's own lines."""
    with Sitting(picture, sound.env, "--no-listen") as sitting:
        sitting.until("Row 1, going right")
        sound.suspend_loudspeaker(True)
        began_s = time.monotonic()
        sitting.until("The loudspeaker takes no more sound")
        assert time.monotonic() - began_s < LONGEST_S
        sound.suspend_loudspeaker(False)
        sitting.until("The loudspeaker is back.")
        sound.stop()
        sitting.until("The loudspeaker was taken away or its driver stopped")
        sound.start()
        sitting.until("The loudspeaker is back.")
        assert sitting.leave() < LONGEST_S


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP], ids=["SIGTERM", "SIGHUP"])
def test_the_terminal_is_given_back_when_the_system_ends_it(picture, number):
    pexpect = pytest.importorskip("pexpect")
    shell = pexpect.spawn(
        "/bin/sh",
        env={**WITHOUT_SOUND, "PS1": "$ ", "TERM": "xterm"},
        encoding="utf-8",
        dimensions=(24, 400),
        timeout=60,
        preexec_fn=lambda: signal.signal(signal.SIGHUP, signal.SIG_DFL),  # nohup may run the tests
    )
    folder = picture.parent
    shell.sendline(f"cd {folder}; stty -a > before.txt")
    session = f"{sys.executable} -m caller knit stripes.png --no-listen --voice espeak"
    shell.sendline(f"{session} & echo $! > pid; fg")
    shell.expect("Row 1, going right")
    shell.send(" ")
    shell.expect("Row 2, going left")
    os.kill(int((folder / "pid").read_text()), number)
    shell.expect(r"\$ ")  # what is typed before is thrown away with the rest of its input
    shell.sendline("echo code-$?; stty -a > after.txt; echo finished''-now")
    shell.expect("finished-now")
    assert f"code-{128 + number}" in shell.before
    assert "Traceback" not in shell.before
    shell.close(force=True)
    assert (folder / "after.txt").read_text() == (folder / "before.txt").read_text()
    with Sitting(picture, WITHOUT_SOUND, "--no-listen") as sitting:
        sitting.until("Carrying on at row 2")


@pytest.mark.skipif(sys.platform == "win32", reason="SIGINT is a POSIX signal")
def test_control_c_while_it_starts(picture):
    for after_s in (0.2, 0.5, 0.9, 1.4, 2.0):
        with Sitting(picture, WITHOUT_SOUND, "--listen") as sitting:
            time.sleep(after_s)
            sitting.process.send_signal(signal.SIGINT)
            told = sitting.process.stderr.read()
            assert sitting.process.wait(10) in (130, -signal.SIGINT, 1)
        if "/caller/" in told or "Traceback" not in told:  # else Python itself had not begun
            assert told in ("", f"{PROGRAM}: {STOPPED}\n"), after_s


def test_control_c_before_a_command_has_begun(monkeypatch):
    def interrupted(*_arguments, **_wishes):
        raise KeyboardInterrupt

    monkeypatch.setattr(click.Command, "parse_args", interrupted)
    done = CliRunner().invoke(main, ["rows", "nothing.toml"])
    assert (done.exit_code, done.output) == (130, f"{PROGRAM}: {STOPPED}\n")
