"""Own words that cannot be told from others, a call or talk are refused by their sounds."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.commands import WORDS, Command
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.listening.likeness import CALLED, bare, check, distance
from caller.devices.recognisers.pronunciations import pronounce_by
from caller.errors import SettingError

TEXTS = st.text(alphabet="abcd", max_size=8)


def checked(words):
    check(words, pronounce_by([*words, *CALLED, *map(bare, EVERYDAY)]))


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"move to row": Command.NEXT, "move two rows": Command.BACK}, "sounds like 'move to row'"),
        ({"the next pair": Command.NEXT, "the next pear": Command.BACK}, "'the next pair'"),
        ({"dark read": Command.NEXT}, "sounds like 'dark red'"),
        ({"thirty": Command.NEXT}, "sounds like 'thirty', which the call itself says"),
        ({"two the write": Command.NEXT}, "sounds like 'to the right'"),
        ({"oh": Command.NEXT}, "is too short"),
        ({"what was it": Command.REPEAT}, "like everyday talk, such as 'What is it?'"),
        ({"다음": Command.NEXT, "다은": Command.BACK}, "sounds like '다음'"),
    ],
)
def test_what_cannot_be_told_apart(words, why):
    with pytest.raises(SettingError) as refused:
        checked(words)
    assert why in refused.value.finding
    assert "choose other words" in refused.value.remedy


@pytest.mark.parametrize(
    "words",
    [
        WORDS,
        {"forward now": Command.NEXT, "once more": Command.REPEAT, "one before": Command.BACK},
        {"move to row": Command.NEXT, "move two rows": Command.NEXT},
        {"weiter bitte": Command.NEXT, "noch einmal": Command.REPEAT, "zurück": Command.BACK},
        {"다음 순서": Command.NEXT, "다시 말해": Command.REPEAT, "뒤로 가": Command.BACK},
    ],
)
def test_good_words_are_let_through(words):
    checked(words)


def test_the_sounds_are_those_of_the_dictionary():
    """CMUdict 0.7b: row R OW, rows R OW Z; a word that it lacks by its letters."""
    sounds = pronounce_by(["Rows", "xqzw", "reihe"])
    assert sounds("rows") == ("R", "OW", "Z")
    assert sounds("ROWS xqzw") == ("R", "OW", "Z", *"xqzw")


@given(TEXTS, TEXTS, TEXTS)
def test_the_distance_is_one(one, other, third):
    """Levenshtein's is a metric; kitten and sitting are three apart, the usual example."""
    assert distance("kitten", "sitting") == pytest.approx(3 / 7)
    assert distance(one, other) == distance(other, one)
    assert (distance(one, other) == 0) == (one == other)
    assert 0 <= distance(one, other) <= 1
    apart = [distance(a, b) * max(len(a), len(b), 1) for a, b in ((one, other), (other, third))]
    assert distance(one, third) * max(len(one), len(third), 1) <= sum(apart) + 1e-9
