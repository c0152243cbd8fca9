"""The place is kept through slips, torn lines, full disks and damaged files."""

import json
import os
import sqlite3
import subprocess
import sys
import textwrap
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from caller.calling.kept import Kept, Move
from caller.calling.place import Place
from caller.devices.storage import history, place_file
from caller.devices.storage.history import ENVIRONMENT, History
from caller.devices.storage.journal import FileJournal
from caller.errors import PlaceError
from caller.pattern.chart import Chart
from caller.pattern.laying import laying_of
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"))
WINDOWS = sys.platform == "win32"


def pattern_of(rows: int) -> Pattern:
    grid = np.zeros((rows, 4), dtype=np.uint8)
    grid[:, 2:] = 1
    return Pattern("Any", Chart(grid), YARNS)


CHART = laying_of(pattern_of(60)).chart


@pytest.fixture
def path(tmp_path):
    (tmp_path / "work").mkdir()
    return tmp_path / "work" / "boat.place"


@pytest.fixture(autouse=True)
def past(tmp_path, monkeypatch):
    """A history of its own for each test."""
    path = tmp_path / "state" / "history.sqlite"
    monkeypatch.setenv(ENVIRONMENT, str(path))
    return path


@pytest.fixture
def told():
    """What the journal reported."""
    return []


def read(path, rows=60, told=None) -> Kept | None:
    report = told.append if told is not None else [].append
    journal = FileJournal(path, pattern_of(rows), report=report)
    try:
        return journal.read()
    finally:
        journal.close()


def kept(path, told=None) -> Place | None:
    found = read(path, told=told)
    return found and found.place


def keep(path, *places, rows=60):
    journal = FileJournal(path, pattern_of(rows))
    journal.read()
    for place in places:
        journal.write(Place(place) if isinstance(place, int) else place, "next", "key")
    journal.close()


def moved(past, path) -> list[int]:
    """The rows of the moves that the history has of this work."""
    found = History(past)
    work = found.work_at(path)
    return [] if work is None else [move.place.row for move in found.moves(work.kept.work)]


# Both records, and each by itself


def test_at_the_very_start_there_is_no_place(path):
    assert kept(path) is None
    assert list(path.parent.iterdir()) == []


@pytest.mark.parametrize("lost", ["neither", "place file", "history"])
def test_one_record_is_enough(path, past, lost):
    keep(path, 1, 2, Place(7, 4))
    if lost == "place file":
        path.unlink()
    if lost == "history":
        past.unlink()
    assert kept(path) == Place(7, 4)
    keep(path, 61)
    assert kept(path) == Place(61), "the finished piece is a place"


def test_what_is_newer_counts(path, past):
    keep(path, 1, 2, 3)
    older = path.read_bytes()
    keep(path, 4)
    newer = path.read_bytes()
    path.write_bytes(older)  # power was cut between the two
    assert kept(path) == Place(4)
    path.write_bytes(newer)
    keep(path, 5)
    past.unlink()
    past.with_name("history.copy.sqlite").replace(past)  # brought back from a copy
    assert kept(path) == Place(5)


def test_moves_have_their_time_and_cause(path, past):
    before = datetime.now(UTC)
    keep(path, 1, 2)
    keep(path, Place(2, 3))
    found = History(past)
    moves = found.moves(found.work_at(path).kept.work)
    assert [move.place for move in moves] == [Place(1), Place(2), Place(2, 3)]
    assert {(move.command, move.source) for move in moves} == {("next", "key")}
    assert moves[0].sitting == moves[1].sitting != moves[2].sitting
    assert all(abs((move.at - before).total_seconds()) < 60 for move in moves)
    with sqlite3.connect(past) as file:
        sittings = file.execute("select sitting, began, ended from sittings").fetchall()
        version = file.execute("pragma user_version").fetchone()
    assert version == (history.VERSION,)
    assert len(sittings) == 2
    assert all(before.timestamp() - 1 < datetime.fromisoformat(began).timestamp() and began <= ended
               for _, began, ended in sittings)  # fmt: skip


