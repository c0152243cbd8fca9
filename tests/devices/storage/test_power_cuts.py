"""What is kept survives a power cut at any moment: every state that the disk may hold is replayed.

The place that a new session reads is the one last announced, or the one that was about to be
announced; a place is announced when its words reach the loudspeaker.
"""

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
import pytest
import strace_log
from crash_states import (
    Call,
    Disk,
    Recorder,
    Said,
    announced,
    crash_states,
    states_by_chance,
)
from num2words import num2words
from silent_voice import SilentVoice

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import Events
from caller.calling.place import Place
from caller.calling.ports import SoundBlock
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage import settings_file, take_store
from caller.devices.storage.journal import FileJournal
from caller.errors import PatternFileError
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.laying import laying_of
from caller.pattern.pattern import Pattern
from caller.pattern.storage import pattern_file
from caller.pattern.yarns import Yarn
from caller.settings import PedalKey

ROWS = 30
CELLS = np.arange(ROWS * 4, dtype=np.uint8).reshape(ROWS, 4) // 2 % 2
PATTERN = Pattern("Stripes", Chart(CELLS), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))


@pytest.fixture
def folder(tmp_path):
    """Where the program writes; the states are laid out in `replay` beside it."""
    (tmp_path / "work").mkdir()
    (tmp_path / "replay").mkdir()
    return tmp_path / "work"


def replayed(
    recorder: Recorder,
    look: Callable[[Path, object | None, object | None], None],
    without_parts: bool = False,
) -> int:
    """Look at every state with what was said last and what comes; how many states there were.

    `without_parts` lays out no temporary file, which is erased before it is written anew.
    """
    replay = recorder.root.parent / "replay"
    seen, states = set(), 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("os.fsync", lambda _: None)  # only what is read is looked at here
        for crash in crash_states(recorder.before, recorder.log):
            states += 1
            said = announced(recorder.log, crash.calls)
            if without_parts:
                names = crash.disk.names
                crash.disk.names = {n: f for n, f in names.items() if not n.endswith(".part")}
            if (crash.disk.key, said) not in seen:
                seen.add((crash.disk.key, said))
                crash.disk.put(replay)
                look(replay, *said)
    return states


# The place, in the place file alone


def look_at_place(replay: Path, last: object | None, coming: object | None) -> None:
    look(FileJournal(replay / "boat.place", PATTERN, NOWHERE), last, coming)


def look(
    journal: FileJournal, last: object | None, coming: object | None, going_on: bool = True
) -> None:
    """The place is the one announced last or the one that comes, and the work goes on."""
    try:
        kept = journal.read()
        place = kept and kept.place
        assert place in (last, coming), f"the place is {place}, {last} was announced last"
        assert last is None or place is not None
        if going_on:
            journal.write(Place(7))
            assert journal.read().place == Place(7)
    finally:
        journal.close()


NOWHERE = Path(os.devnull) / "history.sqlite"
"""No history can be written there, so that the place file is all there is."""
MOVES = (Place(1), Place(2), Place(3), Place(2), Place(2, 1), Place(ROWS + 1))
OLDER = json.dumps({"row": 9, "run": 0, "rows": ROWS, "chart": laying_of(PATTERN).chart}).encode()


@pytest.mark.parametrize(
    "older",
    [b"", OLDER + b"\n", OLDER, OLDER + b'\n{"row": 1', OLDER + b'\n{"row": 1\0\0\0\0'],
    ids=["new", "older", "without-its-end", "torn", "torn-with-zeros"],
)
def test_the_place_is_the_last_announced_or_the_one_being_announced(folder, older):
    path = folder / "boat.place"
    if older:  # an older version kept row 9, and the power was cut
        path.write_bytes(older)
    recorder = Recorder(folder)
    with recorder.watching():
        if older:
            recorder.said(Place(9))
        journal = FileJournal(path, PATTERN, NOWHERE)
        journal.read()
        for place in MOVES:
            journal.write(place)
            recorder.said(place)
        journal.close()
    assert replayed(recorder, look_at_place, without_parts=True) > 1000


