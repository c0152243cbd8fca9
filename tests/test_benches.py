"""Every bench starts, with as little to do as shows it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).parent / "bench"
PACKAGE = BENCH.parents[1] / "caller"
WITH_A_MAIN = sorted(
    path.name for path in BENCH.glob("*.py") if "__main__" in path.read_text(encoding="utf-8")
)
# These speak, hear or change much even at their least: that they load and read their options.
ONLY_LOADED = {
    *("fault_readers.py", "heard_back.py", "human_words.py", "listening.py", "mutation.py"),
    "names_heard.py",
}


def package_files() -> dict[Path, int]:
    """When each file of the package was last changed, in ns."""
    files = (path for path in PACKAGE.rglob("*") if "__pycache__" not in path.parts)
    return {path: path.stat().st_mtime_ns for path in files if path.is_file()}


@pytest.mark.slow
@pytest.mark.parametrize("name", WITH_A_MAIN)
def test_a_bench_starts(name: str) -> None:
    before = package_files()
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
    assert package_files() == before, "a bench writes where it is told, never into the package"