@pytest.mark.skipif(WINDOWS, reason="modes of files are POSIX's")
def test_only_the_knitter_can_read_the_history(path, past):
    keep(path, 1)
    assert past.stat().st_mode & 0o077 == 0
    assert past.parent.stat().st_mode & 0o077 == 0


def test_a_copied_pattern_goes_its_own_way(path, past, tmp_path):
    keep(path, 1, 2, 3)
    other = tmp_path / "copy.place"
    other.write_bytes(path.read_bytes())
    keep(other, 4)
    keep(path, 9)
    assert kept(other) == Place(4)
    assert kept(path) == Place(9)
    assert moved(past, path) == [1, 2, 3, 9]


def test_a_pattern_moved_with_its_place_is_the_same_work(path, past, tmp_path):
    keep(path, 1, 2, 3)
    moved_to = path.rename(tmp_path / "ship.place")
    keep(moved_to, 4)
    assert moved(past, moved_to) == [1, 2, 3, 4]


# Older place files


def older(row, at="2026-11-20T20:00:00+01:00", **more):
    return {"row": row, "rows": 60, "chart": CHART, "at": at, **more}


def diary(path, *lines):
    path.write_text("".join(json.dumps(line) + "\n" for line in lines))


def test_older_files_are_brought_over(path, past):
    diary(
        path,
        older(1),
        older(2, "2026-11-20T20:01:00+01:00", run=0),
        {"mark": 2, "marked": True, "rows": 60, "chart": CHART},
        {"mark": 9, "marked": True, "rows": 60, "chart": CHART},
        {"mark": 2, "marked": False, "rows": 60, "chart": CHART},
        {"mark": 5, "marked": True, "rows": 61, "chart": CHART},
        older(3, "2026-11-21T20:00:00+01:00", run=2),
    )
    found = read(path)
    assert (found.place, found.marked) == (Place(3, 2), {9})
    keep(path, 4)
    again = read(path)
    assert (again.place, again.marked, again.moves) == (Place(4), {9}, 4)
    assert moved(past, path) == [1, 2, 3, 4]
    found = History(past)
    sittings = [move.sitting for move in found.moves(again.work)]
    assert [sittings.index(one) for one in sittings] == [0, 0, 2, 3]
    assert len(path.read_text().splitlines()) == 1, "its diary is in the history now"


def test_an_older_diary_is_not_lost_where_there_is_no_history(path, past):
    diary(path, older(1), older(2))
    past.parent.mkdir()
    past.mkdir()  # it cannot be one
    keep(path, 3)
    assert kept(path) == Place(3)
    assert path.read_text().count("\n") == 3
    past.rmdir()
    keep(path, 4)
    assert moved(past, path)[:2] == [1, 2]
    assert kept(path) == Place(4)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(torn=st.integers(0, 200))
def test_a_line_torn_by_a_power_cut_is_passed_over(path, torn):
    diary(path, older(10), older(11))
    lines = path.read_bytes().splitlines(keepends=True)
    cut = min(torn, len(lines[1]))
    path.write_bytes(lines[0] + lines[1][:cut])
    assert kept(path) == Place(11 if cut >= len(lines[1]) - 1 else 10)


# What is no place, and what is damaged


DEEP = b'{"row": ' + b"[" * 100_000
HUGE = b'{"row": ' + b"9" * 5000 + b', "rows": 60, "chart": "x"}'
MINUS_RUN = b'{"row": 3, "run": -1, "rows": 60, "chart": "00000000"}\n'
NO_PLACES = [b"", b"hello", b"\xff\xfe\x00", b'{"row": 0}', b"[1]\n", b"null\n", MINUS_RUN, DEEP,
             HUGE]  # fmt: skip


@pytest.mark.parametrize("content", NO_PLACES, ids=range(len(NO_PLACES)))
def test_a_file_that_is_no_place(path, content):
    path.write_bytes(content)
    with pytest.raises(PlaceError, match=r"boat.place cannot be read: it holds no place\. .*--row"):
        kept(path)
    assert path.read_bytes() == content


def test_a_folder_where_the_place_should_be(path, told):
    keep(path, 12)
    path.unlink()
    path.mkdir()
    assert kept(path, told) == Place(12), "the history has it"
    assert told == [f"{path} cannot be read: it is not an ordinary file."]
    other = path.with_name("other.place")
    other.mkdir()
    with pytest.raises(
        PlaceError, match=r"other.place cannot be .* not an ordinary file\. .*--row"
    ):
        kept(other)


