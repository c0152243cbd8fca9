"""Mutation testing: how many small mistakes in a module its tests would notice.

    pip install '.[test,mutation]'
    python tests/bench/mutation.py                      # the modules there are, and their mutants
    python tests/bench/mutation.py rows journal         # try all mutants of two modules
    python tests/bench/mutation.py session --sample 60 --seed 1

Each mutant is the module with one change by an operator of mutmut: another number, operator or
comparison, an argument left out, a string changed, a value or a branch taken away. Mutants are run
one after the other, each in a forked child in which only the tests of that module run; a mutant is
killed when a test fails or the child computes for far longer than usual. Not mutated are
annotations, imports, docstrings, and the sentences of errors. Tests that start another process see
the module as it is. Needs a system with fork.
"""

import argparse
import contextlib
import importlib.abc
import importlib.machinery
import importlib.util
import io
import os
import random
import resource
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from types import ModuleType
from typing import Any

ROOT = Path(__file__).parents[2]
PATTERN, STORAGE, WORDS = "tests/pattern", "tests/devices/storage", "tests/calling/words"
MODULES: dict[str, tuple[str, tuple[str, ...]]] = {
    "rows": (
        "caller/pattern/rows.py",
        (f"{PATTERN}/test_rows.py", f"{PATTERN}/test_shaping.py"),
    ),
    "shaping": (
        "caller/pattern/shaping.py",
        (f"{PATTERN}/test_shaping.py", "tests/calling/words/test_hands.py"),
    ),
    "outline": ("caller/pattern/outline.py", (f"{PATTERN}/test_outline.py",)),
    "supplies": (
        "caller/pattern/supplies/plan.py",
        tuple(
            f"{PATTERN}/{name}.py"
            for name in ("supplies/test_plan", "test_workload", "test_shaping")
        ),
    ),
    "matching": (
        "caller/pattern/supplies/matching.py",
        (f"{PATTERN}/test_workload.py", f"{PATTERN}/supplies/test_plan.py"),
    ),
    "bobbins": (
        "caller/pattern/supplies/bobbins.py",
        (f"{PATTERN}/supplies/test_bobbins.py",),
    ),
    "workload": (
        "caller/pattern/workload.py",
        (f"{PATTERN}/test_workload.py", "tests/sheets/test_plan.py"),
    ),
    "amounts": (
        "caller/pattern/amounts.py",
        (f"{PATTERN}/test_amounts.py", "tests/sheets/test_plan.py"),
    ),
    **{
        name: (f"caller/sheets/{name}.py", ("tests/sheets/test_plan.py",))
        for name in ("plan", "winding", "cautions")
    },
    "recipe": ("caller/pattern/picture/recipe.py", (f"{PATTERN}/picture/test_recipe.py",)),
    **{
        f"tidy-{name}": (
            f"caller/pattern/tidy/{name}.py",
            tuple(f"{PATTERN}/tidy/test_{of}.py" for of in tests),
        )
        for names, tests in (
            (("links", "rows", "energy"), ("rows", "lines", "tidying")),
            (("blocks", "merge"), ("absorbing", "rows", "lines")),
            (("price_search",), ("price_search", "absorbing", "tidying", "lines")),
            (("tidying",), ("absorbing", "tidying", "lines")),
        )
        for name in names
    },
    "files": (
        "caller/files.py",
        ("tests/test_files.py", f"{STORAGE}/test_take_store.py", f"{STORAGE}/test_power_cuts.py"),
    ),
    "journal": (
        "caller/devices/storage/journal.py",
        (f"{STORAGE}/test_journal.py", f"{STORAGE}/test_power_cuts.py"),
    ),
    "history": ("caller/devices/storage/history.py", (f"{STORAGE}/test_history.py",)),
    "place_file": ("caller/devices/storage/place_file.py", (f"{STORAGE}/test_place_file.py",)),
    "place": (
        "caller/calling/place.py",
        ("tests/calling/test_session.py", f"{WORDS}/test_clauses.py"),
    ),
    "session": (
        "caller/calling/session.py",
        tuple(
            f"tests/calling/test_{name}.py"
            for name in ("session", "hurried", "confirming", "mistakes", "bobbins", "rests")
        ),
    ),
    "numbers": (
        "caller/calling/words/numbers.py",
        (f"{WORDS}/test_numbers.py", f"{WORDS}/test_clauses.py"),
    ),
    **{
        name: (
            f"caller/calling/words/{name}.py",
            (
                f"{WORDS}/test_clauses.py",
                f"{WORDS}/test_stereo.py",
                *(f"tests/calling/test_{of}.py" for of in ("shaped_rows", "bobbins", "mistakes")),
            ),
        )
        for name in ("clauses", "ends")
    },
    "shaping_clauses": (
        "caller/calling/words/shaping_clauses.py",
        ("tests/calling/test_shaped_rows.py", f"{WORDS}/test_hands.py"),
    ),
    "row_call": (
        "caller/calling/words/row_call.py",
        (f"{WORDS}/test_clauses.py", "tests/calling/test_session.py"),
    ),
    "sentences": (
        "caller/calling/words/sentences.py",
        (f"{WORDS}/test_sentences.py", "tests/calling/test_session.py"),
    ),
    "finishing": ("caller/calling/words/finishing.py", (f"{WORDS}/test_finishing.py",)),
    "utterance": (
        "caller/calling/words/utterance.py",
        (f"{WORDS}/test_utterance.py", f"{WORDS}/test_sentences.py", f"{WORDS}/test_clauses.py"),
    ),
}
PATIENCE, WAITING = 3, 20
"""A mutant that computes this many times as long as the module itself, and 10 s, never ends; nor
does one that has not ended after `WAITING` times that, for the machine may be busy."""
_WARM = (
    "hypothesis",
    "networkx",
    "numpy",
    "PIL.Image",
    "pytest",
    "scipy.sparse.csgraph",
    "tomlkit",
)


