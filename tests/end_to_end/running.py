"""The program as a child process that is typed to, and what it shows meanwhile."""

import queue
import subprocess
import sys
import threading
from collections.abc import Mapping

from caller.calling.listening.loading import READY, STILL_LOADING


class Running:
    """`row-caller` with these arguments.

    `told` is every line that it showed, stripped. `lines` holds those that were not read yet, and
    None at the end, without those that tell of a machine too busy to load fast.
    """

    def __init__(self, env: Mapping[str, str], *arguments: object) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "caller", *map(str, arguments)],
            env={**env, "PYTHONUTF8": "1"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )
        self.lines: queue.Queue[str | None] = queue.Queue()
        self.told: list[str] = []
        self.reader = threading.Thread(target=self._read, daemon=True)
        self.reader.start()

    def _read(self) -> None:
        for line in self.process.stdout:
            self.told.append(line.strip())
            if not line.startswith((STILL_LOADING.sentence, READY.sentence)):
                self.lines.put(line.strip())
        self.lines.put(None)

    def __enter__(self) -> "Running":
        return self

    def __exit__(self, *_: object) -> None:
        self.process.kill()
        self.process.wait()
        self.reader.join(10)

    def type(self, line: str) -> None:
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()

    def next_line(self, timeout_s: float = 90) -> str | None:
        """queue.Empty where nothing more is shown in time."""
        return self.lines.get(timeout=timeout_s)

    def until(self, words: str) -> str:
        """The next line with these words."""
        while (line := self.next_line()) is not None:
            if words in line:
                return line
        raise AssertionError(f"{words!r} is not in {self.told}")

    def ended(self) -> str:
        """What it wrote on standard error, once it has ended by itself; it must be content."""
        self.process.stdin.close()
        err = self.process.stderr.read()
        assert self.process.wait(timeout=60) == 0, err
        self.reader.join(10)
        return err

    def leave(self) -> str:
        self.type("leave")
        return self.ended()
