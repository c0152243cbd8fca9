"""What is freed is given back, where the C library can."""

import ctypes
import platform
import subprocess
import sys

import pytest

from caller.devices.memory import give_back

FREED = """
import psutil
from caller.devices.memory import give_back
blocks = [bytes(4_000) for _ in range(20_000)]
kept = blocks[::50]
del blocks
before = psutil.Process().memory_info().rss
give_back()
print((before - psutil.Process().memory_info().rss) / 1e6)
"""


@pytest.mark.skipif(platform.libc_ver()[0] != "glibc", reason="only glibc has it")
def test_freed_memory_between_blocks_that_are_kept_goes_back():
    """80 MB in small blocks, of which every fiftieth stays."""
    told = subprocess.run([sys.executable, "-c", FREED], capture_output=True, text=True, check=True)
    assert float(told.stdout) > 40


def test_where_the_library_has_no_such_thing_nothing_happens(monkeypatch):
    monkeypatch.setattr(ctypes, "CDLL", lambda _: object())
    assert give_back() is None
