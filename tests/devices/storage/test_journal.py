"""The place is kept through slips, torn lines and full disks."""

import json
import os
import subprocess
import sys
import textwrap
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from caller.calling.place import Place
from caller.devices.storage.journal import FileJournal, place_file
from caller.errors import PlaceError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"))


def pattern_of(rows: int) -> Pattern:
    grid = np.zeros((rows, 4), dtype=np.uint8)
    grid[:, 2:] = 1
    return Pattern("Any", Chart(grid), YARNS)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "boat.place"


def kept(path, rows=60):
    journal = FileJournal(path, pattern_of(rows))
    try:
        return journal.read()
    finally:
        journal.close()


def keep(path, *places, rows=60):
    journal = FileJournal(path, pattern_of(rows))
    for place in places:
        journal.write(Place(place) if isinstance(place, int) else place)
    journal.close()


def test_at_the_very_start_there_is_no_place(path):
    assert kept(path) is None


def test_the_last_place_counts(path):
    keep(path, 1, 2, 3, 2)
    assert kept(path) == Place(2)


def test_the_finished_piece_is_a_place(path):
    keep(path, 61)
    assert kept(path) == Place(61)


def test_the_piece_is_kept(path):
    keep(path, Place(7, 0), Place(7, 4))
    assert kept(path) == Place(7, 4)


def test_lines_of_whole_rows_are_still_read(path):
    keep(path, 5)
    line = json.loads(path.read_text())
    del line["run"]
    path.write_text(json.dumps(line) + "\n")
    assert kept(path) == Place(5)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(torn=st.integers(0, 200))
def test_a_line_torn_by_a_power_cut_is_passed_over(path, torn):
    path.unlink(missing_ok=True)
    keep(path, 10, 11)
    whole = path.read_bytes()
    lines = whole.splitlines(keepends=True)
    cut = min(torn, len(lines[1]))
    path.write_bytes(lines[0] + lines[1][:cut])
    assert kept(path) == Place(11 if cut >= len(lines[1]) - 1 else 10)
    keep(path, 12)
    assert kept(path) == Place(12)


def test_each_move_is_a_line_of_json(path):
    keep(path, 5, 6)
    entries = [json.loads(line) for line in path.read_text().splitlines()]
    assert [entry["row"] for entry in entries] == [5, 6]
    assert all(entry["rows"] == 60 for entry in entries)


MINUS_RUN = b'{"row": 3, "run": -1, "rows": 60, "chart": "00000000"}\n'


@pytest.mark.parametrize(
    "content", [b"", b"hello", b"\xff\xfe\x00", b'{"row": 0}', b"[1]\n", b"null\n", MINUS_RUN]
)
def test_a_file_that_is_no_place(path, content):
    path.write_bytes(content)
    with pytest.raises(PlaceError, match="--row"):
        kept(path)
    assert path.read_bytes() == content


def test_a_changed_chart_is_not_guessed(path):
    keep(path, 12)
    with pytest.raises(PlaceError, match="changed since row 12 of 60"):
        kept(path, rows=61)


def test_a_chart_of_the_same_rows_with_other_stitches_is_not_guessed(path):
    """Only its checksum tells it from the one that was called."""
    keep(path, 12)
    other = pattern_of(60).chart.cells.copy()
    other[30, 1] = 1
    journal = FileJournal(path, Pattern("Any", Chart(other), YARNS))
    with pytest.raises(PlaceError, match="changed since row 12 of 60"):
        journal.read()
    journal.close()


@pytest.mark.parametrize("failing", ["write", "fsync"])
def test_a_row_that_could_not_be_kept_is_not_found_later(path, monkeypatch, failing):
    keep(path, 3)
    journal = FileJournal(path, pattern_of(60))

    def fails(*_):
        raise OSError(5, "Input/output error")

    with monkeypatch.context() as patch:
        if failing == "write":
            really = os.write
            patch.setattr(os, "write", lambda file, content: really(file, content[:40]) and fails())
        else:
            patch.setattr(os, "fsync", fails)
        with pytest.raises(PlaceError, match=r"Row 4 could not be kept .* Input/output error"):
            journal.write(Place(4))
    assert journal.read() == Place(3)
    journal.write(Place(5))
    assert journal.read() == Place(5)
    journal.close()


def test_two_sessions_at_once(path):
    first = FileJournal(path, pattern_of(60))
    code = textwrap.dedent(
        f"""
        import sys; sys.path[:0] = [{str(Path(__file__).parent)!r}, *{sys.path!r}]
        from caller.devices.storage.journal import FileJournal
        from caller.errors import PlaceError
        from pathlib import Path
        from test_journal import pattern_of
        try:
            FileJournal(Path({str(path)!r}), pattern_of(60))
        except PlaceError as error:
            print(error)
        """
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "Another session is calling" in said.stdout
    first.close()
    assert kept(path) is None


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_said(path):
    keep(path, 3)
    journal = FileJournal(path, pattern_of(60))
    path.rename(path.with_suffix(".kept"))
    path.symlink_to("/dev/full")
    with pytest.raises(PlaceError, match="Row 4 could not be kept"):
        journal.write(Place(4))
    journal.close()


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(PlaceError, match="--place"):
        FileJournal(tmp_path / "nowhere" / "x.place", pattern_of(3))


def test_the_place_lies_beside_the_pattern(tmp_path):
    assert place_file(tmp_path / "boat.toml") == tmp_path / "boat.place"
    assert place_file(tmp_path / "boat.png") == tmp_path / "boat.png.place"


def test_another_kind_of_file_is_not_written_into(tmp_path):
    other = tmp_path / "boat.toml"
    other.write_text("title = 1")
    with pytest.raises(PlaceError, match=r"ends in \.place"):
        FileJournal(other, pattern_of(60))
    assert other.read_text() == "title = 1"
    assert [path.name for path in tmp_path.iterdir()] == ["boat.toml"]


def test_marks_are_kept_beside_the_place(path):
    journal = FileJournal(path, pattern_of(60))
    assert journal.marked() == frozenset()
    journal.write(Place(12))
    journal.mark(12, True)
    journal.mark(40, True)
    journal.write(Place(13))
    journal.mark(40, False)
    assert journal.read() == Place(13), "a mark is no place"
    assert journal.marked() == {12}
    journal.close()


def test_marks_of_another_chart_are_passed_over(path):
    journal = FileJournal(path, pattern_of(60))
    journal.write(Place(12))
    journal.mark(12, True)
    journal.close()
    with path.open("ab") as file:
        file.write(b'{"mark": "12", "marked": true, "rows": 60, "chart": "x"}\n{"mark": 3\n')
    other = FileJournal(path, pattern_of(61))
    assert other.marked() == frozenset()
    other.close()
