"""A virtual X display, so that keys of the whole system are heard on any Linux machine.

Xvfb shows nothing; xdotool presses keys there as a keyboard does (the XTEST extension), and xterm
is another program's window. The display is chosen by the environment, so the code under test runs
in a child process started with `env`.
"""

import os
import shutil
import subprocess
import time
from importlib.util import find_spec
from pathlib import Path

TOOLS = ("Xvfb", "xdotool", "xterm")


def why_not() -> str | None:
    """Why the display cannot run here; None when it can.

    With CALLER_SOUND_TESTS=required nothing is excused.
    """
    missing = [tool for tool in TOOLS if not shutil.which(tool)]
    if find_spec("pynput") is None:
        missing.append("pynput")
    if not missing:
        return None
    assert os.environ.get("CALLER_SOUND_TESTS") != "required", f"missing: {missing}"
    return f"the virtual display needs {', '.join(missing)}"


class VirtualDisplay:
    """The running display, its number chosen by the server; a context manager."""

    def __enter__(self) -> "VirtualDisplay":
        number, told = os.pipe()
        self._server = subprocess.Popen(
            [
                *("Xvfb", "-displayfd", str(told), "-nolisten", "tcp"),
                *("-screen", "0", "800x600x24"),
            ],
            pass_fds=(told,),
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(told)
        with os.fdopen(number) as answer:
            name = answer.readline().strip()
        assert name, "the virtual display did not start"
        self.env = {**os.environ, "DISPLAY": f":{name}", "XAUTHORITY": os.devnull}
        self.env.pop("XDG_SESSION_TYPE", None)
        self._windows: list[subprocess.Popen[bytes]] = []
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def stop(self) -> None:
        """Take the display away, with its windows."""
        for process in (*self._windows, self._server):
            process.kill()
            process.wait()

    def xdotool(self, *command: str) -> str:
        return subprocess.run(
            ["xdotool", *command], env=self.env, capture_output=True, text=True, check=True
        ).stdout

    def press(self, *keys: str) -> None:
        """Press keys one after the other: names of X11, or numbers of keys."""
        for key in keys:
            self.xdotool("key", key)

    def hold(self, key: str, seconds: float) -> None:
        self.xdotool("keydown", key)
        time.sleep(seconds)
        self.xdotool("keyup", key)

    def window(self, title: str, typed: Path) -> None:
        """Open another program's window, with the focus; what is typed there goes to a file."""
        took = f"stty raw -echo; cat > {typed}"
        self._windows.append(
            subprocess.Popen(["xterm", "-title", title, "-e", "sh", "-c", took], env=self.env)
        )
        window = self.xdotool("search", "--sync", "--onlyvisible", "--name", title).split()[0]
        self.xdotool("windowfocus", "--sync", window)
        until = time.monotonic() + 10
        while not typed.exists():
            assert time.monotonic() < until, "the other program did not start"
            time.sleep(0.02)
