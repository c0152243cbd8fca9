"""A session's cost: start to first call, command to sound, memory and processor while listening.

The second half runs on the virtual sound server where there is one.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path

import psutil
from paired import is_tiny, tiny, told

sys.path.insert(0, str(Path(__file__).parent.parent))
from child_env import WITHOUT_SOUND
from virtual_sound import VirtualSound, why_not

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.ports import SoundBlock
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.storage.pattern_file import load

DEMO = Path(__file__).parents[2] / "demo_patterns" / "harbour-evening.toml"
TIMES = tiny(5, 200)
STARTS = tiny(1, 7)
LISTEN_S = 30


class TimingLoudspeaker(SilentLoudspeaker):
    """Notes when the first block of speech is handed over, and drops the rest."""

    def __init__(self) -> None:
        super().__init__()
        self.handed_over_s: list[float] = []

    def add(self, blocks: Iterable[SoundBlock]) -> None:
        next(iter(blocks))
        self.handed_over_s.append(time.perf_counter())

    def play(self, blocks: Iterable[SoundBlock]) -> None:
        """The acknowledgement; only speech is timed."""


def command_to_sound() -> None:
    pattern, loudspeaker = load(DEMO), TimingLoudspeaker()
    with tempfile.TemporaryDirectory() as folder:
        journal = FileJournal(Path(folder) / "bench.place", pattern)
        asked_s: list[float] = []

        class Asking:
            """An endless knitter: the time of each command is noted as the loop takes it."""

            def get(self) -> Command:
                asked_s.append(time.perf_counter())
                return Command.NEXT if len(asked_s) < TIMES else Command.LEAVE

            def put(self, event: object) -> None:
                raise AssertionError(event)

        desk = loop.Desk(EspeakVoice(), loudspeaker, journal, lambda _line: None, Asking())
        loop.run(pattern, desk, None)
        journal.close()
    waits = [
        1e3 * (heard - asked)
        for asked, heard in zip(asked_s, loudspeaker.handed_over_s[1:], strict=True)
    ]
    print(
        f"command to first block of speech, journal included: median {statistics.median(waits):.2f}"
        f" ms, worst {max(waits):.2f} ms of {len(waits)}"
    )


def first_call(env: dict[str, str], *options: str) -> tuple[subprocess.Popen[str], float]:
    folder = tempfile.mkdtemp()
    start = time.perf_counter()
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "caller",
            "knit",
            str(DEMO),
            "--place",
            f"{folder}/x.place",
            *options,
        ],
        env=env,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    while "Row 1," not in process.stdout.readline():
        pass
    return process, time.perf_counter() - start


def cold_start(name: str, env: dict[str, str], *options: str) -> None:
    times, ratios = [], []
    for number in range(STARTS):
        told(f"start {number + 1} of {STARTS}, {name}")
        bare = _timed([sys.executable, "-c", "import numpy, PIL.Image"], env)
        process, seconds = first_call(env, *options)
        process.communicate("leave\n")
        times.append(seconds)
        ratios.append(seconds / bare)
    print(
        f"cold start to first call, {name}: {statistics.median(times):.2f} s, "
        f"{statistics.median(ratios):.1f} x that of importing numpy and Pillow, each beside it"
    )


def _timed(command: list[str], env: dict[str, str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, env=env, check=True)
    return time.perf_counter() - start


def listening() -> None:
    reason = why_not()
    if reason:
        print(f"listening was not measured: {reason}")
        return
    with VirtualSound() as sound:
        cold_start("with sound and listening", sound.env)
        process, _ = first_call(sound.env)
        child = psutil.Process(process.pid)
        time.sleep(15)  # the opening call
        before = sum(child.cpu_times()[:2])
        time.sleep(LISTEN_S)
        used = sum(child.cpu_times()[:2]) - before
        memory = child.memory_info().rss / 2**20
        process.communicate("leave\n")
        print(
            f"listening to silence for {LISTEN_S} s: {100 * used / LISTEN_S:.1f} % of one core, "
            f"{memory:.0f} MB resident"
        )


if __name__ == "__main__":
    os.environ.setdefault("PYTHONWARNINGS", "ignore")
    command_to_sound()
    cold_start("without sound", WITHOUT_SOUND, "--no-listen")
    if not is_tiny():
        listening()
