"""Every bench starts, with as little to do as shows it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).parent / "bench"
WITH_A_MAIN = sorted(
    path.name for path in BENCH.glob("*.py") if "__main__" in path.read_text(encoding="utf-8")
)
# These speak, hear or change much even at their least: that they load and read their options.
ONLY_LOADED = {"heard_back.py", "listening.py", "mutation.py", "names_heard.py"}


@pytest.mark.slow
@pytest.mark.parametrize("name", WITH_A_MAIN)
def test_a_bench_starts(name: str) -> None:
    option = "--help" if name in ONLY_LOADED else "--tiny"
    done = subprocess.run(
        [sys.executable, str(BENCH / name), option],
        cwd=BENCH.parent.parent,
        env={**os.environ, "PYTHONPATH": str(BENCH.parent.parent)},
        capture_output=True,
        text=True,
        timeout=280,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert len(done.stdout.splitlines()) >= 1