def test_a_damaged_place_file_does_not_matter_where_the_history_has_it(path, told):
    keep(path, 12)
    path.write_bytes(b"\0" * 300)
    assert kept(path, told) == Place(12)
    assert told == [f"{path} cannot be read: it holds no place."]
    keep(path, 13)
    assert place_file.read(path).kept.place == Place(13), "it is mended by the next move"


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=5,
)
KEYS = (
    *("row", "run", "rows", "chart", "at", "work", "moves", "below", "first_needle", "remarks"),
    *("first_direction", "pattern_first_needle", "marked_rows", "mark", "marked"),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(changes=st.dictionaries(st.sampled_from(KEYS), JSON, max_size=4), cut=st.integers(0, 400))
def test_whatever_stands_in_a_place_file_is_a_place_or_refused(path, changes, cut):
    line = {**older(7, run=1, work="x", moves=3, remarks={"3": "mast"}), **changes}
    path.write_bytes((json.dumps(line) + "\n").encode()[: 400 - cut])
    try:
        found = read(path)
    except PlaceError:
        return
    if found is not None:
        assert 1 <= found.place.row <= found.laying.rows + 1
        assert found.place.run >= 0
        assert found.moves >= 0
        assert all(1 <= row <= found.laying.rows for row in (*found.marked, *found.remarks))


@pytest.mark.skipif(WINDOWS, reason="pipes and devices are POSIX's")
@pytest.mark.parametrize("which", ["place", "history"])
@pytest.mark.parametrize("kind", ["pipe", "device", "folder", "huge"])
def test_what_is_no_ordinary_file_neither_hangs_nor_grows(path, past, told, which, kind):
    past.parent.mkdir(exist_ok=True)
    odd = path if which == "place" else past
    if kind == "pipe":
        os.mkfifo(odd)
    elif kind == "device":
        odd.symlink_to("/dev/zero")
    elif kind == "folder":
        odd.mkdir()
    else:
        with odd.open("wb") as file:
            file.truncate(10**12)
    if which == "history":
        keep(path, 5)
        assert kept(path, told) == Place(5)
        assert len(told) == 1
        assert str(past) in told[0]
    else:
        with pytest.raises(PlaceError, match=r"ordinary file|larger than|another kind of file"):
            kept(path)


def damage(path):
    content = bytearray(path.read_bytes())
    content[4096 + 8 : 4096 + 3000] = os.urandom(2992)
    path.write_bytes(content)


def test_a_damaged_history_is_mended_from_its_copy(path, past, told):
    keep(path, 1, 2, 3)
    keep(path, 4)
    damage(past)
    path.unlink()
    assert kept(path, told) == Place(3), "the copy is of before the last session"
    assert "was damaged and is put aside as history.damaged-" in told[0]
    assert "when the last session began" in told[0]
    assert len(list(past.parent.glob("history.damaged-*.sqlite"))) == 1


@pytest.mark.parametrize("content", [b"", b"hello", None])
def test_a_damaged_history_does_not_lose_the_place(path, past, told, content):
    keep(path, 1, 2, 3)
    past.with_name("history.copy.sqlite").unlink(missing_ok=True)
    if content is None:
        damage(past)
    else:
        past.write_bytes(content)
    assert kept(path, told) == Place(3)
    assert ("put aside" in " ".join(told)) is (content != b"")
    keep(path, 4)
    assert kept(path) == Place(4)


def test_a_history_of_another_program_or_version_is_left_alone(path, past, told):
    past.parent.mkdir()
    with sqlite3.connect(past) as file:
        file.execute("create table birds (name text)")
    before = past.read_bytes()
    keep(path, 3)
    assert kept(path, told) == Place(3)
    assert "another program's" in told[0]
    assert past.read_bytes() == before
    past.unlink()
    keep(path, 4)
    with sqlite3.connect(past) as file:
        file.execute(f"pragma user_version = {history.VERSION + 1}")
    told.clear()
    assert kept(path, told) == Place(4)
    assert "newer version" in told[0]


# Disks that fail


@pytest.mark.parametrize("failing", ["write", "fsync", "folder"])
@pytest.mark.parametrize("serving", [True, False], ids=["history-serves", "history-fails-too"])
def test_a_row_that_could_not_be_kept_is_not_found_later(path, told, monkeypatch, failing, serving):
    keep(path, 3)
    journal = FileJournal(path, pattern_of(60), report=told.append)
    assert journal.read().place == Place(3)

    def fails(*_):
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as patch:
        if failing == "write":
            really = os.write
            patch.setattr(os, "write", lambda file, content: really(file, content[:40]) and fails())
        elif failing == "fsync":
            patch.setattr(os, "fsync", fails)
        else:
            patch.setattr("caller.files.sync_folder", fails)
        if serving:
            journal.write(Place(4))
            journal.write(Place(5))
            assert len(told) == 1
            assert "Input/output error. It is kept in the other one" in told[0]
        else:
            patch.setattr(History, "keep", lambda *_: (_ for _ in ()).throw(PlaceError("full")))
            with pytest.raises(PlaceError, match=r"Row 4 could not be kept.* Input/output error"):
                journal.write(Place(4))
    now = Place(5 if serving else 3)
    if failing != "folder" or serving:
        assert journal.read().place == now
    journal.write(Place(6))
    assert journal.read().place == Place(6)
    journal.close()


@pytest.mark.skipif(WINDOWS or not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_for_both_is_said(path, past, monkeypatch):
    keep(path, 3)
    journal = FileJournal(path, pattern_of(60))
    journal.read()
    before = (path.read_bytes(), past.read_bytes())
    with monkeypatch.context() as patch:
        patch.setattr(os, "write", lambda *_: (_ for _ in ()).throw(OSError(28, "No space left")))
        patch.setattr(
            "caller.devices.storage.sqlite_file.SqliteFile.writing",
            lambda self: (_ for _ in ()).throw(self._cannot("written", "the disk is full")),
        )
        with pytest.raises(PlaceError, match=r"Row 4 could not be kept.*No space left"):
            journal.write(Place(4))
    assert (path.read_bytes(), past.read_bytes()) == before
    journal.write(Place(4))
    journal.close()
    assert kept(path) == Place(4)
    assert moved(past, path) == [3, 4]


def test_sqlite_says_that_the_disk_is_full(path, past, told, monkeypatch):
    """SQLite's own limit of pages fails as a full disk does (sqlite.org, SQLITE_FULL)."""
    keep(path, 3)
    really = sqlite3.connect

    def small(*arguments, **named):
        file = really(*arguments, **named)
        file.execute("pragma max_page_count = 1")  # no smaller than it is already
        return file

    monkeypatch.setattr(sqlite3, "connect", small)
    journal = FileJournal(path, pattern_of(60), report=told.append)
    journal.read()
    for row in range(4, 54):
        journal.write(Place(row), "next " * 200)
    journal.close()
    assert told == [f"The history {past} cannot be written: the disk is full. "
                    "It is kept in the other one."]  # fmt: skip
    monkeypatch.undo()
    monkeypatch.setenv(ENVIRONMENT, str(past))
    assert kept(path) == Place(53)


def test_moves_that_the_history_missed_are_added_when_it_can_be_written(path, past, monkeypatch):
    keep(path, 1)
    journal = FileJournal(path, pattern_of(60))
    journal.read()
    with monkeypatch.context() as patch:
        patch.setattr(History, "keep", lambda *_: (_ for _ in ()).throw(PlaceError("full")))
        journal.write(Place(2))
        journal.write(Place(3))
    journal.write(Place(4))
    journal.close()
    assert moved(past, path) == [1, 2, 3, 4]


@pytest.mark.skipif(WINDOWS, reason="links need rights on Windows")
def test_the_temporary_file_may_be_a_link_to_another(path, tmp_path):
    victim = tmp_path / "letter"
    victim.write_bytes(b"dear")
    path.with_name(".boat.place.part").symlink_to(victim)
    keep(path, 4)
    assert victim.read_bytes() == b"dear"
    assert kept(path) == Place(4)


# Two sessions


@pytest.mark.skipif(WINDOWS, reason="links need rights on Windows")
@pytest.mark.parametrize("by_link", [False, True])
def test_two_sessions_at_once(path, by_link, tmp_path):
    named = path
    if by_link:
        (tmp_path / "link").symlink_to(path.parent)
        named = tmp_path / "link" / path.name
    first = FileJournal(path, pattern_of(60))
    code = textwrap.dedent(
        f"""
        import sys; sys.path[:0] = [{str(Path(__file__).parent)!r}, *{sys.path!r}]
        from caller.devices.storage.journal import FileJournal
        from caller.errors import PlaceError
        from pathlib import Path
        from test_journal import pattern_of
        try:
            FileJournal(Path({str(named)!r}), pattern_of(60))
        except PlaceError as error:
            print(error)
        """
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "Another session is calling" in said.stdout
    first.close()
    assert kept(path) is None


# Where it lies, and what it is of


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(PlaceError, match="--place"):
        FileJournal(tmp_path / "nowhere" / "x.place", pattern_of(3))


def test_the_place_lies_beside_the_pattern(tmp_path):
    assert place_file.place_file(tmp_path / "boat.toml") == tmp_path / "boat.place"
    assert place_file.place_file(tmp_path / "boat.png") == tmp_path / "boat.png.place"


def test_another_kind_of_file_is_not_written_into(tmp_path):
    other = tmp_path / "boat.toml"
    other.write_text("title = 1")
    with pytest.raises(PlaceError, match=r"ends in \.place"):
        FileJournal(other, pattern_of(60))
    assert other.read_text() == "title = 1"
    assert [path.name for path in tmp_path.iterdir()] == ["boat.toml"]


def test_the_laying_is_kept_with_the_place(path):
    keep(path, 12)
    assert read(path, rows=61).laying == laying_of(pattern_of(60))
    line = json.loads(path.read_text())
    assert (line["first_needle"], line["first_direction"]) == ("L2", "right")


def test_marks_are_kept_beside_the_place(path):
    journal = FileJournal(path, pattern_of(60))
    assert journal.marked() == frozenset()
    journal.write(Place(12))
    journal.mark(12, True)
    journal.mark(40, True)
    journal.write(Place(13))
    journal.mark(40, False)
    assert journal.read().place == Place(13), "a mark is no place"
    assert journal.marked() == {12}
    journal.close()
    other = FileJournal(path, pattern_of(61))
    other.read()
    assert other.marked() == frozenset(), "they are of another chart"
    other.close()


def test_filled_bobbins_are_kept_beside_the_place(path):
    journal = FileJournal(path, pattern_of(60))
    assert journal.refills() == ()
    filled = (Refill(0, 1, 12, 99), Refill(1, 1, 14, 101))
    journal.write(Place(14))
    journal.refill(filled)
    journal.write(Place(15))
    assert journal.read().place == Place(15)
    assert journal.refills() == filled
    journal.close()
    line = json.loads(path.read_text())
    for wrong in ([1], [0, 1, 99, 3], [0, 1, 0, 3], [0, 1, 2.5, 3], "x", [200, 1, 2, 3]):
        line["filled"] = [wrong, [0, 1, 12, 99]]
        found = place_file.kept_of(json.dumps(line).encode())
        assert found is not None
        assert found.refills == filled[:1]
    line["filled"] = 3
    assert place_file.kept_of(json.dumps(line).encode()).refills == ()
    other = FileJournal(path, pattern_of(61))
    other.read()
    assert other.refills() == (), "they are of another chart"
    other.close()


def test_remarks_are_kept_with_their_marks(path, past):
    journal = FileJournal(path, pattern_of(60))
    journal.write(Place(12), "next", "word")
    journal.mark(12, True)
    journal.remark(12, "mind the mast")
    journal.mark(30, True)
    journal.remark(30, "cream runs out")
    journal.mark(30, False)
    journal.refill(())
    assert (journal.read().place, journal.remarks()) == (Place(12), {12: "mind the mast"})
    journal.close()
    found = History(past)
    moves = found.moves(found.work_at(path).kept.work)
    commands = ["next", "mark", "remark", "mark", "remark", "mark", "bobbin"]
    assert [(move.command, move.source) for move in moves] == [
        (command, "word" if command == "next" else "") for command in commands
    ]
    other = FileJournal(path, pattern_of(61))
    other.read()
    assert other.remarks() == {}, "they are of another chart"
    other.close()


def test_each_move_is_written_once(path, monkeypatch):
    written = []
    really = History.keep
    monkeypatch.setattr(
        History, "keep", lambda self, *given: written.append(len(given[-1])) or really(self, *given)
    )
    keep(path, 1, 2, 3, 4)
    assert written == [1, 1, 1, 1]


def test_the_latest_rows_tell_the_pace(path, past):
    """Twelve rows, each a minute longer than the one before; the last nine are told."""
    keep(path, 1)
    work = read(path)
    minutes = np.cumsum(np.arange(13))
    began = datetime(2026, 3, 7, tzinfo=UTC)
    moves = [
        Move(began + timedelta(minutes=int(at)), Place(row), "next", "key", "one")
        for row, at in enumerate(minutes, start=1)
    ]
    History(past).keep(replace(work, moves=13), path, path, "Any", moves)
    journal = FileJournal(path, pattern_of(60))
    journal.read()
    assert journal.row_times_s() == tuple(60.0 * minute for minute in range(4, 13))
    journal.close()


@pytest.mark.parametrize(("ago", "days"), [(timedelta(days=20), 20), (timedelta(hours=-3), 0)])
def test_how_long_the_work_lay(path, past, ago, days):
    """From the last move; a clock that was put back is no time at all."""
    keep(path, 1)
    work = read(path)
    assert work.place == Place(1)
    last = datetime.now(UTC) - ago
    moves = [
        Move(last - timedelta(days=40), Place(1), "start", "", "one"),
        Move(last, Place(2), "next", "key", "one"),
    ]
    History(past).keep(replace(work, moves=9), path, path, "Any", moves)
    journal = FileJournal(path, pattern_of(60))
    journal.read()
    assert journal.days_away() == pytest.approx(days, abs=0.01)
    journal.close()


def test_a_history_that_cannot_be_is_told_of_once(path, past, told):
    past.parent.mkdir()
    past.mkdir()
    journal = FileJournal(path, pattern_of(60), report=told.append)
    assert journal.read() is None
    assert (journal.row_times_s(), journal.days_away(), journal.elsewhere()) == ((), 0, [])
    for row in (1, 2, 3):
        journal.write(Place(row))
    assert len(told) == 1
    assert str(past) in told[0]
    assert journal.read().place == Place(3)
    journal.close()


def test_works_whose_pattern_is_gone_are_offered(path, past, tmp_path):
    """A pattern that was renamed without its place: its chart is known."""
    names = ("gone", "there", "longer", "taller")
    for name, rows, moves in zip(names, (60, 60, 60, 61), (1, 1, 3, 1), strict=True):
        pattern = tmp_path / f"{name}.toml"
        if name == "there":
            pattern.touch()
        place = pattern.with_suffix(".place")
        journal = FileJournal(place, pattern_of(rows), pattern_path=pattern)
        for row in range(1, moves + 1):
            journal.write(Place(row))
        journal.close()
    journal = FileJournal(path, pattern_of(60))
    found = [work.pattern.stem for work in journal.elsewhere()]
    assert found == ["longer", "gone"]
    journal.close()


def test_a_second_session_looks_on_or_is_refused(path):
    first = FileJournal(path, pattern_of(60))
    first.write(Place(5))
    with pytest.raises(PlaceError) as refused:
        FileJournal(path, pattern_of(60))
    assert refused.value.finding == f"Another session is calling from {path} already"
    assert refused.value.remedy == "leave that one first."
    second = FileJournal(path, pattern_of(60), may_look_on=True)
    assert second.looks_on
    assert second.look() == Place(5)
    with pytest.raises(PlaceError, match="this one looks on"):
        second.write(Place(9))
    first.write(Place(6))
    assert (second.look(), second.looks_on) == (Place(6), True)
    first.close()
    assert (second.look(), second.looks_on) == (Place(6), False)
    second.write(Place(7))
    second.close()
    assert kept(path) == Place(7)
