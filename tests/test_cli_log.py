"""`row-caller log`: the diary of a work, against moves whose times are known."""

import csv
import io
import json
import shutil
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from caller.calling.diary import diary
from caller.calling.kept import Kept, Move
from caller.calling.place import Place
from caller.cli import main
from caller.devices.storage import place_file
from caller.devices.storage.history import ENVIRONMENT, History, history_path
from caller.pattern.laying import laying_of
from caller.pattern.storage.pattern_file import load

DEMO = Path("demo_patterns/sailing-boat.toml")
ROWS = 118
HERE = timezone(timedelta(hours=1))
FIRST = datetime(2026, 11, 20, 20, 0, tzinfo=HERE)


def sitting(name, began, *moves):
    """Moves of one sitting: (row, minutes after it began, command)."""
    return [
        Move(began + timedelta(minutes=at), Place(row), command, "word", name)
        for row, at, command in moves
    ]


# Four rows in two minutes each, then two unravelled; on the second evening these again, in three,
# with a portion each, and one in four; "back" and "next" at once are somebody looking.
EVENINGS = [
    *sitting("a", FIRST, (1, 0, "start"), (2, 2, "next"), (3, 4, "next"), (4, 6, "next"),
             (5, 8, "next"), (3, 9, "unravel"), (3, 10, "leave")),
    *sitting("b", FIRST + timedelta(days=1), (3, 0, "start"), (3, 1, "next"), (4, 3, "next"),
             (5, 6, "next"), (6, 10, "next"), (5, 10.01, "back"), (6, 10.02, "next"),
             (6, 12, "leave")),
]  # fmt: skip


@pytest.fixture
def boat(tmp_path, monkeypatch):
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "state" / "history.sqlite"))
    for name in (DEMO.name, "sailing-boat.png"):
        shutil.copy(DEMO.with_name(name), tmp_path)
    return tmp_path / DEMO.name


def kept(pattern_path, moves):
    pattern = load(pattern_path)
    laying = laying_of(pattern)
    found = Kept(
        moves[-1].place, laying, laying, "w", len(moves), None, frozenset({9}), {12: "mast"}
    )
    beside = pattern_path.with_suffix(".place").resolve()
    History(history_path()).keep(found, beside, pattern_path.resolve(), pattern.title, moves)


def log(*arguments):
    done = CliRunner().invoke(main, ["log", *map(str, arguments)])
    assert done.exit_code == 0, done.output
    return done.stdout


def test_two_evenings(boat):
    kept(boat, EVENINGS)
    told = json.loads(log(boat, "--json"))
    assert (told["row"], told["rows"], told["finished"]) == (6, ROWS, False)
    first, second = told["sittings"]
    assert (first["first_row"], first["last_row"], first["minutes"]) == (1, 3, 10)
    assert (first["rows_knitted"], first["rows_unravelled"]) == (4, 2)
    assert (second["rows_knitted"], second["rows_unravelled"], second["minutes"]) == (3, 0, 12)
    assert [(one["row"], one["seconds"]) for one in told["rows_knitted"]] == [
        (1, 120), (2, 120), (3, 180), (4, 180), (5, 240),
    ]  # fmt: skip
    assert told["rows_unravelled"] == 2
    assert told["marked"] == [9]
    assert told["remarks"] == [{"row": 12, "say": "mast"}]
    estimate = told["estimate"]
    assert (estimate["rows_left"], estimate["seconds_a_row"]) == (113, 180)
    assert estimate["hours"] == round(113 * 180 / 3600, 2)
    assert estimate["least_hours"] == round(113 * 120 / 3600, 2)
    assert estimate["most_hours"] == round(113 * 180 / 3600, 2)
    # Five rows in two days, so the last of 113 in 45.2 more: the 46th.
    assert estimate["finished_on"] == (date(2026, 11, 21) + timedelta(days=46)).isoformat()


