"""What faults.py does to sessions: kills, a full disk, and a sound server that fails.

Each gives what was lost, a sentence for each.
"""

import contextlib
import os
import queue
import random
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

TESTS = Path(__file__).parents[1]
sys.path.insert(0, str(TESTS))
ROWS = 400
LONGEST_S = 10.0
STARTS_S = 600.0  # on a busy machine, where this program comes last
ENDS_S = 60.0
LEAVES_S = 5.0 + 3.0
"""The last words take three seconds to say."""
NEUTRAL = ("where", "remaining", "mark", "supplies", "slower", "faster", "nonsense")
"""Commands that neither move nor show another row."""


class Sitting:
    """One `caller knit`, typed to: `lines` is what it shows, and `heeds` whether it ended by the
    signal that should end it."""

    def __init__(self, picture: Path, env: dict[str, str]) -> None:
        self.process = subprocess.Popen(
            [
                *(sys.executable, "-m", "caller", "knit", str(picture)),
                *("--no-listen", "--voice", "espeak"),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            env=env,
        )
        self.lines: queue.Queue[str] = queue.Queue()
        self.all: list[str] = []
        self.heeds = True
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.all.append(line)
            self.lines.put(line)

    def type(self, text: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(f"{text}\n")
        self.process.stdin.flush()

    def row(self, within_s: float = 60.0) -> int | None:
        """The next row that is shown; None where none is in time."""
        until = time.monotonic() + within_s
        while (left := until - time.monotonic()) > 0:
            try:
                if (row := row_in(self.lines.get(timeout=left))) is not None:
                    return row
            except queue.Empty:
                break
        return None

    def end(self, number: int) -> list[int]:
        """End it with this signal; the rows that were shown and not read yet."""
        self.process.send_signal(number)
        try:
            self.process.wait(ENDS_S)
        except subprocess.TimeoutExpired:
            self.heeds = False
            self.process.kill()
            self.process.wait()
        self.reader.join(10)
        for pipe in (self.process.stdin, self.process.stdout, self.process.stderr):
            if pipe is not None:
                with contextlib.suppress(OSError):  # what was typed and never read
                    pipe.close()
        shown = [row_in(self.lines.get_nowait()) for _ in range(self.lines.qsize())]
        return [row for row in shown if row is not None]


def row_in(line: str) -> int | None:
    found = re.search(r"Row (\d+), going", line)
    return int(found[1]) if found else None


def stripes(folder: Path) -> Path:
    grid = np.zeros((ROWS, 6), dtype=np.uint8)
    grid[::2, 3:] = 255
    Image.fromarray(grid).save(folder / "stripes.png")
    return folder / "stripes.png"


def kills(count: int, seed: int, folder: Path) -> list[str]:
    from child_env import WITHOUT_SOUND

    chance, picture = random.Random(seed), stripes(folder)
    env = {**WITHOUT_SOUND, **apart(folder)}
    lost, may_be, torn = [], {1}, 0
    for number in range(count):
        if number % 50 == 49:
            print(f"  {number + 1} kills, {len(lost)} lost so far", flush=True)
        sitting = Sitting(picture, env)
        row = sitting.row(STARTS_S)
        if row not in may_be:
            told = f"resumed at {row}, expected one of {sorted(may_be)}: {sitting.all}"
            lost.append(f"kill {number}: {told}")
        row = row or min(may_be)
        trail = [row]
        for _ in range(chance.randint(1, 14)):
            if chance.random() < 0.3:
                sitting.type(chance.choice(NEUTRAL))
                continue
            step = 1 if trail[-1] == 1 or chance.random() < 0.75 else -1
            step = -1 if trail[-1] == ROWS else step
            sitting.type("next" if step == 1 else "back")
            trail.append(trail[-1] + step)
        time.sleep(chance.uniform(0, 0.06))
        shown = [row, *sitting.end(signal.SIGKILL)]
        if shown != trail[: len(shown)]:
            lost.append(f"kill {number}: shown {shown}, typed {trail}: {sitting.all}")
        may_be = set(
            trail[len(shown) - 1 :]
        )  # the screen is on a thread of its own, and may be late
        torn += len(shown) < len(trail)
    print(f"kills: {count} tried, {torn} within commands, {len(lost)} places lost")
    return lost


def apart(folder: Path) -> dict[str, str]:
    """Nothing of the knitter's own is read or written."""
    return {
        "PYTHONPATH": os.pathsep.join([str(TESTS.parent), str(TESTS / "without_sound")]),
        "CALLER_HISTORY": str(folder / "history.sqlite"),
        "CALLER_SETTINGS": str(folder / "settings.toml"),
        "CALLER_OWN_VOICE": str(folder / "own-voice"),
    }


def sound(rounds: int, seed: int, folder: Path) -> list[str]:
    from virtual_sound import VirtualSound, why_not

    if reason := why_not():
        print(f"sound: not tried; {reason}")
        return []
    chance, picture, lost, tried = random.Random(seed), stripes(folder), [], 0
    with VirtualSound() as server:
        faults: dict[str, Callable[[], None]] = {
            "stopped": lambda: server.hang(True),
            "killed and started": lambda: (server.stop(), server.start()),
            "suspended": lambda: server.suspend_loudspeaker(True),
            "taken away": server.take_loudspeaker_away,
        }
        mends: dict[str, Callable[[], None]] = {
            "stopped": lambda: server.hang(False),
            "suspended": lambda: server.suspend_loudspeaker(False),
            "taken away": server.plug_loudspeaker_in,
        }
        for number in range(rounds):
            for fault in faults:
                tried += 1
                where = f"round {number}, {fault}"
                env = {**server.env, **apart(folder)}
                env["PYTHONPATH"] = str(TESTS.parent)
                sitting = Sitting(picture, env)
                row = sitting.row() or 0
                time.sleep(chance.uniform(0, 2))
                faults[fault]()
                for _ in range(3):
                    sitting.type("next")
                    row += 1
                    if (shown := sitting.row(LONGEST_S)) != row:
                        lost.append(f"{where}: row {row} was not shown but {shown}")
                    time.sleep(chance.uniform(0, 1))
                if chance.random() < 0.5 and fault in mends:
                    mends[fault]()
                    sitting.type("repeat")
                    sitting.row(LONGEST_S)
                lost += [f"{where}: {what}" for what in _left(sitting)]
                print(f"  {where}: {len(lost)} lost so far", flush=True)
                mends.get(fault, lambda: None)()
                again = Sitting(picture, env)
                if (kept := again.row()) != row:
                    lost.append(f"{where}: row {row} was left, and {kept} is kept")
                again.end(signal.SIGTERM)
                if not again.heeds:
                    lost.append(f"{where}: the signal to end was not heeded")
    print(f"sound: {tried} faults tried, {len(lost)} things lost")
    return lost


def disk(pages: int, folder: Path) -> list[str]:
    from child_env import WITHOUT_SOUND
    from small_disk import PAGE, Limit, small_disk, why_no_disk, why_no_limit

    if (no_disk := why_no_disk()) and why_no_limit():
        print(f"disk: not tried; {no_disk}")
        return []
    lost: list[str] = []
    told = 0
    with contextlib.ExitStack() as stack:
        small = None if no_disk else stack.enter_context(small_disk())
        picture = stripes(small.folder if small else folder)
        env = {**WITHOUT_SOUND, **apart(small.folder if small else folder)}
        row = 1
        for left in range(pages):
            sitting = Sitting(picture, env)
            if (shown := sitting.row()) != row:
                lost.append(f"{left} pages left: row {row} was told, and {shown} is kept")
            full = small or Limit(sitting.process.pid)
            full.fill(left * PAGE)
            sitting.type("next")
            row += 1
            if sitting.row(LONGEST_S) != row:
                told += 1
                if not any("could not be kept" in line for line in sitting.all):
                    lost.append(f"{left} pages left: nothing was told: {sitting.all}")
                full.free()
                if sitting.row(30) != row:
                    lost.append(f"{left} pages left: row {row} was not tried again")
            sitting.end(signal.SIGKILL)
            full.free()
    print(f"disk: {pages} tried, {told} told and tried again, {len(lost)} lost")
    return lost


def _left(sitting: Sitting) -> list[str]:
    """Leave; what was wrong about it."""
    sitting.type("leave")
    try:
        while "Your place is kept." not in sitting.lines.get(timeout=20):
            pass
    except queue.Empty:
        sitting.end(signal.SIGKILL)
        return ["it did not stop"]
    began_s = time.monotonic()
    try:
        sitting.process.wait(60)
    except subprocess.TimeoutExpired:
        sitting.end(signal.SIGKILL)
        return ["it did not end in a minute"]
    wrong = []
    if (took_s := time.monotonic() - began_s) > LEAVES_S:
        wrong.append(f"it ended after {took_s:.1f} s")
    assert sitting.process.stderr is not None
    if told := sitting.process.stderr.read():
        wrong.append(f"on the screen: {told[-2000:]}")
    if sitting.process.returncode:
        wrong.append(f"exit code {sitting.process.returncode}")
    return wrong
