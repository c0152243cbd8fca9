"""A virtual sound server, so that the real sound card code runs on any Linux machine.

PulseAudio with two null sinks: `speaker`, whose monitor can be recorded, and `mic_feed`, whose
monitor is the microphone. PortAudio reads the environment when it loads, so the code under test
runs in a child process started with `env`.
"""

import contextlib
import os
import shutil
import signal
import subprocess
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE = 48_000
_ALSA = """
pcm.!default { type pulse }
ctl.!default { type pulse }
"""
_NAMED = """
pcm.headset { type pulse device mic_feed.monitor }
pcm.headphones { type pulse device speaker }
pcm.spare_headset { type pulse device speaker.monitor }
"""


def why_not() -> str | None:
    """Why the server cannot run here; None when it can.

    With CALLER_SOUND_TESTS=required nothing is excused.
    """
    from ctypes.util import find_library

    missing = [
        tool for tool in ("pulseaudio", "pactl", "paplay", "parec") if not shutil.which(tool)
    ]
    if find_library("portaudio") is None:
        missing.append("libportaudio2")
    if not missing:
        return None
    assert os.environ.get("CALLER_SOUND_TESTS") != "required", f"missing: {missing}"
    return f"the virtual sound server needs {', '.join(missing)}"


class VirtualSound:
    """The running server; a context manager."""

    def __enter__(self) -> "VirtualSound":
        self.folder = Path(tempfile.mkdtemp(prefix="caller-sound-"))
        (self.folder / "run").mkdir()
        (self.folder / "state").mkdir()
        (self.folder / "asound.conf").write_text(_ALSA)
        self.env = {
            **os.environ,
            "PULSE_SERVER": f"unix:{self.folder}/pulse.sock",
            "PULSE_RUNTIME_PATH": str(self.folder / "run"),
            "PULSE_STATE_PATH": str(self.folder / "state"),
            "PULSE_COOKIE": str(self.folder / "cookie"),
            "ALSA_CONFIG_PATH": str(self.folder / "asound.conf"),
        }
        (self.folder / "named.conf").write_text(_ALSA + _NAMED)
        self.env_with_names = {**self.env, "ALSA_CONFIG_PATH": str(self.folder / "named.conf")}
        self.start()
        return self

    def start(self) -> None:
        """Start the server, also after `stop`; returns when it answers."""
        (self.folder / "pulse.sock").unlink(missing_ok=True)
        # norewinds: otherwise sound comes up to two seconds late and blocks are lost.
        self._server = subprocess.Popen(
            [
                *("pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no"),
                *("--exit-idle-time=-1", "--disable-shm=yes", "--high-priority=no"),
                *("--realtime=no", "--log-level=error"),
                *("-L", f"module-null-sink sink_name=speaker rate={RATE} channels=2 norewinds=1"),
                *("-L", f"module-null-sink sink_name=mic_feed rate={RATE} channels=1 norewinds=1"),
                "-L",
                f"module-native-protocol-unix socket={self.folder}/pulse.sock "
                "auth-anonymous=1 auth-cookie-enabled=0",
            ],
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        until = time.monotonic() + 20
        while self._run("pactl", "info").returncode:
            assert time.monotonic() < until, "the virtual sound server did not start"
            time.sleep(0.05)
        assert self._run("pactl", "set-default-sink", "speaker").returncode == 0
        assert self._run("pactl", "set-default-source", "mic_feed.monitor").returncode == 0

    def take_microphone_away(self) -> None:
        """Unplug the microphone; the server goes on, and moves who listens to another source."""
        modules = self._run("pactl", "list", "short", "modules").stdout.decode().splitlines()
        (number,) = [line.split("\t")[0] for line in modules if "sink_name=mic_feed" in line]
        assert self._run("pactl", "unload-module", number).returncode == 0

    def plug_microphone_in(self) -> None:
        """The same microphone again, as the usual one."""
        sink = ("sink_name=mic_feed", f"rate={RATE}", "channels=1", "norewinds=1")
        assert self._run("pactl", "load-module", "module-null-sink", *sink).returncode == 0
        assert self._run("pactl", "set-default-source", "mic_feed.monitor").returncode == 0

    def mute_microphone(self, muted: bool) -> None:
        mute = ("pactl", "set-source-mute", "mic_feed.monitor", str(int(muted)))
        assert self._run(*mute).returncode == 0

    def _run(self, *command: str) -> subprocess.CompletedProcess[bytes]:
        return subprocess.run(command, env=self.env, capture_output=True, check=False)

    def __exit__(self, *_: object) -> None:
        self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)

    @contextmanager
    def hanging(self) -> Iterator[None]:
        """The server answers nobody, and closes no connection either."""
        self.hang(True)
        try:
            yield
        finally:
            self.hang(False)

    def hang(self, hangs: bool) -> None:
        self._server.send_signal(signal.SIGSTOP if hangs else signal.SIGCONT)

    def take_loudspeaker_away(self) -> None:
        """Unplug the loudspeaker; the server goes on without one, or with another sink."""
        modules = self._run("pactl", "list", "short", "modules").stdout.decode().splitlines()
        (number,) = [line.split("\t")[0] for line in modules if "sink_name=speaker" in line]
        assert self._run("pactl", "unload-module", number).returncode == 0

    def plug_loudspeaker_in(self) -> None:
        """The same loudspeaker again, as the usual one; nothing happens where it is there."""
        modules = self._run("pactl", "list", "short", "modules").stdout.decode()
        if "sink_name=speaker" not in modules:
            sink = ("sink_name=speaker", f"rate={RATE}", "channels=2", "norewinds=1")
            assert self._run("pactl", "load-module", "module-null-sink", *sink).returncode == 0
        assert self._run("pactl", "set-default-sink", "speaker").returncode == 0

    def suspend_loudspeaker(self, suspended: bool) -> None:
        """Let the sink ask for no more sound, as a system does that saves power, or again."""
        suspend = ("pactl", "suspend-sink", "speaker", str(int(suspended)))
        assert self._run(*suspend).returncode == 0

    def stop(self) -> None:
        """Take the sound card away."""
        self._server.kill()
        self._server.wait()

    def speak(self, wav: Path) -> None:
        """Play a sound file into the microphone; returns when it has been played."""
        subprocess.run(["paplay", "--device=mic_feed", str(wav)], env=self.env, check=True)

    @contextmanager
    def quiet_room(self) -> Iterator[None]:
        """Faint hiss, 70 dB below full scale, in the microphone, which is else digitally silent."""
        command = ["pacat", "--device=mic_feed", "--format=s16le", "--rate=16000", "--channels=1"]
        hiss = np.random.default_rng(5).normal(0, 10, 16_000).astype("<i2").tobytes()
        player = subprocess.Popen(command, env=self.env, stdin=subprocess.PIPE)

        def play() -> None:
            assert player.stdin is not None
            with contextlib.suppress(OSError):
                while True:
                    player.stdin.write(hiss)

        thread = threading.Thread(target=play, daemon=True)
        thread.start()
        try:
            yield
        finally:
            player.kill()
            player.wait()
            thread.join(5)

    @contextmanager
    def recording(self, channels: int = 1, late_ms: int = 60) -> Iterator["Recording"]:
        """Record what the loudspeaker plays; with two channels the samples take turns.

        What comes later, at most `late_ms`, comes for less work.
        """
        recording = Recording(self.env, channels, late_ms)
        try:
            yield recording
        finally:
            recording.stop()


