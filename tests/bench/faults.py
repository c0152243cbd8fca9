"""What faults do: faults.py [--kills 300] [--fuzz 2000] [--sound 5] [--disk 16] [--seed 1]

Prints what was tried and what was lost. Everything runs in processes of its own:
- kills: `caller knit` is killed at a random moment of fast mixed commands; the next one must begin
  at the row that was shown last, or at one of those asked for since: each is kept before it is
  told, and the screen may be late.
- fuzz: so many changed files for each reader (the models a fiftieth, for each starts a process).
  Lost is what raises anything but our own errors, takes more than 10 s or more than 500 MB.
- sound: so many rounds in which the sound server is stopped, killed and started, and its
  loudspeaker suspended and taken away, while rows are asked for. Lost is a row that is not shown
  within 10 s, an end that takes more than 5 s longer than the last words, a line on the screen that
  is not ours, and a place that is not kept.
- disk: the disk is full but for 0, 1 and so on pages of 4 kB, so that each write in turn finds no
  room, by a file system in memory where one may be mounted, else by a limit for each file. Lost is
  a row that is shown and not kept, a failure that is not told, and a row that is not called by
  itself once there is room.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

from fault_readers import READERS
from fault_sessions import TESTS, apart, disk, kills, sound

MOST_MB = 500
CHUNK = 200


def fuzz(reader: str, count: int, seed: int, folder: Path) -> list[str]:
    """Try one reader in children of CHUNK files; a child that dies or hangs has lost its file."""
    at, end, lost = seed * 1_000_000, seed * 1_000_000 + count, []
    slowest_s, most_mb = 0.0, 0
    while at < end:
        here = Path(tempfile.mkdtemp(dir=folder))
        child = subprocess.Popen(
            [
                *(sys.executable, str(Path(__file__).with_name("fault_readers.py")), reader),
                *(str(here), str(at), str(min(end, at + CHUNK))),
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            env={**os.environ, **apart(folder), "PYTHONPATH": str(TESTS.parent)},
        )
        watch = threading.Timer(600, child.kill)
        watch.start()
        assert child.stdout is not None
        mb = 0
        for line in child.stdout:
            if not line.startswith("["):
                continue
            number, wrong, took_s, mb = json.loads(line)
            at = number + 1
            slowest_s = max(slowest_s, took_s)
            if wrong:
                lost.append(f"{reader} {number}: {wrong}")
        watch.cancel()
        if child.wait() != 0:
            lost.append(f"{reader} {at}: the process ended with {child.returncode}")
            at += 1
        if mb > MOST_MB:
            lost.append(f"{reader} before {at}: {mb} MB")
        most_mb = max(most_mb, mb)
    told = f"{len(lost)} lost; slowest {slowest_s:.1f} s, most {most_mb} MB"
    print(f"fuzz {reader}: {count} tried, {told}")
    return lost


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--kills", type=int, default=300)
    options.add_argument("--fuzz", type=int, default=2000, help="files for each reader")
    options.add_argument("--sound", type=int, default=5, help="rounds of four faults")
    options.add_argument("--disk", type=int, default=16, help="pages left, from none on")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--tiny", action="store_true", help="one or two of each, to show it runs")
    wishes = options.parse_args()
    if wishes.tiny:
        wishes.kills, wishes.fuzz, wishes.sound, wishes.disk = 1, 2, 0, 1
    lost = []
    with tempfile.TemporaryDirectory(prefix="caller-faults-") as name:
        folder = Path(name)
        if wishes.kills:
            lost += kills(wishes.kills, wishes.seed, folder)
        for reader in list(READERS)[: 2 if wishes.tiny else None] if wishes.fuzz else ():
            count = max(1, wishes.fuzz // 50) if reader == "models" else wishes.fuzz
            lost += fuzz(reader, count, wishes.seed, folder)
        if wishes.disk:
            (folder / "disk").mkdir()
            lost += disk(wishes.disk, folder / "disk")
        if wishes.sound:
            (folder / "sound").mkdir()
            lost += sound(wishes.sound, wishes.seed, folder / "sound")
    for one in lost:
        print(one)


if __name__ == "__main__":
    main()
