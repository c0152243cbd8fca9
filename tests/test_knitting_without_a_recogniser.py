"""A session whose ears or pedals are not there: it is said, nothing is cut, and the help knows."""

import contextlib
import importlib
import signal
import time

import pytest
from click.testing import CliRunner
from silent_voice import SilentVoice

from caller import leaving
from caller.calling.commands import BY_NAME
from caller.calling.ports import Loudspeaker
from caller.cli import main
from caller.devices.sound.silent import SilentLoudspeaker
from caller.errors import ListeningError, SoundError
from caller.wiring import closing, listening, session, voices
from caller.wiring.recognisers import RecogniserChoice

knit_command = importlib.import_module("caller.cli.knit")
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
    monkeypatch.setattr(session, "open_voice", lambda _settings, _tell: voice)
    CountsCuts.cuts = 0
    loudspeaker: Loudspeaker = CountsCuts(keep=True)
    monkeypatch.setattr(voices, "open_loudspeaker", lambda *_a, **_k: loudspeaker)
    return voice


def knit(tmp_path, *options, typed="help\nleave\n"):
    place = str(tmp_path / "a.place")
    return CliRunner().invoke(main, ["knit", DEMO, "--place", place, *options], input=typed)


def test_a_control_c_that_was_dropped_while_it_started_ends_it(voice, tmp_path):
    """As Python drops what a signal raises in a callback."""
    with contextlib.suppress(KeyboardInterrupt):
        leaving.stop(signal.SIGINT, None)
    done = knit(tmp_path, "--no-listen")
    assert done.exit_code == 130
    assert "Row 1" not in done.output
    assert "Row 1" in knit(tmp_path, "--no-listen").output, "and it ends one session only"


def test_what_is_slow_to_draw_is_shown_before_it_ends(voice, monkeypatch, tmp_path):
    """Longer than devices may take to close, as the first large row does on a busy machine."""

    def slowly(_drawing):
        time.sleep(closing.LONGEST_S + 0.5)

    monkeypatch.setattr(knit_command, "show_drawing", slowly)
    done = knit(tmp_path, "--no-listen", "--large", typed="leave\n")
    assert done.output.endswith("Your place is kept.\n")


def test_without_a_microphone_it_is_said_and_the_help_tells_no_words(voice, monkeypatch, tmp_path):
    def none(_name):
        raise SoundError("No microphone was found, so spoken commands are off.")

    monkeypatch.setattr(listening, "open_microphone", none)
    done = knit(tmp_path)
    assert done.exit_code == 0, done.output
    assert "No microphone was found" in done.output
    assert any("No microphone was found" in said for said in voice.said)
    assert "or say" not in done.output


def test_listening_while_speaking_without_its_library_still_listens(voice, monkeypatch, tmp_path):
    def missing(*_args):
        raise ListeningError("Hearing you during the call needs another library.")

    opened = []
    monkeypatch.setattr(
        listening, "open_microphone", lambda name: opened.append(name) or QuietMicrophone()
    )
    monkeypatch.setattr(listening, "open_canceller", missing)
    done = knit(tmp_path, "--listen-while-speaking", "--recogniser", "pocketsphinx")
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


def test_a_loudspeaker_that_is_not_there_leaves_the_usual_one(voice, monkeypatch, tmp_path):
    usual = voices.open_loudspeaker

    def opened(rate, name, *rest):
        if name == "Boom box":
            raise SoundError("There is no loudspeaker 'Boom box'.")
        return usual(rate, name, *rest)

    monkeypatch.setattr(voices, "open_loudspeaker", opened)
    done = knit(tmp_path, "--no-listen", "--loudspeaker", "Boom box")
    assert "There is no loudspeaker 'Boom box'. The usual one is used." in voice.said
    assert done.exit_code == 0


def test_a_microphone_that_is_not_there_leaves_the_usual_one(voice, monkeypatch, tmp_path):
    opened = []

    def microphone(name):
        opened.append(name)
        if name is not None:
            raise SoundError("There is no microphone 'Boom box'.")
        return QuietMicrophone()

    monkeypatch.setattr(listening, "open_microphone", microphone)
    done = knit(tmp_path, "--recogniser", "pocketsphinx", "--microphone", "Boom box")
    assert opened == ["Boom box", None]
    assert "There is no microphone 'Boom box'. The usual one is tried." in voice.said
    assert 'or say "next row"' in done.output


def test_what_was_not_taught_is_told(voice, monkeypatch, tmp_path):
    monkeypatch.setattr(listening, "open_microphone", lambda _name: QuietMicrophone())
    words = {"next": BY_NAME["next"], "repeat": BY_NAME["repeat"]}
    choice = RecogniserChoice("own", {}, lambda: None, taught=words)
    monkeypatch.setattr(session, "choose_recogniser", lambda *_: choice)
    done = knit(tmp_path)
    assert "Not taught, so by keys and pedals only: back, where." in voice.said
    assert done.output.count("or say what you taught for it") == 2
