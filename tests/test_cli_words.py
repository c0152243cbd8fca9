"""`row-caller words`: what is said for the commands, tried by the program's own voices."""

import json

import numpy as np
import pytest
import soundfile
import sounds
from click.testing import CliRunner

from caller.calling.commands import PHRASES, Command
from caller.calling.listening import likeness
from caller.calling.listening.everyday import EVERYDAY
from caller.calling.listening.likeness import bare
from caller.calling.ports import Verdict
from caller.cli import main
from caller.devices.storage import take_store
from caller.wiring import phrase_check
from caller.wiring.phrase_check import LANGUAGES, OFTEN, PhraseCheck, check_phrases


class Scripted:
    """Answers each sound with what its text is to be taken for."""

    def __init__(self, texts, taken):
        self._texts, self._taken = iter(texts), taken

    def recognise(self, _segment):
        return Verdict(self._taken.get(next(self._texts)))


@pytest.fixture
def silent(monkeypatch):
    """No sound is made; the texts alone are told."""
    texts = []

    def spoken(said):
        for _, kind, text in said:
            texts.append(text)
            yield text, kind, None

    monkeypatch.setattr(phrase_check, "_spoken", spoken)
    return texts


def checked(silent, taken, words):
    told = []
    silent.clear()
    recogniser = Scripted((), taken)
    recogniser.recognise = lambda _: Verdict(taken.get(silent[-1]))
    found = check_phrases(words, recogniser, lambda done, of: told.append((done, of)))
    assert told[-1][0] == told[-1][1] == len(silent)
    return {one.phrase: one for one in found}


WORDS = {"onward": Command.NEXT, "once more": Command.REPEAT}


def test_a_phrase_that_is_heard_and_set_off_by_nothing(silent):
    found = checked(silent, {phrase: phrase for phrase in WORDS}, WORDS)
    assert found["onward"] == PhraseCheck("onward", "next", len(LANGUAGES), len(LANGUAGES))
    assert found["onward"].trouble is None


def test_everyday_talk_that_is_the_phrase_itself_does_not_count(silent):
    assert "Once more." in EVERYDAY
    found = checked(silent, {"once more": "once more", "Once more.": "once more"}, WORDS)
    assert found["once more"].by_talk == ()


@pytest.mark.parametrize(
    ("taken", "said"),
    [
        ({"once more": "onward"}, "'once more' is taken for it"),
        ({"Same as the row before.": "onward"}, "The call's own 'Same as the row before.'"),
        ({"thirteen": "onward"}, "'thirteen' is taken for it"),
        (dict.fromkeys(EVERYDAY[:OFTEN], "onward"), "Talk sets it off, such as 'Hello.'"),
        ({}, "It is seldom heard"),
    ],
)
def test_what_is_wrong_with_a_phrase_is_a_sentence(silent, taken, said):
    found = checked(silent, taken, WORDS)
    assert said in found["onward"].trouble
    assert found["onward"].trouble.endswith(".")


def test_a_little_talk_is_told_and_no_trouble(silent):
    taken = {"onward": "onward", "Hello.": "onward"}
    assert checked(silent, taken, WORDS)["onward"].by_talk == ("Hello.",)
    assert checked(silent, taken, WORDS)["onward"].trouble is None


@pytest.mark.slow
def test_words_of_the_settings_are_tried_for_real(tmp_path, monkeypatch):
    """A good phrase is heard, one that was taught for another command is told of, and what is
    troubled decides the exit code; few others are tried."""
    settings = tmp_path / "settings.toml"
    settings.write_text(
        '[words]\nnext = ["move along"]\nback = ["one before"]\nhelp = ["help me please"]\n'
    )
    monkeypatch.setenv("CALLER_SETTINGS", str(settings))
    monkeypatch.setenv("CALLER_OWN_VOICE", str(tmp_path / "own-voice"))
    monkeypatch.setattr(phrase_check, "EVERYDAY", EVERYDAY[:4])
    said = likeness.said()
    few = said._replace(names=said.names[:2], numbers=said.numbers[:2], rows=said.rows[:2])
    monkeypatch.setattr(likeness, "said", lambda *_: few)
    takes = [sounds.say("one before", "en-us", 130 + 5 * number) for number in range(3)]
    take_store.keep(Command.NEXT, [sounds.apart([take], 0.3) for take in takes])
    ran = CliRunner().invoke(main, ["words", "--json"])
    found = {one["phrase"]: one for one in json.loads(ran.stdout)}
    assert list(found) == ["move along", "one before", "help me please"]
    assert found["help me please"]["heard"] >= 2
    assert found["help me please"]["trouble"] is None
    assert found["one before"]["by_taught"] == ["next"]
    assert found["one before"]["trouble"].startswith("What you taught for next is understood as ")
    assert ran.exit_code == 1


def test_everyday_sentences_hold_no_command():
    said = {bare(text) for text in EVERYDAY}
    assert not said & set(PHRASES)
    assert len(said) == len(EVERYDAY)


@pytest.mark.parametrize("command", [["words"], ["hear", "{recording}"]])
def test_words_that_sound_alike_are_refused_before_they_are_used(command, tmp_path, monkeypatch):
    settings = tmp_path / "settings.toml"
    settings.write_text('[words]\nnext = ["move to row"]\nback = ["move two rows"]\n')
    monkeypatch.setenv("CALLER_SETTINGS", str(settings))
    monkeypatch.setenv("CALLER_OWN_VOICE", str(tmp_path / "own-voice"))
    recording = tmp_path / "recording.wav"
    soundfile.write(recording, np.zeros(1_600), 16_000)
    ran = CliRunner().invoke(main, [part.format(recording=recording) for part in command])
    assert ran.exit_code == 2
    assert "The words 'move two rows' cannot be used for a command: that sounds like" in ran.stderr
    assert "Traceback" not in ran.output
