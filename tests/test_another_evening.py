"""What is not as it was last time is noticed and said before a row is called, with a choice.

Whole sessions, typed, on silent devices.
"""

import queue
import shutil
import threading
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image
from silent_voice import SilentVoice

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import Events, Typed
from caller.calling.place import Place
from caller.calling.words.utterance import sentence
from caller.cli import main
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage import place_file
from caller.devices.storage.history import ENVIRONMENT
from caller.devices.storage.journal import FileJournal
from caller.pattern.laying import laying_of
from caller.pattern.storage.pattern_file import load
from caller.wiring import session, voices
from caller.wiring.looking_on import LOOKS_ON, TAKES_OVER, looking_on

DEMO = Path("demo_patterns/sailing-boat.toml")


@pytest.fixture
def boat(tmp_path, monkeypatch):
    """A copy of a pattern, with a history and a voice of its own."""
    folder = tmp_path / "knitting"
    folder.mkdir()
    for name in (DEMO.name, "sailing-boat.png"):
        shutil.copy(DEMO.with_name(name), folder)
    monkeypatch.setenv(ENVIRONMENT, str(tmp_path / "state" / "history.sqlite"))
    monkeypatch.setattr(session, "open_voice", lambda _settings, _tell: SilentVoice())
    monkeypatch.setattr(voices, "open_loudspeaker", lambda *_a, **_k: SilentLoudspeaker(keep=True))
    return folder / DEMO.name


def knit(pattern, *typed, options=()) -> str:
    """What a session shows."""
    arguments = ["knit", str(pattern), "--no-listen", *map(str, options)]
    done = CliRunner().invoke(main, arguments, input="\n".join((*typed, "leave", "")))
    assert done.exit_code == 0, done.output
    return done.output


def edit(pattern, old, new):
    text = pattern.read_text(encoding="utf-8")
    assert old in text
    pattern.write_text(text.replace(old, new), encoding="utf-8")


def kept(pattern):
    return place_file.read(place_file.place_file(pattern)).kept


def to_row(pattern, row):
    return knit(pattern, f"row {row}", "yes")


NEEDLES = ("[bed]\n", '[bed]\nfirst_needle = "L30"\n')
DIRECTION = ('first_direction = "right"', 'first_direction = "left"')


def test_nothing_is_asked_where_nothing_has_changed(boat):
    to_row(boat, 41)
    assert "Carrying on at row 41 of" in knit(boat)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (NEEDLES, "begins at L30 now"),
        (DIRECTION, "Row 1 went to the right, and goes to the left now."),
    ],
    ids=["needle", "direction"],
)
def test_another_laying_is_asked_about_and_the_answer_is_kept(boat, change, told):
    to_row(boat, 41)
    before = knit(boat)
    row_41 = before[before.index("Row 41") :].splitlines()[0]
    edit(boat, *change)
    asked = knit(boat).splitlines()
    assert asked[0].startswith("The pattern does not lie as it did when row 41 was called.")
    assert told in asked[0]
    assert len(asked) == 2, "no row is called before the answer"
    assert "Stopping at row 41" in asked[1]
    hangs = knit(boat, "repeat", "next", "yes")
    assert hangs.count("does not lie as it did") == 3
    assert row_41 in hangs, "as it hangs on the needles"
    again = knit(boat)
    assert "lies otherwise" not in again, "the answer holds for the evenings after"
    assert "Called as it hangs. Carrying on at row 41" in again
    assert row_41 in again
    edit(boat, *reversed(change))
    assert "Carrying on at row 41" in knit(boat, "back"), "asked, for the pattern has changed"


def test_the_new_laying_can_be_taken(boat):
    to_row(boat, 41)
    edit(boat, *DIRECTION)
    new = knit(boat, "back")
    assert "Row 41, going left" in new
    assert kept(boat).laying.first_direction == "left"
    assert "lies otherwise" not in knit(boat)


def test_before_the_first_row_another_laying_is_simply_taken(boat):
    knit(boat)
    edit(boat, *DIRECTION)
    assert "lies otherwise" not in knit(boat)


def change_pixel(boat, row_from_below):
    path = boat.with_name("sailing-boat.png")
    with Image.open(path) as picture:
        picture.load()
    y = picture.height - row_from_below
    other = next(
        picture.getpixel((x, y))
        for x in range(picture.width)
        if picture.getpixel((x, y)) != picture.getpixel((0, y))
    )
    picture.putpixel((0, y), other)
    picture.save(path)


@pytest.mark.parametrize(("changed", "same"), [(60, True), (40, False)])
def test_another_chart_is_asked_about(boat, changed, same):
    to_row(boat, 50)
    knit(boat, "mark")
    change_pixel(boat, changed)
    asked = knit(boat).splitlines()
    assert asked[0].startswith("The chart has changed since row 50 of 118 was called")
    assert ("knitted are the same" in asked[0]) is same
    assert ("knitted are not the same" in asked[0]) is not same
    assert len(asked) == 2
    goes_on = knit(boat, "yes")
    assert "Carrying on at row 50 of 118" in goes_on
    assert "You marked this one." in goes_on
    assert "changed" not in knit(boat)


