"""The knitter's history: what is written of each piece of work is found again, move by move."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from caller.calling.kept import Kept, Move
from caller.calling.place import Place
from caller.devices.storage.history import ENVIRONMENT, History, history_path
from caller.pattern.laying import Laying

LAYING = Laying(60, "0badf00d", "L20", "right")
BOAT, PATTERN = Path("quay/boat.place"), Path("quay/boat.toml")
BEGAN = datetime(2026, 3, 7, 20, 15, 1, 250_000, tzinfo=UTC)


@pytest.fixture
def history(tmp_path):
    return History(tmp_path / "history.sqlite")


def kept(row: int, work: str = "a", moves: int = 1, laying: Laying = LAYING) -> Kept:
    return Kept(Place(row, 2), laying, laying, work, moves, remarks={3: "mind the mast"})


def move(row: int, minutes: int, sitting: str = "one") -> Move:
    return Move(BEGAN + timedelta(minutes=minutes), Place(row, 1), "next", "word", sitting)


def test_a_work_and_its_moves(history, tmp_path):
    moves = [move(1, 0), move(2, 3), move(3, 4, "two")]
    history.keep(kept(1), BOAT, PATTERN, "A boat", moves[:1])
    history.keep(kept(3, moves=3), BOAT, PATTERN, "The boat", moves[1:])
    again = History(tmp_path / "history.sqlite")
    assert list(again.notes) == []
    work = again.work("a")
    assert (work.kept, work.title) == (kept(3, moves=3), "The boat")
    assert (work.place_file, work.pattern) == (BOAT, PATTERN)
    assert again.moves("a") == moves
    assert again.work("b") is None
    assert again.moves("b") == []


def test_a_move_that_is_written_again_stands_once(history):
    """A kept place that was written before a power cut comes with its move a second time."""
    history.keep(kept(2, moves=2), BOAT, PATTERN, "A boat", [move(1, 0), move(2, 3)])
    history.keep(kept(5, moves=2), BOAT, PATTERN, "A boat", [move(5, 3)])
    assert [one.place.row for one in history.moves("a")] == [1, 5]
    history.keep(kept(6, moves=2), BOAT, PATTERN, "A boat", [])
    assert history.work("a").kept.place == Place(6, 2)
    assert len(history.moves("a")) == 2


def test_works_by_place_file_and_by_chart(history):
    other = Laying(60, "ffffffff")
    history.keep(kept(3, "a", 7), BOAT, PATTERN, "A boat", [move(3, 0)])
    history.keep(kept(4, "b", 9), BOAT, PATTERN, "A boat", [move(4, 0)])
    history.keep(kept(5, "c", 8), BOAT, PATTERN, "A boat", [move(5, 0)])
    history.keep(kept(6, "d", 99, other), Path("x.place"), Path("x.toml"), "X", [move(6, 0)])
    assert history.work_at(BOAT).kept.work == "b", "the one with most moves"
    assert history.work_at(Path("y.place")) is None
    assert {work.kept.work for work in history.works_of_chart("0badf00d")} == {"a", "b", "c"}
    assert [work.title for work in history.works_of_chart("ffffffff")] == ["X"]
    assert history.works_of_chart("") == []


def test_sittings_begin_and_end_with_their_moves(history, tmp_path):
    import sqlite3

    moves = [move(1, 0), move(2, 3), move(3, 9), move(4, 60, "two")]
    history.keep(kept(4, moves=4), BOAT, PATTERN, "A boat", moves)
    file = sqlite3.connect(tmp_path / "history.sqlite")
    found = file.execute("select sitting, work, began, ended from sittings order by began")
    at = [one.at.isoformat(timespec="milliseconds") for one in moves]
    assert found.fetchall() == [("one", "a", at[0], at[2]), ("two", "a", at[3], at[3])]
    file.close()


def test_where_it_is(monkeypatch, tmp_path):
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "own.sqlite"))
    assert ENVIRONMENT == "CALLER_HISTORY"
    assert history_path() == tmp_path / "own.sqlite"
    monkeypatch.delenv(ENVIRONMENT)
    assert history_path().parts[-2:] == ("caller", "history.sqlite")
