"""The line that a place is kept in: what is written is read again, and anything else is refused."""

import json
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.kept import Kept, Move
from caller.calling.place import Place
from caller.devices.storage.place_file import Found, kept_of, line_of, read
from caller.pattern.laying import Laying
from caller.pattern.winding import Refill
from caller.plain_text import LONGEST_REMINDER

NOW = datetime(2026, 3, 7, 20, 15, 1, 250_000, tzinfo=UTC)
ROWS = 60
layings = st.builds(
    Laying,
    st.just(ROWS),
    st.just("0badf00d"),
    st.none() | st.just("L20"),
    st.none() | st.sampled_from(["left", "right"]),
)
rows = st.integers(1, ROWS)
keeps = st.builds(
    Kept,
    st.builds(Place, st.integers(1, ROWS + 1), st.integers(0, 40)),
    layings,
    layings,
    st.text("0123456789abcdef", min_size=1),
    st.integers(0, 10**9),
    st.none() | st.just("12345678"),
    st.frozensets(rows),
    st.dictionaries(rows, st.sampled_from(["mind the mast", "été", "x" * LONGEST_REMINDER])),
    st.lists(
        st.builds(Refill, st.integers(0, 3), st.integers(1, 9), rows, st.integers(0, 199))
    ).map(tuple),
)


@given(keeps)
def test_what_is_kept_is_read_again(kept):
    line = line_of(kept, NOW)
    assert kept_of(line) == kept
    assert (line.count(b"\n"), line[-1:]) == (1, b"\n")
    assert datetime.fromisoformat(json.loads(line)["at"]) == NOW


LINE = {"row": 7, "rows": ROWS, "chart": "0badf00d"}


def told(**changes) -> Kept | None:
    return kept_of(json.dumps({**LINE, **changes}).encode())


def test_the_least_that_is_a_place():
    laying = Laying(ROWS, "0badf00d")
    assert told() == Kept(Place(7), laying, laying, "")
    assert told(row=ROWS + 1).place == Place(ROWS + 1), "finished"
    assert told(row=1, run=0, moves=10**9).moves == 10**9


@pytest.mark.parametrize(
    "wrong",
    [
        *({"row": row} for row in (0, -1, ROWS + 2, 7.0, "7", None, True)),
        *({"rows": rows} for rows in (0, 5, 10**9 + 1, "60", None)),
        *({"chart": chart} for chart in (None, 7, ["0badf00d"])),
        *({"run": run} for run in (-1, 10**9 + 1, "0", None)),
        *({"work": 7}, {"work": None}, {"moves": -1}, {"moves": "3"}, {"moves": 10**9 + 1}),
    ],
)
def test_what_is_no_place(wrong):
    assert told(**wrong) is None
    for line in (b"", b"[7]", b"7", b"null", b"{", b"\xff", b"[" * 100_000):
        assert kept_of(line) is None


def test_what_cannot_be_is_left_out():
    found = told(
        first_needle=20,
        first_direction="up",
        pattern_first_needle="L4",
        pattern_first_direction="left",
        below=7,
        marked_rows=[1, 0, ROWS, ROWS + 1, "3", True, 2.0],
        remarks={
            "1": "a\x1b[31mb",
            "0": "c",
            "61": "d",
            "²": "e",
            "60": "f" * 201,
            "2": 7,
            "x": "",
        },
        filled=[[0, 1, 60, 5], [0, 1, 61, 5], [0, 1, 0, 5], [255, 1, 5, 5], [1, 1, 5], 7],
    )
    assert (found.laying, found.below) == (Laying(ROWS, "0badf00d"), None)
    assert found.of_pattern == Laying(ROWS, "0badf00d", "L4", "left")
    assert found.marked == {1, ROWS}
    assert set(found.remarks) == {1, 60}
    assert "\x1b" not in found.remarks[1]
    assert found.remarks[60] == "f" * LONGEST_REMINDER
    assert found.refills == (Refill(0, 1, 60, 5),)
    for nothing in (7, None, "abc", {"1": 1}):
        odd = told(marked_rows=nothing, filled=nothing)
        assert (odd.marked, odd.refills) == (frozenset(), ())
    assert told(remarks=["a"]).remarks == {}


def test_a_file_of_an_older_version(tmp_path):
    """A line a move and one a mark; the last mark of a row counts, and other charts' do not."""
    path = tmp_path / "boat.place"
    mark = {"rows": ROWS, "chart": "0badf00d"}
    lines = [
        {**LINE, "row": 6, "at": "2025-01-02T10:00:00+01:00"},
        {**mark, "mark": 3, "marked": True},
        {**mark, "mark": 4, "marked": True},
        {**mark, "mark": 4, "marked": False},
        {**mark, "mark": 5, "marked": 1},
        {**mark, "mark": ROWS + 1, "marked": True},
        {**mark, "chart": "ffffffff", "mark": 8, "marked": True},
        {**LINE, "row": 7, "at": "2025-01-02T10:05:00"},
        {**LINE, "row": 7, "at": "noon"},
    ]
    content = "\n".join(json.dumps(line) for line in lines).encode()
    path.write_bytes(content + b"\n\0\0{torn")
    found = read(path)
    assert found.kept.marked == {3}
    assert found.kept.place == Place(7)
    at = datetime.fromisoformat("2025-01-02T10:00:00+01:00")
    moves = (Move(at, Place(6)), Move(datetime(2025, 1, 2, 10, 5, tzinfo=UTC), Place(7)))
    assert (found.diary, found.kept.moves) == (moves, 2)
    assert found.content == content + b"\n\n\n{torn\n"
    assert read(path).kept.work == found.kept.work != ""
    path.write_bytes(b"nothing here\n")
    assert read(path) is None


def test_a_file_of_this_version_keeps_the_diary_of_an_older_one(tmp_path):
    path = tmp_path / "boat.place"
    laying = Laying(ROWS, "0badf00d")
    kept = Kept(Place(9), laying, laying, "abc", 4)
    older = json.dumps({**LINE, "at": NOW.isoformat()}).encode() + b"\n"
    path.write_bytes(older + line_of(kept, NOW))
    assert read(path) == Found(kept, (Move(NOW, Place(7)),), older + line_of(kept, NOW))
