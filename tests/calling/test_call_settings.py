"""What can be chosen about the call, and what cannot."""

from dataclasses import FrozenInstanceError

import pytest

from caller.errors import SettingError
from caller.settings import CallSettings


def test_the_call_as_usual():
    usual = CallSettings()
    assert (usual.wording, usual.runs_at_once, usual.numbers) == ("short", 4, "checked")
    with pytest.raises(FrozenInstanceError):
        usual.wording = "full"  # type: ignore[misc]


@pytest.mark.parametrize(
    "chosen",
    [
        {"wording": "full", "runs_at_once": 1, "pause_s": 0, "numbers": "digits"},
        {"wording": "changes", "pause_s": 10, "numbers": "checked", "check_every_rows": 1000},
        {"runs_at_once": 200, "follow": True, "crossings": True, "signals": "off"},
    ],
)
def test_what_can_be_chosen(chosen):
    made = CallSettings(**chosen)
    assert all(getattr(made, name) == value for name, value in chosen.items())


@pytest.mark.parametrize(
    ("chosen", "sentence"),
    [
        ({"wording": "long"}, "The wording 'long' is not known; it is one of short, full, changes"),
        ({"numbers": "roman"}, "words, digits, checked"),
        ({"signals": "loud"}, "off, commands, all"),
        ({"runs_at_once": -1}, "from 0 to 200"),
        ({"runs_at_once": 201}, "from 0 to 200"),
        ({"runs_at_once": 1.5}, "from 0 to 200"),
        ({"runs_at_once": True}, "from 0 to 200"),
        ({"pause_s": -0.1}, "from 0 to 10"),
        ({"pause_s": 10.5}, "from 0 to 10"),
        ({"pause_s": float("nan")}, "from 0 to 10"),
        ({"check_every_rows": -1}, "from 0 to 1000"),
        ({"check_every_rows": 1001}, "from 0 to 1000"),
    ],
)
def test_what_cannot_be_chosen(chosen, sentence):
    with pytest.raises(SettingError, match=sentence) as caught:
        CallSettings(**chosen)
    assert str(caught.value).endswith(".")
