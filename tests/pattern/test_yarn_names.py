"""What a yarn and a pattern may be called, since their names are said."""

from pathlib import Path

import numpy as np
import pytest

from caller.errors import ChartError, SettingError, YarnError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.storage.pattern_file import title_of
from caller.pattern.yarns import LONGEST_NAME, Yarn
from caller.plain_text import LONGEST_REMINDER, LONGEST_TITLE


@pytest.mark.parametrize(
    "name", ["left", "Right", "left over", "navy to LEFT five", "needle-green"]
)
def test_a_name_that_would_be_heard_as_a_needle(name):
    with pytest.raises(YarnError, match="would be heard as a needle; choose another name"):
        Yarn(name, "#1b2a4a")


@pytest.mark.parametrize("name", ["new blue", "Bobbin", "rust, waiting"])
def test_a_name_that_would_be_heard_as_an_end(name):
    with pytest.raises(YarnError, match="would be heard as an end; choose another name"):
        Yarn(name, "#1b2a4a")


@pytest.mark.parametrize(
    "name", ["renewed", "bright", "leftover", "Wright's blue", "next", "links", "針", "ναυτικό"]
)
def test_names_of_any_language_are_kept_as_written(name):
    assert Yarn(name, "#1b2a4a").name == name


FLAG = Chart(np.array([[0, 1], [1, 0]], dtype=np.uint8))


def flag(title="A flag", names=("navy", "ivory"), reminders=()):
    yarns = (Yarn(names[0], "#1b2a4a"), Yarn(names[1], "#f4efe0"))
    return Pattern(title, FLAG, yarns, reminders=reminders)


def test_names_are_kept_as_plain_text():
    made = flag(
        "A\x1b[2J\nflag\u202e", ("na\u200bvy", "ivory\r\n"), (Reminder(1, "weights\x07 up"),)
    )
    assert made.title == "A [2J flag"
    assert [yarn.name for yarn in made.yarns] == ["navy", "ivory"]
    assert made.reminders_at(1) == ("weights up",)
    assert flag("\u202e\n").title == "A pattern"


def test_names_that_only_look_different_to_a_program():
    with pytest.raises(YarnError, match="both called 'navy'"):
        flag(names=("navy", "na\u200bvy"))
    with pytest.raises(YarnError, match="no letter to say"):
        Yarn("\u3164\u200b", "#1b2a4a")


def test_the_longest_that_is_said():
    assert flag("t" * LONGEST_TITLE, ("n" * LONGEST_NAME, "ivory"), (Reminder(1, "s" * 200),))
    with pytest.raises(SettingError, match="81 letters; it is said aloud, so shorten it to 80"):
        flag("t" * (LONGEST_TITLE + 1))
    with pytest.raises(YarnError, match="may have at most 40"):
        Yarn("n" * (LONGEST_NAME + 1), "#1b2a4a")
    with pytest.raises(ChartError, match="of row 3 has 201 letters; shorten it to 200"):
        Reminder(3, "s" * (LONGEST_REMINDER + 1))


def test_the_title_of_a_picture_is_never_too_long():
    title = title_of(Path("sailing-" * 30 + ".png"))
    assert len(title) == LONGEST_TITLE
    assert title.startswith("Sailing sailing")
    assert title.endswith("…")
