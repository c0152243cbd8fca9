"""Every bench starts, with as little to do as shows it."""

import io
import multiprocessing
import os
import runpy
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
LOADED = [
    "caller",
    "numpy",
    "scipy.ndimage",
    "scipy.signal",
    "caller.wiring.session",
    "onnxruntime",
]


def package_files() -> dict[Path, int]:
    """When each file of the package was last changed, in ns."""
    files = (path for path in PACKAGE.rglob("*") if "__pycache__" not in path.parts)
    return {path: path.stat().st_mtime_ns for path in files if path.is_file()}


@pytest.mark.slow
@pytest.mark.parametrize("name", WITH_A_MAIN)
def test_a_bench_starts(name: str, tmp_path: Path) -> None:
    before = package_files()
    option = "--help" if name in ONLY_LOADED else "--tiny"
    shown = tmp_path / "shown.txt"
    # Forked from a process that has loaded what many of them load, which takes longer than they do.
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(LOADED)
    process = context.Process(target=run_bench, args=(str(BENCH / name), option, str(shown)))
    process.start()
    process.join(280)
    process.kill()
    assert process.exitcode == 0, shown.read_text(encoding="utf-8")[-2000:]
    assert len(shown.read_text(encoding="utf-8").splitlines()) >= 1
    assert package_files() == before, "a bench writes where it is told, never into the package"


def run_bench(path: str, option: str, shown: str) -> None:
    """As `python path option` does it, from the folder of the project; shown is what it writes."""
    with Path(shown).open("wb") as file:
        os.dup2(file.fileno(), 1)
        os.dup2(file.fileno(), 2)
    sys.stdout, sys.stderr = (
        io.TextIOWrapper(io.FileIO(number, "w"), encoding="utf-8", write_through=True)
        for number in (1, 2)
    )
    sys.argv = [path, option]
    sys.path[:0] = [str(BENCH), str(BENCH.parents[1])]
    os.chdir(BENCH.parents[1])
    os.environ["PYTHONPATH"] = str(BENCH.parents[1])
    runpy.run_path(path, run_name="__main__")