# The place, in the history and the place file, by the calls that the system saw

_PROGRAM = """
import sys
sys.path[:0] = {paths!r}
from pathlib import Path
from caller.devices.storage.journal import FileJournal
from test_power_cuts import MOVES, PATTERN
root = Path({root!r})
journal = FileJournal(root / "boat.place", PATTERN, root / "state" / "history.sqlite")
journal.read()
for place in MOVES[:3]:
    journal.write(place, "next", "key")
    sys.stdout.write(f"{{place.row}} {{place.run}}\\n")
    sys.stdout.flush()
"""


@pytest.mark.skipif(strace_log.why_not() is not None, reason=str(strace_log.why_not()))
def test_either_record_by_itself_has_the_place(folder):
    path = folder / "boat.place"
    path.write_bytes(OLDER + b"\n")
    before = Disk.of(folder)
    program = _PROGRAM.format(paths=[str(Path(__file__).parent), *sys.path], root=str(folder))
    trace = folder.parent / "calls"
    traced = strace_log.strace([sys.executable, "-c", program], trace)
    subprocess.run(traced, check=True, capture_output=True)
    log = strace_log.calls_in(trace.read_text(), folder, before)
    assert before.after(log).files() == Disk.of(folder).files(), "no change went unseen"
    log = [Said(Place(9)), *(_place_said(call) for call in log)]
    assert [call.what for call in log if isinstance(call, Said)][1:] == list(MOVES[:3])
    seen, mended = set(), 0
    for crash in states_by_chance(before, log, 4):
        said = announced(log, crash.calls)
        if (crash.disk.key, said) in seen:
            continue
        seen.add((crash.disk.key, said))
        for without in ("boat.place", "state"):
            crash.disk.put(folder)  # the history knows files by their paths
            if without == "state":
                shutil.rmtree(folder / without, ignore_errors=True)
            elif said[0] != Place(9):  # the older file is brought over with the first move
                (folder / without).unlink(missing_ok=True)
            mended += (folder / "state" / "history.sqlite-journal").exists()
            history = folder / "state" / "history.sqlite"
            notes = []
            journal = FileJournal(folder / "boat.place", PATTERN, history, report=notes.append)
            look(journal, *said, going_on=len(seen) % 10 == 0)
            assert notes == [], "a power cut damages nothing"
    assert len(seen) > 100
    assert mended > 20, "some transactions were cut and are rolled back"


def _place_said(call: Call) -> Call:
    return Said(Place(*map(int, call.what.split()))) if isinstance(call, Said) else call


class Ear(SilentLoudspeaker):
    """A loudspeaker that tells the recorder which row's words have reached it."""

    def __init__(self, voice: SilentVoice, recorder: Recorder) -> None:
        super().__init__()
        self._voice, self._recorder = voice, recorder

    def add(self, blocks: Iterable[SoundBlock]) -> None:
        before = len(self._voice.said)
        for _ in blocks:
            pass
        row = row_of(" ".join(self._voice.said[before:]))
        if row is not None:
            self._recorder.said(Place(row))


def row_of(words: str) -> int | None:
    if "picture is finished" in words:
        return ROWS + 1
    found = re.search(r"Row number ([a-z-]+), going", words)
    return {num2words(row): row for row in range(1, ROWS + 1)}[found[1]] if found else None


def test_a_whole_session(folder):
    recorder = Recorder(folder)
    voice, events = SilentVoice(), Events()
    commands = [Command.NEXT, Command.NEXT, Command.REPEAT, Command.BACK, *[Command.NEXT] * 3]
    with recorder.watching():
        journal = FileJournal(folder / "boat.place", PATTERN, NOWHERE)
        desk = Desk(voice, Ear(voice, recorder), journal, lambda _: None, events)
        for command in (*commands, Command.LEAVE):
            events.put(command)
        loop.run(PATTERN, desk, None)
        journal.close()
    rows = [call.what.row for call in recorder.log if hasattr(call, "what")]
    assert rows == [1, 2, 2, 1, 2, 3, 4]  # the first "next" ends the setting up
    assert replayed(recorder, look_at_place, without_parts=True) > 1000


