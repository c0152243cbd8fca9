"""A recording put to the program as a knitter would, whatever the recorder wrote."""

import json
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
import soundfile
import sounds
from click.testing import CliRunner

from caller.calling.commands import PHRASES, from_phrase
from caller.calling.listening.blocks import RATE
from caller.calling.words.utterance import said as said_words
from caller.cli import hear, main
from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser
from caller.devices.sound.resample import resampled
from caller.wiring import hearing
from caller.wiring.recognisers import RecogniserChoice

# PocketSphinx does not know "bobbin is filled" from espeak's mouth; the English model does.
HEARD = tuple(phrase for phrase in PHRASES if phrase != "bobbin is filled")


FEW = HEARD[:6]


@pytest.fixture(scope="module")
def pocketsphinx():
    return PocketSphinxRecogniser(PHRASES)


@pytest.fixture
def at_hand(monkeypatch, pocketsphinx):
    """One recogniser in this process for all recordings, where its own process is not the matter.

    What is heard does not hang on what was heard before: tests/contracts/test_recognisers.py.
    """
    one = SimpleNamespace(
        name=pocketsphinx.name, recognise=pocketsphinx.recognise, close=lambda: None
    )
    monkeypatch.setattr(RecogniserChoice, "open_apart", lambda _choice: one)


def heard(path: Path) -> list[dict]:
    result = CliRunner().invoke(main, ["hear", str(path), "--recogniser", "pocketsphinx", "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.mark.parametrize(
    ("rate", "channels", "kind"),
    [
        (8_000, 1, "PCM_16"),
        (16_000, 1, "PCM_16"),
        (44_100, 2, "PCM_16"),
        (48_000, 2, "FLOAT"),
        (16_000, 1, "PCM_U8"),
        (48_000, 1, "PCM_24"),
    ],
)
def test_the_same_commands_from_every_kind_of_wav(at_hand, tmp_path, rate, channels, kind):
    path = tmp_path / "said.wav"
    phrases = HEARD if kind == "PCM_16" and rate == RATE else FEW
    spoken = [
        word for phrase, word in zip(HEARD, sounds.spoken(HEARD), strict=True) if phrase in phrases
    ]
    sound = resampled(sounds.apart(spoken), RATE, rate) / 32768
    soundfile.write(path, np.repeat(sound[:, None], channels, axis=1), rate, subtype=kind)
    found = heard(path)
    assert {one["engine"] for one in found} == {"pocketsphinx"}
    words = [len(word) / RATE + 0.8 for word in spoken]
    begun = dict(zip(phrases, np.cumsum([0.8, *words])[:-1], strict=True))
    if rate == 8_000:  # half the sound is missing: one may not be heard, none for another
        there = {one["command"] for one in found}
        begun = {words: at_s for words, at_s in begun.items() if from_phrase(words).value in there}
        assert len(begun) >= len(phrases) - 1
    assert [one["command"] for one in found] == [from_phrase(phrase).value for phrase in begun]
    assert [one["at_s"] for one in found] == pytest.approx(list(begun.values()), abs=0.15)


def test_a_recording_without_a_command_says_so(tmp_path):
    path = tmp_path / "quiet.wav"
    soundfile.write(path, sounds.quiet(3), RATE)
    assert heard(path) == []
    told = CliRunner().invoke(main, ["hear", str(path), "--recogniser", "pocketsphinx"])
    assert told.stdout == "No command was heard.\n"


def test_what_was_heard_is_said_when_asked(at_hand, tmp_path, monkeypatch):
    """The voice and the loudspeaker are the session's, tested there; here what they are given."""
    told = []
    monkeypatch.setattr(hearing, "say", lambda utterance, *_: told.append(said_words(utterance)))
    path = tmp_path / "said.wav"
    soundfile.write(path, sounds.apart(sounds.spoken(PHRASES[:1])), RATE)
    asked = ["hear", str(path), "--recogniser", "pocketsphinx"]
    assert CliRunner().invoke(main, asked).exit_code == 0
    assert told == []
    assert "next" in CliRunner().invoke(main, [*asked, "--aloud"]).stdout
    soundfile.write(path, sounds.quiet(3), RATE)
    assert CliRunner().invoke(main, [*asked, "--aloud"]).exit_code == 0
    assert told == ["next row.", "No command was heard."]


def test_a_long_recording_shows_how_far_it_has_been_listened_to(at_hand, tmp_path, monkeypatch):
    """Three pieces of a file; the bar goes on with each, and the lines of JSON stay alone."""
    path = tmp_path / "evening.wav"
    soundfile.write(path, sounds.quiet(40), RATE)
    lengths = []

    class Bar:
        pos = 0

        def __enter__(self):
            return self

        def __exit__(self, *_):
            pass

        def update(self, steps: int):
            self.pos += steps
            lengths.append(self.pos)

    monkeypatch.setattr(hear, "progress", lambda *_: Bar())
    assert heard(path) == []
    assert lengths == sorted(lengths)
    assert len(lengths) == 3
    assert lengths[-1] == 1000
