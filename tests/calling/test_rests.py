"""Reminders by the clock: told with the row after they fall due, once each time."""

import numpy as np
import pytest

from caller.calling import session
from caller.calling.commands import Command
from caller.calling.words.utterance import said
from caller.errors import SettingError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings, OwnReminder

CELLS = np.tile(np.array([0, 0, 1, 1], dtype=np.uint8), (40, 1))
PATTERN = Pattern("Stripes", Chart(CELLS), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))
REST = "Rest your hands and shoulders."


def told(settings, minutes, began_min=100):
    """What is said with a row that is moved to at each of these minutes after the beginning."""
    state = session.begin(PATTERN, settings, None, 160, 60 * began_min).state
    state = session.step(PATTERN, settings, state, Command.NEXT, 60 * began_min).state
    for minute in minutes:
        now_s = 60 * (began_min + minute)
        answer = session.step(PATTERN, settings, state, Command.NEXT, now_s)
        yield said(answer.say)
        state = answer.state


def test_hands_and_shoulders_rest_every_three_quarters_of_an_hour():
    minutes = [10, 44, 46, 47, 89, 91, 200, 201]
    resting = [REST in say for say in told(CallSettings(), minutes)]
    assert resting == [False, False, True, False, False, True, True, False]
    assert "Forty-six minutes at the machine." in list(told(CallSettings(), minutes))[2]


def test_a_rest_is_told_before_the_row_and_not_twice_in_it():
    (say,) = told(CallSettings(rest_minutes=20), [30])
    assert say.index(REST) < say.index("Row number two")
    settings = CallSettings(rest_minutes=20)
    state = session.begin(PATTERN, settings, None, 160).state
    state = session.step(PATTERN, settings, state, Command.NEXT, 0).state
    for order in (Command.REPEAT, Command.WHERE):
        answer = session.step(PATTERN, settings, state, order, 60 * 30)
        assert REST not in said(answer.say), "the hands lay a row"


def test_it_can_be_turned_off_and_others_be_added():
    settings = CallSettings(rest_minutes=0, every_minutes=((30, "drink something"),))
    says = list(told(settings, [29, 31, 61]))
    assert [("Remember: drink something." in say, REST in say) for say in says] == [
        (False, False),
        (True, False),
        (True, False),
    ]


@pytest.mark.parametrize(
    "times",
    [{}, {"row": 1, "every_rows": 2}, {"row": 0}, {"every_rows": 0}, {"every_minutes": 10**6}],
)
def test_a_reminder_has_one_time_that_can_be(times):
    with pytest.raises(SettingError):
        OwnReminder("weights", **times)
    with pytest.raises(SettingError):
        OwnReminder(" ", row=3)