# What else is kept


def test_settings(folder, monkeypatch):
    monkeypatch.setenv(settings_file.ENVIRONMENT, str(folder / "own" / "caller" / "settings.toml"))
    first = PedalKey("device", "pagedown", short="next")
    second = PedalKey("device", "pageup", short="back", long="help")
    recorder = Recorder(folder)
    with recorder.watching():
        recorder.said(())
        for pedals in ((first,), (first, second), ()):
            settings_file.keep_pedals(pedals)
            recorder.said(pedals)

    def look(replay: Path, last: object, coming: object) -> None:
        path = replay / "own" / "caller" / "settings.toml"
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv(settings_file.ENVIRONMENT, str(path))
            assert settings_file.load().pedals in (last, coming)

    assert replayed(recorder, look, without_parts=True) > 300


def sounds(*numbers: int) -> list[np.ndarray]:
    return [np.full(10, number, dtype=np.int16) for number in numbers]


def test_takes(folder, monkeypatch):
    monkeypatch.setenv(take_store.ENVIRONMENT, str(folder / "own-voice"))
    recorder = Recorder(folder)
    kept_in_turn = ((1, 2, 3, 4), (5, 6, 7), ())
    with recorder.watching():
        recorder.said(())
        for numbers in kept_in_turn[:2]:
            take_store.keep(Command.NEXT, sounds(*numbers))
            recorder.said(numbers)
        take_store.forget(Command.NEXT)
        recorder.said(())

    def look(replay: Path, last: tuple[int, ...] | None, coming: tuple[int, ...] | None) -> None:
        with pytest.MonkeyPatch.context() as patch:
            patch.setenv(take_store.ENVIRONMENT, str(replay / "own-voice"))
            kept = take_store.kept()
            folder = take_store.store_folder() / "next"
            named = sorted(path.name for path in folder.glob("take-?.wav"))
        assert kept.troubles == (), "every take is whole"
        found = dict(zip(named, (int(t[0]) for t in kept.takes.get("next", ())), strict=True))
        old, new = by_name(last or ()), by_name((last if coming is None else coming) or ())
        assert all(number in (old.get(name), new.get(name)) for name, number in found.items())
        assert set(old) & set(new) <= set(found), "none is lost while it is replaced"
        if old == new:
            assert found == old

    assert replayed(recorder, look, without_parts=True) > 500


def by_name(numbers: tuple[int, ...]) -> dict[str, int]:
    return {f"take-{index}.wav": number for index, number in enumerate(numbers, 1)}


def test_patterns(folder):
    """A new pattern is there with its chart or not at all; of one that is replaced each file is."""
    other = Pattern("Other", Chart(1 - CELLS), PATTERN.yarns, gauge=Gauge(30, 42))
    recorder = Recorder(folder)
    path = folder / "boat.toml"
    with recorder.watching():
        recorder.said(None)
        pattern_file.save(PATTERN, path)
        recorder.said(PATTERN)
        pattern_file.amend(path, {"gauge": {"stitches": 30, "rows": 42}})
        amended = pattern_file.load(path)
        recorder.said(amended)
        pattern_file.save(other, path, replace=True)
        recorder.said(other)

    def look(replay: Path, last: Pattern | None, coming: Pattern | None) -> None:
        try:
            found = pattern_file.load(replay / "boat.toml")
        except PatternFileError as error:
            assert last is None, error  # noqa: PT017
            assert "no pattern file" in str(error)  # noqa: PT017
            return
        either = [pattern for pattern in (last, coming) if pattern is not None]
        assert found.title in [pattern.title for pattern in either]
        assert found.gauge in [pattern.gauge for pattern in either]
        assert found.chart in [pattern.chart for pattern in either]
        if coming is not other:
            assert found in either

    assert replayed(recorder, look, without_parts=True) > 500
