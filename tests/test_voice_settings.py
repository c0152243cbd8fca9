"""What can be chosen about the voice, what cannot, and that the choice is heard."""

import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from caller.cli import main
from caller.devices.sound.sound_files import read_sound
from caller.errors import SettingError
from caller.settings import VoiceSettings

DEMO = Path(__file__).parents[1] / "demo_patterns" / "sailing-boat.toml"


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def samples(path: Path, *options: object) -> np.ndarray:
    done = run("say", DEMO, "--row", 1, "--replace", "--out", path, *options)
    assert done.exit_code == 0, done.output
    return read_sound(path).samples.astype(float)


def pitch_hz(samples: np.ndarray) -> float:
    """The strongest repetition between 60 and 400 Hz, by autocorrelation (computed)."""
    rate = 22_050
    spectrum = np.abs(np.fft.rfft(samples, 2 * len(samples))) ** 2
    echo = np.fft.irfft(spectrum)[: rate // 60]
    shortest = rate // 400
    return rate / (shortest + int(np.argmax(echo[shortest:])))


@pytest.mark.parametrize(
    ("chosen", "sentence"),
    [
        ({"kind": "choir"}, "'choir' is not known; it is one of auto, piper, espeak, system"),
        ({"rate_wpm": 79}, "80 to 350"),
        ({"pitch": -1}, "A pitch of -1 cannot be used; give a whole number from 0 to 99"),
        ({"pitch": 100}, "0 to 99"),
        ({"pitch": 1.5}, "0 to 99"),
        ({"volume": -1}, "A volume of -1 percent cannot be used"),
        ({"volume": 201}, "0 to 200"),
        ({"kind": "system", "volume": 0}, "1 to 100"),
        ({"kind": "system", "volume": 101}, "1 to 100, or use --voice espeak"),
        ({"kind": "espeak", "file": Path("a.onnx")}, "leave --voice-file away, or use --voice pip"),
        ({"kind": "system", "file": Path("a.onnx")}, "The system voice is not in a file"),
        ({"file": Path("a.onnx"), "name": "a"}, "leave --voice-name away"),
        ({"kind": "piper", "name": "a"}, "leave --voice-name away"),
        ({"kind": "piper", "pitch": 60}, "leave --pitch away, or use --voice espeak"),
        ({"kind": "piper", "file": Path("a.onnx"), "volume": 101}, "1 to 100"),
        ({"kind": "system", "pitch": 60}, "leave --pitch away, or use --voice espeak"),
    ],
)
def test_what_cannot_be_chosen(chosen, sentence):
    with pytest.raises(SettingError, match=sentence) as caught:
        VoiceSettings(**chosen)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(
    "chosen",
    [
        {"pitch": 0, "volume": 0, "name": "de"},
        {"pitch": 99, "volume": 200},
        {"kind": "system", "volume": 1, "name": "German"},
        {"kind": "piper", "file": Path("a.onnx"), "volume": 50},
        {"kind": "piper"},
        {"file": Path("a.onnx")},
    ],
)
def test_what_can_be_chosen(chosen):
    made = VoiceSettings(**chosen)
    assert all(getattr(made, name) == value for name, value in chosen.items())


@pytest.mark.parametrize("command", ["say", "knit", "tracks"])
@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("--pitch", 100), "0 to 99"),
        (("--volume", -5), "0 to 200"),
        (("--voice", "system", "--pitch", 70), "pitch of its own"),
        (("--voice-name", "xx"), "does not speak 'xx'"),
        (("--voice", "system", "--voice-name", "Nobody"), "has no voice 'Nobody'"),
    ],
)
def test_the_commands_say_no(tmp_path, monkeypatch, command, options, sentence):
    monkeypatch.chdir(tmp_path)
    place = tmp_path / "a.place"
    more = {
        "say": ("--row", 1, "--out", "a.wav"),
        "knit": ("--no-listen", "--place", place),
        "tracks": ("-o", "tracks"),
    }
    done = run(command, DEMO, *more[command], *options)
    assert done.exit_code == 2
    assert sentence in done.stderr
    assert "Traceback" not in done.output
    assert not (tmp_path / "a.wav").exists()
    assert not (tmp_path / "tracks").exists()


def test_the_choice_is_heard(tmp_path):
    usual = samples(tmp_path / "usual.wav", "--voice", "espeak")
    loud, quiet = (
        samples(tmp_path / "a.wav", "--voice", "espeak", "--volume", volume) for volume in (150, 30)
    )
    assert np.abs(quiet).max() < 0.5 * np.abs(usual).max() < 0.5 * np.abs(loud).max()
    assert not samples(tmp_path / "none.wav", "--volume", 0).any()
    low, high = (samples(tmp_path / "b.wav", "--pitch", pitch) for pitch in (10, 90))
    # espeak-ng never speaks twice alike, and the estimate of the pitch moves by a tenth with it.
    assert pitch_hz(low) < 0.92 * pitch_hz(usual) < 0.92 * 0.92 * pitch_hz(high)
    german = samples(tmp_path / "c.wav", "--voice-name", "de")
    assert len(german) != len(usual)


def test_another_voice_of_the_system(tmp_path):
    usual = samples(tmp_path / "usual.wav", "--voice", "system")
    quiet = samples(tmp_path / "a.wav", "--voice", "system", "--volume", 30)
    assert np.abs(quiet).max() < 0.5 * np.abs(usual).max()
    names = run("say", "--list-voices").stdout.split("--voice system\n")[1].splitlines()
    other = samples(tmp_path / "b.wav", "--voice", "system", "--voice-name", names[-1].strip())
    assert len(other) != len(usual)


def test_the_voices_are_listed():
    listed = run("say", "--list-voices")
    assert listed.exit_code == 0
    piper, others = listed.stdout.split("--voice espeak\n")
    assert re.match(r"--voice auto is (piper|espeak): .+\.\n--voice piper\n  .+\n$", piper)
    espeak, system = others.split("--voice system\n")
    assert {"  en-us", "  en", "  de", "  fr"} <= set(espeak.splitlines())
    assert len(system.splitlines()) >= 1


def test_a_computer_without_a_voice_lists_what_there_is(monkeypatch):
    monkeypatch.setattr("caller.devices.voices.system.TIME_LIMIT_S", 0.0)
    listed = run("say", "--list-voices")
    assert listed.exit_code == 0
    assert "  en-us\n" in listed.stdout
    assert "The computer's own voice failed" in listed.stdout