@dataclass(frozen=True)
class Mutant:
    """One change of a module: what stood in a line, what stands there now, and how to make it."""

    line: int
    was: str
    now: str
    source: Callable[[], str]


def mutants(source: str) -> list[Mutant]:
    """Every mutant of a module, in the order of its lines."""
    import libcst as cst
    from libcst.metadata import MetadataWrapper, ParentNodeProvider, PositionProvider
    from mutmut.mutation.mutators import mutation_operators

    wrapper = MetadataWrapper(cst.parse_module(source), unsafe_skip_copy=True)
    module = wrapper.module
    lines, parents = wrapper.resolve(PositionProvider), wrapper.resolve(ParentNodeProvider)

    def left_alone(node: cst.CSTNode) -> bool:
        within: cst.CSTNode | None = node
        while within is not None:
            if isinstance(within, cst.Annotation | cst.ImportFrom | cst.Import | cst.Decorator):
                return True
            if isinstance(node, cst.BaseString) and isinstance(within, cst.Raise | cst.Subscript):
                return True  # the sentence of an error, or a Literal
            within = parents.get(within)
        return isinstance(parents.get(node), cst.Expr) and isinstance(node, cst.BaseString)

    found = []
    for node in parents:
        if node not in lines or left_alone(node):
            continue
        for kind, operator in mutation_operators:
            if not isinstance(node, kind):
                continue
            changed = list(operator(node))
            if isinstance(node, cst.BaseString):
                changed = changed[:1]  # one change of each string is enough
            for other in changed:
                was, now = module.code_for_node(node), module.code_for_node(other)
                code = partial(_replaced, module, node, other)
                found.append(Mutant(lines[node].start.line, was, now, code))
    return sorted(found, key=lambda mutant: mutant.line)


def _replaced(module: Any, node: Any, other: Any) -> str:
    code: str = module.deep_replace(node, other).code
    return code


class Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module another source."""

    def __init__(self, name: str, path: Path, source: str) -> None:
        self._name, self._path, self._source = name, path, source

    def find_spec(self, name: str, *_: object) -> importlib.machinery.ModuleSpec | None:
        if name != self._name:
            return None
        return importlib.util.spec_from_loader(name, self, origin=str(self._path))

    def exec_module(self, module: ModuleType) -> None:
        module.__file__ = str(self._path)
        exec(compile(self._source, str(self._path), "exec"), module.__dict__)


def tested(path: Path, source: str, tests: Sequence[str], limit_s: int) -> tuple[str, float]:
    """Run the tests on this source in a child: "passed", "failed" or "endless", and its seconds.

    Seconds are of the processor, here and in `limit_s`.
    """
    child = os.fork()
    if child == 0:
        os._exit(_in_the_child(path, source, tests, limit_s))
    _, status, used = os.wait4(child, 0)
    took = used.ru_utime + used.ru_stime
    if os.WIFSIGNALED(status):
        late = os.WTERMSIG(status) in (signal.SIGALRM, signal.SIGXCPU)
        return "endless" if late else "failed", took
    return "passed" if os.WEXITSTATUS(status) == 0 else "failed", took


def _in_the_child(path: Path, source: str, tests: Sequence[str], limit_s: int) -> int:
    import pytest
    from hypothesis import Phase, settings

    resource.setrlimit(resource.RLIMIT_CPU, (limit_s, resource.RLIM_INFINITY))
    signal.alarm(WAITING * limit_s)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    os.dup2(nowhere, 2)
    name = path.relative_to(ROOT).with_suffix("").as_posix().replace("/", ".")
    sys.meta_path.insert(0, Mutated(name, path, source))
    # Found is enough, the smallest example is not needed; and each run tries the same examples.
    phases = (Phase.explicit, Phase.generate)
    settings.register_profile(
        "mutation",
        phases=phases,
        max_examples=30,
        derandomize=True,
        database=None,
        deadline=None,
    )
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    options = ["-x", "-q", "--assert=plain", "-p", "no:cacheprovider"]
    options += ["-p", "_hypothesis_pytestplugin", "--hypothesis-profile=mutation"]
    options += ["-o", "addopts=--import-mode=importlib"]
    with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
        return int(pytest.main([*options, "-m", "not slow and not sound", *tests]))


def tried(name: str, sample: int | None, seed: int) -> tuple[int, int]:
    """Try a module's mutants, print each survivor and then the score; killed and tried."""
    file, tests = MODULES[name]
    path = ROOT / file
    source = path.read_text(encoding="utf-8")
    outcome, took = tested(path, source, tests, 600)
    if outcome != "passed":
        raise SystemExit(f"{name}: its tests fail without any change: {' '.join(tests)}")
    limit_s = round(max(10, PATIENCE * took))
    every = mutants(source)
    chosen = every
    if sample is not None and sample < len(every):
        chosen = random.Random(seed).sample(every, sample)
        chosen.sort(key=lambda mutant: mutant.line)
    live = 0
    for done, mutant in enumerate(chosen, 1):
        if tested(path, mutant.source(), tests, limit_s)[0] == "passed":
            live += 1
            print(
                f"\r  {file}:{mutant.line}: {_short(mutant.was)}  ->  {_short(mutant.now)}",
                flush=True,
            )
        told = f"\r{name}: {done} of {len(chosen)} tried, {live} live "
        print(told, end="", file=sys.stderr, flush=True)
    killed = len(chosen) - live
    of = f"a sample of {len(every)}, seed {seed}" if len(chosen) < len(every) else "all"
    print("\r", end="", file=sys.stderr)
    print(
        f"{name}: {killed} of {len(chosen)} killed, {killed / len(chosen):.1%} ({of})", flush=True
    )
    return killed, len(chosen)


def _short(code: str) -> str:
    line = " ".join(code.split())
    return line if len(line) <= 90 else f"{line[:87]}..."


def listed() -> Iterator[str]:
    for name, (file, tests) in MODULES.items():
        count = len(mutants((ROOT / file).read_text(encoding="utf-8")))
        yield f"{name:10} {count:5} mutants of {file}, by {', '.join(tests)}"


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("modules", nargs="*", choices=[*MODULES, []], metavar="MODULE")
    parser.add_argument("--sample", type=int, help="Try only so many of a module's mutants.")
    parser.add_argument("--seed", type=int, default=1, help="Which ones.")
    chosen = parser.parse_args(arguments)
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    if not chosen.modules:
        print(*listed(), sep="\n")
        return
    for module in _WARM:  # children have them at once
        importlib.import_module(module)
    results = [tried(name, chosen.sample, chosen.seed) for name in chosen.modules]
    killed, count = map(sum, zip(*results, strict=True))
    print(f"together: {killed} of {count} killed, {killed / count:.1%}")


if __name__ == "__main__":
    main()
