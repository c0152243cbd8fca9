"""A session's cost: start to first call, command to sound, memory and processor while listening.

The second half runs on the virtual sound server where there is one.
"""

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import psutil
import soundfile
from paired import is_tiny, tiny, told

sys.path.insert(0, str(Path(__file__).parent.parent))
from child_env import WITHOUT_SOUND
from sounds import RATE, apart, spoken
from virtual_sound import VirtualSound, why_not

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.ports import SoundBlock
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.storage.pattern_file import load

DEMO = Path(__file__).parents[2] / "demo_patterns" / "harbour-evening.toml"
TIMES = tiny(5, 200)
STARTS = tiny(1, 7)
LISTEN_S = 30
OPENING_S = 20
"""What listens is loaded by then."""


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

            def get(self, timeout: float) -> Command:  # noqa: ARG002 (the queue's)
                asked_s.append(time.perf_counter())
                return Command.NEXT if len(asked_s) < TIMES else Command.LEAVE

            def put(self, event: object) -> None:
                raise AssertionError(event)

        desk = Desk(EspeakVoice(), loudspeaker, journal, lambda _line: None, Asking())
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
        # A history of its own, or it is asked whether this is the work of another place.
        env={**env, "CALLER_HISTORY": f"{folder}/history.sqlite"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    for line in process.stdout:
        if "Row 1," in line:
            break
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
        said = _talk()
        for voice in ("auto", "espeak"):
            process, _ = first_call(sound.env, "--voice", voice)
            whole = psutil.Process(process.pid)
            time.sleep(OPENING_S)
            assert process.stdin is not None
            process.stdin.write("mark\n")  # cuts the call short
            process.stdin.flush()
            time.sleep(10)
            quiet = _used_s(whole, lambda: time.sleep(LISTEN_S))
            talk = _used_s(whole, lambda: sound.speak(said))
            memory = _megabytes(whole)
            process.communicate("leave\n")
            print(
                f"voice {voice}: listening to silence {100 * quiet / LISTEN_S:.1f} % of one core, "
                f"to dense talk {100 * talk / LISTEN_S:.1f} %; {memory:.0f} MB, all processes, "
                "what they share counted once"
            )


def _used_s(whole: psutil.Process, during: Callable[[], object]) -> float:
    """Seconds of the processor that the program takes meanwhile, its other processes too."""
    before = _processor_s(whole)
    during()
    return _processor_s(whole) - before


def _processor_s(whole: psutil.Process) -> float:
    return sum(sum(one.cpu_times()[:2]) for one in (whole, *whole.children(recursive=True)))


def _megabytes(whole: psutil.Process) -> float:
    """Proportional set size where the system tells it (Linux), else resident."""
    told = [one.memory_full_info() for one in (whole, *whole.children(recursive=True))]
    return sum(getattr(one, "pss", one.rss) for one in told) / 2**20


def _talk() -> Path:
    """Everyday sentences, half a second apart, for as long as is listened."""
    said = apart(spoken(EVERYDAY[::3]), 0.5)
    path = Path(tempfile.mkdtemp(), "talk.wav")
    soundfile.write(path, np.resize(said, LISTEN_S * RATE), RATE)
    return path


if __name__ == "__main__":
    os.environ.setdefault("PYTHONWARNINGS", "ignore")
    command_to_sound()
    cold_start("without sound", WITHOUT_SOUND, "--no-listen")
    if not is_tiny():
        listening()