def test_as_lines_and_as_a_table(boat):
    kept(boat, EVENINGS)
    assert log(boat).splitlines() == [
        "Sailing boat: row 6 of 118.",
        "Sitting 1, 20 November 2026, 20:00 to 20:10: 4 rows knitted in 10 minutes, 2 unravelled, "
        "as far as row 3.",
        "Sitting 2, 21 November 2026, 20:00 to 20:12: 3 rows knitted in 12 minutes, "
        "as far as row 6.",
        "2 rows were unravelled in all.",
        "Row 9 is marked.",
        "Row 12: mast",
        "113 rows to go, at 3 minutes 0 seconds a row.",
        "About 5 and a half hours of knitting, 4 hours to 5 and a half hours.",
        "At as many rows a day as so far, you finish about 6 January.",
    ]
    table = list(csv.reader(io.StringIO(log(boat, "--csv"))))
    assert table[0] == ["row", "finished", "seconds"]
    assert [(row, seconds) for row, _, seconds in table[1:]][-1] == ("5", "240.0")


def test_as_a_picture(boat, tmp_path):
    kept(boat, EVENINGS)
    png = tmp_path / "times.png"
    log(boat, "--png", png)
    with Image.open(png) as picture:
        colours = {colour: count for count, colour in picture.convert("RGB").getcolors(100_000)}
    first, second = colours[(178, 102, 20)], colours[(31, 78, 121)]
    # Two bars of two minutes, and two of three with one of four, of the same width.
    assert abs(second / first - 10 / 4) < 0.05
    refused = CliRunner().invoke(main, ["log", str(boat), "--png", str(png)])
    assert refused.exit_code == 2
    assert "--replace" in refused.stderr


def test_a_pattern_that_was_never_called(boat):
    done = CliRunner().invoke(main, ["log", str(boat)])
    assert done.exit_code == 2
    assert "No row of" in done.stderr


def test_a_session_stands_in_its_log(boat):
    typed = "row 41\nyes\nnext\nunravel 2\nyes\nleave\n"
    arguments = ["knit", str(boat), "--no-listen", "--voice", "espeak"]
    done = CliRunner().invoke(main, arguments, input=typed)
    assert done.exit_code == 0
    back = done.stdout.splitlines()[-2]
    assert "carriage on the right" in back, "row 40 goes to the left"
    assert "ends hang" in back
    told = json.loads(log(boat, "--json"))
    assert told["row"] == 40
    assert len(told["sittings"]) == 1
    assert told["rows_unravelled"] == 2
    moves = History(history_path()).moves(place_file.read(boat.with_suffix(".place")).kept.work)
    assert [(move.place.row, move.command, move.source) for move in moves] == [
        (1, "start", ""),
        (41, "row", "line"),
        (42, "next", "line"),
        (40, "unravel", "line"),
        (40, "leave", "line"),
    ]
    assert told["rows_knitted"] == [], "it was passed faster than it can be knitted"
    assert told["estimate"] is None


def test_the_pace_of_the_evenings_before_tells_the_time_to_go(boat):
    kept(boat, EVENINGS)
    arguments = ["knit", str(boat), "--no-listen", "--voice", "espeak"]
    done = CliRunner().invoke(main, arguments, input="remaining\nleave\n")
    # Row 6 of 118, at three minutes a row: 339 minutes, rounded to five.
    assert "113 rows to go, counting this one. About 5 hours and 40 minutes." in done.stdout


MOVES = st.lists(
    st.tuples(
        st.integers(1, 31),
        st.floats(0, 600),
        st.sampled_from(["next", "back", "row", "unravel", "leave", "mark", "start", ""]),
        st.booleans(),
    ),
    min_size=1,
    max_size=40,
)


@given(MOVES)
def test_any_moves_make_a_diary(told):
    at, moves, name = FIRST, [], 0
    for row, seconds, command, another in told:
        at, name = at + timedelta(seconds=seconds), name + another
        moves.append(Move(at, Place(row), command, "", str(name)))
    laying = laying_of(load(DEMO))
    found = diary(Kept(moves[-1].place, laying, laying, "w"), moves)
    assert len(found.sittings) == len({move.sitting for move in moves})
    assert sum(one.minutes for one in found.sittings) <= (at - FIRST).total_seconds() / 60 + 1e-6
    assert len({one.row for one in found.knitted}) == len(found.knitted)
    spent_s = sum(one.seconds for one in found.knitted)
    assert spent_s <= sum(one.minutes for one in found.sittings) * 60 + 1e-6
    if found.estimate:
        assert found.estimate.least_hours <= found.estimate.hours <= found.estimate.most_hours
