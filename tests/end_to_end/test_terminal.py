"""`caller knit` on a real pseudo-terminal: keys, and pedals that send keys."""

import signal
import sys

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from PIL import Image

pexpect = pytest.importorskip("pexpect")

# What a terminal sends for a key: ECMA-48 control sequences and the VT220's editing keys.
PAGE_UP, PAGE_DOWN = "\x1b[5~", "\x1b[6~"
UP, RIGHT, LEFT = "\x1b[A", "\x1b[C", "\x1b[D"


@pytest.fixture
def picture(tmp_path):
    grid = np.zeros((9, 6), dtype=np.uint8)
    grid[1::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")
    return tmp_path / "stripes.png"


def sit_down(picture, *options):
    return pexpect.spawn(
        sys.executable,
        ["-m", "caller", "knit", str(picture), "--no-listen", "--voice", "espeak", *options],
        env={**WITHOUT_SOUND, "TERM": "xterm"},
        encoding="utf-8",
        dimensions=(24, 400),
        timeout=60,
    )


def end(sitting):
    """At once, for a session that is asked to end takes its time to do it properly."""
    sitting.kill(signal.SIGKILL)
    sitting.wait()
    sitting.close()


def test_keys_that_move_on(picture):
    sitting = sit_down(picture)
    sitting.expect("Row 1, going right: black to R3.")
    sitting.send(" ")
    sitting.expect("Row 2, going left: new white to R1; black waiting at R3, to L3.")
    for row, key in enumerate(("\r", PAGE_DOWN, RIGHT), 3):
        sitting.send(key)
        sitting.expect(f"Row {row}, going")
    sitting.send("q")
    sitting.expect("Stopping at row 5 of 9. Your place is kept.")
    sitting.expect(pexpect.EOF)
    sitting.close()
    assert sitting.exitstatus == 0


def test_keys_that_go_back(picture):
    keys = ("b", LEFT, PAGE_UP, "\x7f", "\x08")
    sitting = sit_down(picture, "--row", "6")
    sitting.expect("Starting at row 6 of 9. Row 6, going left")
    for key, row in zip(keys, (5, 4, 3, 2, 1), strict=True):
        sitting.send(key)
        sitting.expect(f"Row {row}, going")
    for key in keys:
        sitting.send(key)
        sitting.expect("This is the first row; nothing comes before it. Row 1, going right")
    sitting.send("\x03")
    sitting.expect("Stopping at row 1")
    sitting.expect(pexpect.EOF)


def test_repeat_help_and_where(picture):
    sitting = sit_down(picture, "--row", "3")
    sitting.expect("Row 3, going right")
    for key in ("r", UP):
        sitting.send(key)
        sitting.expect("Row 3, going right")
    sitting.send("?")
    sitting.expect("To hear it again, press r or the up arrow.")  # nobody listens here
    sitting.send("w")
    sitting.expect("This is row 3 of 9, going right.")
    sitting.send("x")
    sitting.expect("That was not understood.")
    sitting.send("q")
    sitting.expect("Stopping at row 3")
    sitting.expect(pexpect.EOF)


def test_questions_and_the_rate(picture):
    sitting = sit_down(picture, "--row", "3")
    sitting.expect("Row 3, going right")
    for key, echo in [
        ("n", "Which needle"),
        ("r", "Right."),
        ("2", "two."),
        ("\r", "In row 3, R2 is"),
    ]:
        sitting.send(key)
        sitting.expect(echo)
    for keys in ("g4\x1b", "oa\x1b"):
        sitting.send(keys)
        sitting.expect("No (number|remark) was given.")  # no other key need be pressed for that
    sitting.send("t")
    sitting.expect("7 rows to go, counting this one.")
    sitting.send("s")
    sitting.expect("1 end hangs. black at L3.")
    sitting.send("c")
    sitting.expect("Row 4, going left: ")
    sitting.send("+")
    sitting.expect("160 words a minute.")
    sitting.send("-")
    sitting.expect("140 words a minute.")
    sitting.send("?")
    sitting.expect("For the others, ask for help again.")
    sitting.send("?")
    sitting.expect("To hear it slower, press minus")
    sitting.send("q")
    sitting.expect("Stopping at row 3")
    sitting.expect(pexpect.EOF)


def test_the_end(picture):
    sitting = sit_down(picture, "--row", "9")
    sitting.expect("Row 9, going right")
    sitting.send(" ")
    sitting.expect(
        "The picture is finished. All 9 rows are knitted. To hear what is left to do, go on"
    )
    sitting.send(" ")
    sitting.expect("Bind off ")
    sitting.send("q")
    sitting.expect("Goodbye.")
    sitting.expect(pexpect.EOF)
    again = sit_down(picture)
    again.expect("The picture is finished. All 9 rows are knitted. Bind off ")
    again.send("b")
    again.expect("The picture is finished.")
    again.send("b")
    again.expect("Row 9, going right")
    end(again)


def test_the_rest_of_a_row_follows_by_itself(picture):
    sitting = sit_down(picture, "--runs", "1", "--follow")
    sitting.expect("Row 1, going right")
    sitting.send(" ")
    sitting.expect("Row 2, going left: new white to R1. The row goes on.")
    sitting.expect(
        "black waiting at R3, to L3. After the pass, cut white at R1."
    )  # four seconds on
    sitting.send("q")
    sitting.expect("Stopping at row 2")
    sitting.expect(pexpect.EOF)


def test_a_power_cut_in_the_middle_of_a_row(picture):
    sitting = sit_down(picture, "--runs", "1")
    sitting.expect("Row 1, going right")
    for told in ("The row goes on.", "After the pass, cut white at R1."):
        sitting.send(" ")
        sitting.expect(told)
    sitting.kill(signal.SIGKILL)
    again = sit_down(picture, "--runs", "1")
    again.expect("Carrying on at row 2 of 9. Row 2, going left: From yarn 2 of 2, at L1.")
    end(again)
    one = sit_down(picture)  # and whole rows begin at the row's first yarn
    one.expect("Carrying on at row 2 of 9. Row 2, going left: new white to R1;")
    end(one)


def test_a_missing_sound_device_is_said_once(picture):
    sitting = sit_down(picture)
    sitting.expect("Row 1, going right")
    before = sitting.before
    assert sum("ound" in line for line in before.splitlines()) == 1, before
    sitting.send("q")
    sitting.expect(pexpect.EOF)
    assert "Traceback" not in before + sitting.before


def test_the_terminal_is_left_as_it_was(picture, tmp_path):
    """Raw mode is undone: a shell that ran a session echoes again."""
    shell = pexpect.spawn(
        "/bin/sh",
        env={**WITHOUT_SOUND, "PS1": "$ ", "TERM": "xterm"},
        encoding="utf-8",
        dimensions=(24, 400),
        timeout=60,
    )
    shell.sendline(f"cd {tmp_path}; stty -a > before.txt")
    shell.sendline(f"{sys.executable} -m caller knit stripes.png --no-listen --voice espeak")
    shell.expect("Row 1, going right")
    shell.send("q")
    shell.expect("Stopping at row 1")
    shell.expect_exact("$ ")  # what is typed sooner is still read as keys
    shell.sendline("stty -a > after.txt; echo finished''-now")
    shell.expect("finished-now")
    shell.close(force=True)
    assert (tmp_path / "after.txt").read_text() == (tmp_path / "before.txt").read_text()
