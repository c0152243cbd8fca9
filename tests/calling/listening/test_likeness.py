"""Own words that cannot be told from others, a call or talk are refused by their sounds."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_pieces import HALVES

from caller.calling.commands import WORDS, Command
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.listening.likeness import bare, check, said
from caller.calling.listening.stretches import Stretches, distance, near
from caller.devices.recognisers.pronunciations import pronounce_by
from caller.errors import SettingError
from caller.pattern.pattern import Reminder
from caller.pattern.yarns import Yarn

TEXTS = st.text(alphabet="abcd", max_size=8)


def checked(words, pattern=None):
    texts = said(pattern)
    check(words, texts, pronounce_by([*words, *texts.texts, *map(bare, EVERYDAY)]))


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ({"move to row": Command.NEXT, "move two rows": Command.BACK}, "sounds like 'move to row'"),
        ({"the next pair": Command.NEXT, "the next pear": Command.BACK}, "'the next pair'"),
        ({"dark read": Command.NEXT}, "sounds like 'dark red'"),
        ({"thirty": Command.NEXT}, "sounds like 'thirty', which the caller itself says"),
        ({"to the write": Command.NEXT}, "sounds like 'to the right'"),
        ({"silver": Command.NEXT}, "sounds like 'silver', as the call names a yarn"),
        ({"left": Command.NEXT}, "sounds like 'left'"),
        ({"knew ivory": Command.NEXT}, "sounds like 'new ivory'"),
        ({"waiting hat": Command.NEXT}, "sounds like 'waiting at'"),
        ({"this is the last row": Command.NEXT}, "sounds like 'this is the last row'"),
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
        {
            "next please": Command.NEXT,
            "say that once more": Command.REPEAT,
            "tea time": Command.LEAVE,
        },
        {"next": Command.NEXT, "again": Command.REPEAT, "back": Command.BACK},
        {
            "forward": Command.NEXT,
            "carry on knitting": Command.LISTEN,
            "onward please": Command.BACK,
        },
        {"weiter": Command.NEXT, "step back": Command.BACK, "row please": Command.WHERE},
        {"forward now": Command.NEXT, "once more": Command.REPEAT, "one before": Command.BACK},
        {"move to row": Command.NEXT, "move two rows": Command.NEXT},
        {"weiter bitte": Command.NEXT, "noch einmal": Command.REPEAT, "zurück": Command.BACK},
        {"다음 순서": Command.NEXT, "다시 말해": Command.REPEAT, "뒤로 가": Command.BACK},
    ],
)
def test_good_words_are_let_through(words):
    checked(words)


@pytest.mark.parametrize(
    "phrase",
    [
        *("after the pass", "waiting at", "bobbin two", "bobbin nineteen", "new ivory", "ivory"),
        *("same as the row before", "row goes on", "going left", "take up", "cut silver"),
        *("through row twelve", "carriage on the right", "ends hang", "how long it takes"),
    ],
)
def test_no_stretch_of_what_the_caller_says_is_a_command(phrase):
    with pytest.raises(SettingError, match=f"sounds like '{phrase}', "):
        checked({phrase: Command.NEXT})


def test_what_the_pattern_says_is_heard_too():
    yarns = (Yarn("kingfisher", "#1b6a9a"), Yarn("ivory", "#f4efe0"))
    reminders = (Reminder(2, "turn the lamp"),)
    pattern = replace(HALVES, title="The old pier", yarns=yarns, reminders=reminders)
    for phrase in ("kingfisher", "new kingfisher", "old pier", "turn the lamp"):
        checked({phrase: Command.NEXT})
        with pytest.raises(SettingError, match=f"sounds like '{phrase}', "):
            checked({phrase: Command.NEXT}, pattern)


WORD = st.sampled_from(["a", "ab", "bab", "abba", "baab", "aabab"])
TEXT = st.lists(WORD, min_size=1, max_size=6).map(" ".join)


@given(st.lists(TEXT, min_size=1, max_size=3), TEXT)
def test_a_stretch_is_found_where_comparing_every_run_of_words_finds_one(texts, phrase):
    """The alignment against Levenshtein's distance to each run of words of each text."""
    sentences = [text.split() for text in texts]
    runs = [
        "".join(words[first:last])
        for words in sentences
        for first in range(len(words))
        for last in range(first + 1, len(words) + 1)
    ]
    found = Stretches(texts, ["navy"], tuple).nearest(phrase, 0.2)
    assert (found is not None) == any(near(phrase.replace(" ", ""), run, 0.2) for run in runs)
    assert found is None or found.replace(" ", "") in runs


def test_names_and_numbers_stand_for_one_another_and_sentences_end():
    texts = Stretches(["Cut navy, at left ten. Row one."], ["navy", "dark red"], tuple)
    assert texts.nearest("cut dark red at left one hundred and six", 0.2) == (
        "cut dark red at left one hundred and six"
    )
    assert texts.nearest("left row", 0.2) is None
    assert texts.nearest("ten row one", 0.2) is None


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
