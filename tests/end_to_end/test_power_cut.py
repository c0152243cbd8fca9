"""`kill -9` at random moments, and every state of the disk after the calls of a real session: the
place is never lost and never elsewhere."""

import os
import queue
import random
import re
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest
import strace_log
from child_env import WITHOUT_SOUND
from crash_states import Disk, Said, announced, crash_states
from forked_program import ForkedProgram
from PIL import Image

from caller.devices.storage.journal import FileJournal
from caller.pattern.storage.pattern_file import load

CUTS = 50
NO_HISTORY = Path(os.devnull) / "history.sqlite"
"""Where none can be, so that the place file is all there is."""
ROWS = 400


class Sitting:
    """One `caller knit` as a child process, with what it showed so far."""

    def __init__(self, picture: Path) -> None:
        self.program = ForkedProgram("knit", str(picture), "--no-listen", "--voice", "espeak")
        self.lines: queue.Queue[str] = queue.Queue()
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        for line in self.program.output:
            self.lines.put(line)

    def type(self, text: str) -> None:
        self.program.input.write(text + "\n")
        self.program.input.flush()

    def next_row_shown(self) -> int:
        while True:
            row = row_in(self.lines.get(timeout=60))
            if row is not None:
                return row

    def cut_the_power(self) -> list[int]:
        """Kill it; the rows shown that were not read yet."""
        self.program.kill()
        self.reader.join(10)
        self.program.input.close()
        self.program.output.close()
        shown = [row_in(self.lines.get_nowait()) for _ in range(self.lines.qsize())]
        return [row for row in shown if row is not None]


def row_in(line: str) -> int | None:
    found = re.search(r"Row (\d+), going", line)
    return int(found[1]) if found else None


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL is a POSIX signal")
def test_fifty_power_cuts(tmp_path):
    grid = np.zeros((ROWS, 6), dtype=np.uint8)
    grid[::2, 3:] = 255
    Image.fromarray(grid).save(tmp_path / "stripes.png")
    chance = random.Random(20)
    row, may_be, torn = 1, {1}, 0
    for _ in range(CUTS):
        sitting = Sitting(tmp_path / "stripes.png")
        row = sitting.next_row_shown()
        assert row in may_be, f"resumed at {row}, expected one of {sorted(may_be)}"
        trail = [row]  # every row that was announced or asked for, in order
        for _ in range(chance.randint(1, 12)):
            step = chance.choice([1, 1, 1, -1]) if trail[-1] > 1 else 1
            sitting.type("next" if step == 1 else "back")
            trail.append(trail[-1] + step)
        time.sleep(chance.uniform(0, 0.03))
        announced = [row, *sitting.cut_the_power()]
        assert announced == trail[: len(announced)], "rows are announced in order, none twice"
        # The place is on the disk before it is announced: so it is the row announced last, or the
        # one after it, whose announcement was under way.
        may_be = set(trail[len(announced) - 1 : len(announced) + 1])
        torn += len(announced) < len(trail)
    assert torn > 5, "the power was never cut in the middle of anything"


@pytest.mark.slow
@pytest.mark.skipif(strace_log.why_not() is not None, reason=str(strace_log.why_not()))
def test_every_state_of_the_disk_in_a_real_session(tmp_path):
    """The system calls of the program itself, whatever of it makes them."""
    root, replay = tmp_path / "work", tmp_path / "replay"
    root.mkdir()
    replay.mkdir()
    grid = np.zeros((ROWS, 6), dtype=np.uint8)
    grid[::2, 3:] = 255
    Image.fromarray(grid).save(root / "stripes.png")
    before = Disk.of(root)
    command = [sys.executable, "-m", "caller", "knit", str(root / "stripes.png"), "--no-listen"]
    typed = "next\nnext\nrepeat\nback\nnext\nleave\n"
    with (tmp_path / "typed").open("w+") as lines:
        lines.write(typed)
        lines.seek(0)
        traced = strace_log.strace(command, tmp_path / "calls")
        shown = subprocess.run(
            traced, stdin=lines, capture_output=True, text=True, env=WITHOUT_SOUND, check=True
        ).stdout
    rows = [row for row in map(row_in, shown.splitlines()) if row is not None]
    assert rows == [1, 2, 3, 3, 2, 3]

    calls = strace_log.calls_in((tmp_path / "calls").read_text(), root, before)
    assert before.after(calls).files() == Disk.of(root).files(), "no change went unseen"
    log = [Said(row_in(call.what)) if isinstance(call, Said) else call for call in calls]
    log = [call for call in log if call != Said(None)]
    assert [call.what for call in log if isinstance(call, Said)] == rows

    pattern, seen = load(root / "stripes.png"), set()
    for crash in crash_states(before, log):
        said = announced(log, crash.calls)
        if (crash.disk.key, said) in seen:
            continue
        seen.add((crash.disk.key, said))
        crash.disk.put(replay)
        journal = FileJournal(replay / "stripes.png.place", pattern, NO_HISTORY)
        kept = journal.read()
        journal.close()
        assert (kept and kept.place.row) in said
        assert said[0] is None or kept is not None
    assert len(seen) > 500
