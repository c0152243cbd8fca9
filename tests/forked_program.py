"""The program in a process of its own, forked from one that has it loaded: at once, not in seconds.

For tests that start it many times. Everything else is as in any process: it is killed by its own
number, its standard input and output are its own.
"""

import io
import multiprocessing
import os
import sys
from collections.abc import Sequence
from multiprocessing.connection import Connection
from typing import TextIO

from child_env import WITHOUT_SOUND

LOADED = [
    *("caller.cli", "caller.pattern.storage.pattern_file", "caller.wiring.session"),
    *("numpy.ma", "filelock", "pyttsx3", "PIL.PngImagePlugin"),
]


class ForkedProgram:
    """`row-caller` with these arguments, without sound. `input` and `output` are lines of text."""

    def __init__(self, *arguments: str) -> None:
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(LOADED)
        typed, keys = context.Pipe(duplex=False)
        shown, screen = context.Pipe(duplex=False)
        self.process = context.Process(target=_run, args=(arguments, typed, screen), daemon=True)
        self.process.start()
        self.input: TextIO = os.fdopen(os.dup(keys.fileno()), "w", encoding="utf-8")
        self.output: TextIO = os.fdopen(os.dup(shown.fileno()), encoding="utf-8")
        for end in (typed, keys, shown, screen):
            end.close()

    def kill(self) -> None:
        """SIGKILL; returns when it is gone."""
        self.process.kill()
        self.process.join()


def _run(arguments: Sequence[str], typed: Connection, screen: Connection) -> None:
    os.environ.update(WITHOUT_SOUND)
    sys.path.insert(0, WITHOUT_SOUND["PYTHONPATH"])
    os.dup2(typed.fileno(), 0)
    os.dup2(screen.fileno(), 1)
    sys.stdin, sys.stdout = io.TextIOWrapper(io.FileIO(0)), io.TextIOWrapper(io.FileIO(1, "w"))
    from caller.cli import main

    main(list(arguments))