def test_another_chart_can_be_begun_anew(boat):
    to_row(boat, 50)
    knit(boat, "mark")
    change_pixel(boat, 60)
    assert "Before row 1, the carriage stands" in knit(boat, "back")
    assert kept(boat).place.row == 1
    assert kept(boat).marked == frozenset()


@pytest.mark.parametrize("way", ["renamed", "moved"])
def test_a_pattern_renamed_or_moved_without_its_place(boat, way):
    to_row(boat, 41)
    if way == "renamed":
        there = boat.rename(boat.with_name("ship.toml"))
    else:
        there = boat.parent.parent / "new" / boat.name
        there.parent.mkdir()
        boat.with_name("sailing-boat.png").rename(there.with_name("sailing-boat.png"))
        boat.rename(there)
    asked = knit(there).splitlines()
    assert asked[0].startswith("No place is kept beside this pattern. Its chart was knitted from")
    assert "sailing-boat, as far as row 41. Is this the same work" in asked[0]
    assert len(asked) == 2
    assert "Before row 1" in knit(there, "back"), "a no begins it"
    assert "No place" not in knit(there)


def test_a_renamed_pattern_goes_on(boat):
    to_row(boat, 41)
    ship = boat.rename(boat.with_name("ship.toml"))
    assert "Carrying on at row 41" in knit(ship, "yes")
    assert "Carrying on at row 41" in knit(ship)
    assert kept(ship).work == place_file.read(boat.with_suffix(".place")).kept.work


def test_a_copy_beside_the_pattern_is_a_new_work(boat):
    to_row(boat, 41)
    copy = boat.with_name("sleeve.toml")
    shutil.copy(boat, copy)
    assert "No place is kept" not in knit(copy)
    assert kept(copy).place.row == 1


# A second session


def test_a_second_session_looks_on_and_takes_over(boat):
    pattern = load(boat)
    beside = place_file.place_file(boat)
    first = FileJournal(beside, pattern, pattern_path=boat)
    first.read()
    first.write(Place(41), "start")
    second = FileJournal(beside, pattern, pattern_path=boat, may_look_on=True)
    shown, events, ended = queue.SimpleQueue(), Events(), []
    desk = Desk(SilentVoice(), SilentLoudspeaker(), second, shown.put, events)

    def sit() -> None:
        place = second.read().place
        second.take(pattern, second.read())
        with looking_on(second, place, events):
            ended.append(loop.run(pattern, desk, place, told=sentence(LOOKS_ON)))

    thread = threading.Thread(target=sit, daemon=True)
    thread.start()
    opening = shown.get(timeout=20)
    assert opening.startswith(LOOKS_ON)
    assert "Row 41, going right" in opening
    events.put(Typed("next"))
    assert "this one looks on; move there" in shown.get(timeout=20)
    events.put(Typed("where"))
    assert "This is row 41" in shown.get(timeout=20)
    first.mark(42, True)
    first.write(Place(42), "next")
    assert shown.get(timeout=20).startswith("You marked this one. Row 42, going left")
    first.close()
    assert shown.get(timeout=20) == TAKES_OVER
    events.put(Typed("next"))
    assert "Row 43, going right" in shown.get(timeout=20)
    events.put(Command.LEAVE)
    thread.join(20)
    second.close()
    assert ended == [Place(43)]
    assert kept(boat).place == Place(43)
    assert shown.get(timeout=1).startswith("Stopping at row 43")
    assert shown.empty()


# Remarks and reminders


def test_a_remark_is_kept_and_read_back_at_its_row(boat):
    to_row(boat, 41)
    told = knit(boat, "mark  check the\tmast", "next")
    assert "Row 41 is marked: check the mast." in told
    back = knit(boat, "back", "mark and the sail!", "repeat")
    assert back.count("You noted here: check the mast. Row 41") == 1
    assert back.count("You noted here: and the sail! Row 41") == 1
    assert kept(boat).remarks == {41: "and the sail!"}
    place_file.place_file(boat).unlink()
    assert "You noted here: and the sail!" in knit(boat), "the history has it too"
    gone = knit(boat, "mark", "repeat")
    assert "Row 41 is no longer marked." in gone
    assert (kept(boat).marked, kept(boat).remarks) == (frozenset(), {})


def test_the_knitters_own_reminders(boat, tmp_path, monkeypatch):
    settings = tmp_path / "settings.toml"
    settings.write_text(
        '[[reminders]]\nsay = "move the comb"\nevery_rows = 20\n'
        '[[reminders]]\nsay = "look at the sail"\nrow = 41\n'
        '[[reminders]]\nsay = "never"\nrow = 4000\n'
        '[[reminders]]\nsay = "no time"\n'
    )
    monkeypatch.setenv("CALLER_SETTINGS", str(settings))
    lines = knit(boat, "row 40", "yes", "next", "next").splitlines()
    assert "The reminder 'no time' needs one time" in lines[0] + lines[1]
    told = {row: next(line for line in lines if f"Row {row}" in line) for row in (41, 42)}
    forty = next(line for line in lines if "Row 40, going" in line)
    assert "Remember: move the comb." in forty
    assert "Remember: look at the sail." in told[41]
    assert "Remember" not in told[42]
    assert kept(boat).laying == laying_of(load(boat))
