"""A JACK server without hardware, so that the real MIDI library runs on any Linux machine.

The code under test runs in a child process started with `env`, for the server's name is read from
the environment and the library of JACK prints.
"""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pytest


def why_not() -> str | None:
    """Why the server cannot run here; None when it can.

    With CALLER_SOUND_TESTS=required only a missing jackd is excused.
    """
    if not shutil.which("jackd"):
        return "the virtual MIDI server needs jackd"
    missing = [name for name in ("mido", "rtmidi") if find_spec(name) is None]
    if not missing:
        return None
    assert not required(), f"missing: {missing}"
    return f"the virtual MIDI server needs {', '.join(missing)}"


def required() -> bool:
    return os.environ.get("CALLER_SOUND_TESTS") == "required"


class NotStartedError(Exception):
    """jackd is installed but did not start."""


class VirtualMidi:
    """The running server; a context manager."""

    def __enter__(self) -> "VirtualMidi":
        self.folder = Path(tempfile.mkdtemp(prefix="caller-midi-"))
        name = self.folder.name
        self.env = {
            **os.environ,
            "JACK_DEFAULT_SERVER": name,
            "JACK_NO_START_SERVER": "1",
            "JACK_NO_AUDIO_RESERVATION": "1",
            "MIDO_BACKEND": "mido.backends.rtmidi/UNIX_JACK",
        }
        self._server = subprocess.Popen(
            ["jackd", "--no-realtime", "-n", name, "-d", "dummy"],
            env=self.env,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        waited = subprocess.run(
            ["jack_wait", "-s", name, "-w", "-t", "20"],
            env=self.env,
            capture_output=True,
            check=False,
        )
        if waited.returncode:
            self.stop()
            raise NotStartedError("the virtual MIDI server did not start")
        return self

    def stop(self) -> None:
        """Take the whole of MIDI away."""
        self._server.kill()
        self._server.wait()

    def __exit__(self, *_: object) -> None:
        self._server.terminate()
        self._server.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


def served() -> Iterator[VirtualMidi]:
    """For a fixture: the running server, or a test that is skipped with the reason."""
    if reason := why_not():
        pytest.skip(reason)
    try:
        with VirtualMidi() as server:
            yield server
    except NotStartedError as error:
        (pytest.fail if required() else pytest.skip)(str(error))
