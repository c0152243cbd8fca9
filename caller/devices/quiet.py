"""Keeps C libraries from writing on the knitter's screen."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def stderr_silenced() -> Iterator[None]:
    """Drop what C code writes to standard error. For the whole process, so keep it short."""
    sys.stderr.flush()
    kept = os.dup(2)
    with open(os.devnull, "wb") as nothing:  # noqa: PTH123 (a device, not a path)
        os.dup2(nothing.fileno(), 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