class Recording:
    """What came out of the loudspeaker, int16, 48,000 samples a second, mono unless wanted."""

    def __init__(self, env: dict[str, str], channels: int = 1, late_ms: int = 60) -> None:
        self._process = subprocess.Popen(
            [
                *("parec", "--device=speaker.monitor", "--format=s16le", f"--rate={RATE}"),
                *(f"--channels={channels}", f"--latency-msec={late_ms}"),
            ],
            env=env,
            stdout=subprocess.PIPE,
            bufsize=0,
        )
        self._heard = bytearray()
        self._began_s = float("inf")
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()
        while not self._heard:  # the monitor gives silence from the start
            time.sleep(0.005)

    def _read(self) -> None:
        assert self._process.stdout is not None
        while chunk := self._process.stdout.read(4096):
            self._heard += chunk
            # The chunk that was held up least on its way tells when the first sample sounded.
            now_s = time.monotonic()
            self._began_s = min(self._began_s, now_s - len(self._heard) / 2 / RATE)

    @property
    def samples(self) -> NDArray[np.int16]:
        return self.since(0)

    def since(self, sample: int) -> NDArray[np.int16]:
        """What was recorded from this sample on."""
        heard = bytes(self._heard[2 * sample :])
        return np.frombuffer(heard[: len(heard) // 2 * 2], dtype=np.int16)

    def time_s(self, sample: int) -> float:
        """When a sample sounded by the clock `time.monotonic`, to as much as it may come late.

        On Linux every process reads the same clock.
        """
        return self._began_s + sample / RATE

    def stop(self) -> None:
        self._process.terminate()
        self._process.wait()
        self._reader.join()
