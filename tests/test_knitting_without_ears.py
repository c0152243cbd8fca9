"""A session whose ears or pedals are not there: it is said, nothing is cut, and the help knows."""

import pytest
from click.testing import CliRunner

from caller.calling.ports import Loudspeaker
from caller.cli import main
from caller.devices.stand_ins import SilentLoudspeaker, SilentVoice
from caller.errors import ListeningError, SoundError
from caller.wiring import knitting, speaking

DEMO = "demo_patterns/sailing-boat.toml"


class CountsCuts(SilentLoudspeaker):
    cuts = 0

    def play(self, blocks):
        type(self).cuts += 1
        super().play(blocks)


class QuietMicrophone:
    def blocks(self):
        yield from ()

    def close(self):
        pass


@pytest.fixture
def voice(monkeypatch):
    voice = SilentVoice()
    monkeypatch.setattr(knitting, "open_voice", lambda _settings: voice)
    CountsCuts.cuts = 0
    loudspeaker: Loudspeaker = CountsCuts(keep=True)
    monkeypatch.setattr(speaking, "open_loudspeaker", lambda *_a, **_k: loudspeaker)
    return voice


def knit(tmp_path, *options, typed="help\nleave\n"):
    place = str(tmp_path / "a.place")
    return CliRunner().invoke(main, ["knit", DEMO, "--place", place, *options], input=typed)


def test_without_a_microphone_it_is_said_and_the_help_tells_no_words(voice, monkeypatch, tmp_path):
    def none(_name):
        raise SoundError("No microphone was found, so spoken commands are off.")

    monkeypatch.setattr(knitting, "open_microphone", none)
    done = knit(tmp_path)
    assert done.exit_code == 0, done.output
    assert "No microphone was found" in done.output
    assert any("No microphone was found" in said for said in voice.said)
    assert "or say" not in done.output


def test_barge_in_without_its_library_still_listens(voice, monkeypatch, tmp_path):
    def missing(*_args):
        raise ListeningError("Hearing you during the call needs another library.")

    opened = []
    monkeypatch.setattr(
        knitting, "open_microphone", lambda name: opened.append(name) or QuietMicrophone()
    )
    monkeypatch.setattr(knitting, "open_canceller", missing)
    done = knit(tmp_path, "--barge-in", "--ear", "sphinx")
    assert done.exit_code == 0, done.output
    assert opened
    assert any("needs another library" in said for said in voice.said)
    assert 'or say "next row"' in done.output


def test_a_pedal_that_is_not_there_cuts_nothing(voice, monkeypatch, tmp_path):
    settings = tmp_path / "settings.toml"
    settings.write_text(
        f'[[pedals]]\nsource = "device"\ndevice = "{tmp_path}/no-pedal"\nkey = "f13"\n'
        'short = "next"\n'
    )
    monkeypatch.setenv("CALLER_SETTINGS", str(settings))
    knit(tmp_path, "--no-listen", typed="leave\n")
    assert CountsCuts.cuts == 1  # the leaving alone
