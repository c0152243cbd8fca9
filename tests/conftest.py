"""Fixtures that several folders of tests share."""

import gc
import os
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import caller  # noqa: F401  # before numpy, whose threads it limits

# Before hypothesis, which would load trio for a plugin that no test needs.
os.environ["HYPOTHESIS_NO_PLUGINS"] = "1"

# isort: split
import pytest
import virtual_display as display
from hypothesis import settings
from virtual_sound import VirtualSound, why_not

# No example is timed, for the machine may be busy, and all are the same on every machine. New ones,
# and many more: pytest --hypothesis-profile thorough.
settings.register_profile("usual", deadline=None, max_examples=40, derandomize=True)
settings.register_profile("thorough", deadline=None, max_examples=500)
settings.load_profile("usual")

# What Python compiles is kept, also where the environment says otherwise: each child process would
# compile the program anew, which takes longer than to run it.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# A run in the background of a script ignores Ctrl-C, and so would the programs that it starts, some
# of which are tested for it: what a program handles itself is as usual in those that it starts.
for _ignored in {"SIGINT", "SIGHUP", "SIGQUIT"} & {one.name for one in signal.Signals}:
    if signal.getsignal(signal.Signals[_ignored]) == signal.SIG_IGN:
        signal.signal(signal.Signals[_ignored], lambda *_: None)

# What the developer keeps of their own must neither change the tests nor be changed by them; child
# processes inherit it. Set here, before any test module takes a copy of the environment.
_nothing = Path(tempfile.mkdtemp(prefix="caller-tests-"))
os.environ["CALLER_SETTINGS"] = str(_nothing / "settings.toml")
os.environ["CALLER_HISTORY"] = str(_nothing / "history.sqlite")
os.environ["CALLER_OWN_VOICE"] = str(_nothing / "own-voice")
COMPILED = f"test_imports.{sys.implementation.cache_tag}-pytest-{pytest.__version__}.pyc"
_AROUND_THE_CORE = (
    *("contracts", "end_to_end", "sheets"),
    *("devices/keys", "devices/recognisers", "devices/sound", "devices/voices"),
)


def pytest_configure(config: pytest.Config) -> None:
    """In a fresh clone one process compiles the tests, which else each worker does for itself.

    What is collected stays to the end: nothing of it need be looked for as garbage.
    """
    gc.disable()
    tests = Path(__file__).parent
    leads = config.getoption("numprocesses", None) and not hasattr(config, "workerinput")
    if leads and not (tests / "__pycache__" / COMPILED).exists():
        collect = [sys.executable, "-m", "pytest", "--collect-only", "-qq", "-n0", str(tests)]
        plain = {**os.environ, "PYTEST_ADDOPTS": ""}  # without coverage
        subprocess.run(collect, cwd=tests.parent, env=plain, capture_output=True, check=False)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first, so that no worker is left with one of them when the others end.

    A test that is slow takes 10 s, or as many as its marker says. The core's branches, whose
    counting doubles the work, are not counted in tests of what lies around it. Whole programs and
    real sound may stumble on a machine that does much else: such a test fails when it fails three
    times; the summary names each that was run again.
    """
    length: Counter[Path] = Counter()
    paths = {item.path for item in items}
    tests = Path(__file__).parent
    folders = {path: path.relative_to(tests).parent.as_posix() for path in paths}
    for item in items:
        folder = folders[item.path]
        slow, sound = (item.get_closest_marker(mark) for mark in ("slow", "sound"))
        if folder.startswith(_AROUND_THE_CORE):
            item.add_marker("no_cover")
        if folder.startswith("end_to_end") or sound is not None:
            item.add_marker(pytest.mark.flaky(reruns=2))
        length[item.path] += 2 * (sound is not None)
        if slow is not None:
            length[item.path] += slow.args[0] if slow.args else 10
    items.sort(key=lambda item: -length[item.path])


def pytest_collection_finish() -> None:
    gc.freeze()
    gc.enable()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Tells of each test that was run again how it had failed, as of those that fail."""
    for report in terminalreporter.stats.get("rerun", ()):
        terminalreporter.write_sep("_", f"{report.nodeid} was run again")
        terminalreporter.write_line(report.longreprtext)


@pytest.fixture(scope="session")
def virtual_sound() -> Iterator[VirtualSound]:
    """A loudspeaker that can be recorded and a microphone that can be spoken into."""
    reason = why_not()
    if reason:
        pytest.skip(reason)
    with VirtualSound() as server:
        yield server


@pytest.fixture(scope="session")
def virtual_display() -> Iterator[display.VirtualDisplay]:
    """A display without a screen, where keys can be pressed."""
    reason = display.why_not()
    if reason:
        pytest.skip(reason)
    with display.VirtualDisplay() as server:
        yield server
