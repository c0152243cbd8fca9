"""What the caller says is among the texts that own words are compared with."""

from dataclasses import replace
from itertools import chain, groupby
from pathlib import Path

import pytest
from small_pieces import HALVES
from test_sentences import TABLE, WORDS

from caller.calling.call_texts import call_texts, names_of
from caller.calling.listening.stretches import Stretches
from caller.calling.place import Place
from caller.calling.words.row_call import call, setting_up_call
from caller.calling.words.utterance import said
from caller.pattern.pattern import Reminder
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

DEMOS = sorted((Path(__file__).parents[2] / "demo_patterns").glob("*.toml"))
SIDES = {("right ",): ("left ",)}


def threes(texts, names):
    """Every three neighbouring words in a sentence; a name and a number is one, and so is a number
    that is checked; the sides are not told apart."""
    stretches = Stretches((), names, lambda text: (f"{text.casefold()} ",))
    found = set()
    for text in texts:
        for part in text.replace(".", ";").replace(":", ";").replace("?", ";").split(";"):
            words = [SIDES.get(word.sounds, word.sounds) for word in stretches.words(part)]
            words = [word for word, _ in groupby(words)]
            found |= {
                "".join(chain(*three)) for three in zip(words, words[1:], words[2:], strict=False)
            }
    return found


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_calls_of_every_demo_are_among_them(path):
    pattern, called = load(path), []
    for wording in ("short", "full", "changes"):
        settings = CallSettings(wording=wording, numbers="words", crossings=True)
        called += setting_up_call(pattern, settings)
        for row in range(1, pattern.script.rows + 1, 3):
            called += call(pattern, settings, Place(row))
    names = names_of(pattern)
    own = [f"Remember: {one.say}" for one in pattern.reminders]
    known = threes(chain(*call_texts(pattern), own), names)
    missing = threes((one.said for one in called), names) - known
    assert not missing


def test_the_plain_sentences_are_among_them():
    """All but the words for the commands, which are the knitter's, and remarks."""
    given = (*WORDS, "help me please", "check the ear", "mind the mast")
    texts = [said(utterance) for utterance, *_ in TABLE]
    for own in given:
        texts = [text.replace(own, ";").replace(own.capitalize(), ";") for text in texts]
    missing = threes(texts, names_of()) - threes(chain(*call_texts()), names_of())
    assert not missing - {"or press the ", "for help say ", "heard again say "}


def test_what_is_known_of_a_pattern_is_among_them():
    yarns = (Yarn("kingfisher", "#1b6a9a"), Yarn("ivory", "#f4efe0"))
    pattern = replace(
        HALVES, title="Old pier", yarns=yarns, reminders=(Reminder(2, "turn the lamp"),)
    )
    assert "kingfisher" in names_of(pattern)
    assert "kingfisher" not in names_of()
    own = set(call_texts(pattern).others) - set(call_texts().others)
    assert own == {"Old pier", "turn the lamp"}
