"""A worker: this program's own code in a process of its own, which is watched and can be ended."""

import json
import os
import signal
import subprocess
import sys
from typing import IO, Any

_START = (
    "import importlib, json, sys; sys.path[:] = json.loads(sys.argv.pop()); "
    "importlib.import_module(sys.argv.pop()).main()"
)


def start(module: str, **settings: Any) -> "subprocess.Popen[Any]":
    """Run the function `main` of a module in a new process, with pipes to it and from it.

    It finds modules where this process does, and nowhere else: not in the current folder, which
    may hold files from anybody.
    """
    return subprocess.Popen(
        [sys.executable, "-c", _START, module, json.dumps(sys.path)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        **settings,
    )


def answers_apart() -> IO[bytes]:
    """In the worker: where answers go; what libraries print is dropped.

    Control-C and the end of the terminal are for the session to answer; the worker ends with it.
    """
    for name in ("SIGINT", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.SIG_IGN)
    answers = os.fdopen(os.dup(1), "wb")
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.close(nothing)
    return answers
