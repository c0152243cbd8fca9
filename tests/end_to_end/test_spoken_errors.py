"""What stands in the way of `caller knit` is said aloud, on the virtual sound server."""

import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import scipy
from child_env import WITHOUT_SOUND
from virtual_sound import RATE, VirtualSound

from caller.calling.signals import Signal
from caller.calling.speech import signalled
from caller.calling.words.utterance import RUN_PAUSE_S, Clause
from caller.devices.voices.espeak import EspeakVoice

DEMO = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"


PIECE_S = 0.3


def run(env: dict[str, str], *arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "caller", *map(str, arguments)],
        env=env,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
    )


def heard(sound: VirtualSound, *arguments: object, **env: str):
    """What the command prints, and what sounds meanwhile."""
    with sound.recording() as recording:
        done = run({**sound.env, **env}, *arguments)
        time.sleep(0.5)
        return done, recording.samples.astype(float)


def words(*sentences: str) -> np.ndarray:
    """The sound of trouble and these sentences, by espeak."""
    voice = EspeakVoice()
    clauses = tuple(Clause(text, text, 2 * RUN_PAUSE_S) for text in sentences)
    blocks = signalled(voice, clauses, lambda _: None, (Signal.TROUBLE,))
    samples = np.concatenate([block.samples for block in blocks]).astype(float)
    return scipy.signal.resample_poly(samples, RATE, voice.rate)


def likeness(recorded: np.ndarray, said: np.ndarray) -> float:
    """How like the recording is to each piece of this sound, wherever it is most like it.

    1 is the same. Short pieces and their median, so that a busy machine that drops some sound
    does not matter.
    """
    found, length = [], int(PIECE_S * RATE)
    energy = scipy.signal.fftconvolve(recorded**2, np.ones(length), "valid")
    for piece in np.split(said, range(length, len(said), length))[:-1]:
        if np.abs(piece).max() < 300:
            continue
        matched = scipy.signal.fftconvolve(recorded, piece[::-1], "valid")
        found.append(np.max(matched / np.sqrt(np.maximum(energy, 1) * (piece**2).sum())))
    return float(np.median(found))


@pytest.mark.sound
def test_a_pattern_that_is_not_there(virtual_sound):
    path = Path("there-is-none.toml")
    done, recorded = heard(virtual_sound, "knit", path, "--voice", "espeak")
    assert done.returncode == 2
    assert done.stderr.endswith(f"caller: There is no pattern file {path}; check the name.\n")
    # Finding and remedy, each a breath; other words are told apart.
    assert likeness(recorded, words(f"There is no pattern file {path}", "check the name.")) > 0.6
    assert (
        likeness(recorded, words("Row number nine, going left. Navy, as far as right seven.")) < 0.5
    )


@pytest.mark.sound
def test_a_row_that_is_not_there_at_a_loudspeaker_that_is_not(virtual_sound):
    options = ("--row", 9999, "--voice", "espeak", "--loudspeaker", "nowhere")
    done, recorded = heard(virtual_sound, "knit", DEMO, *options)
    assert done.returncode == 2
    assert "caller: There is no row 9999" in done.stderr
    # The usual loudspeaker speaks, and the usual voice with it, whichever that is.
    assert (np.abs(recorded) > 300).sum() > RATE
    assert done.stdout == ""
    assert "nowhere" not in done.stderr


@pytest.mark.sound
@pytest.mark.parametrize(
    ("text", "told"),
    [("[options\n", "is not valid TOML"), ('[options]\nwording = "lomg"\n', "lomg")],
)
def test_damaged_settings(virtual_sound, tmp_path, text, told):
    settings = tmp_path / "settings.toml"
    settings.write_text(text)
    quiet = ("--no-listen", "--place", tmp_path / "boat.place", "--voice", "espeak")
    done, recorded = heard(virtual_sound, "knit", DEMO, *quiet, CALLER_SETTINGS=str(settings))
    assert done.returncode == 0, "the evening goes on without them"
    assert told in done.stdout
    assert (np.abs(recorded) > 300).sum() > RATE


@pytest.mark.sound
def test_other_commands_are_silent(virtual_sound, tmp_path):
    done, recorded = heard(virtual_sound, "rows", tmp_path / "boat.toml")
    assert done.returncode == 2
    assert not recorded.any()


def test_without_sound_nothing_is_new(tmp_path):
    path = tmp_path / "boat.toml"
    path.write_text("version = 1\ntitle =\n")
    quiet, told = run(WITHOUT_SOUND, "rows", path), run(WITHOUT_SOUND, "knit", path)
    assert quiet.returncode == told.returncode == 2
    assert told.stderr == quiet.stderr
    assert told.stderr.count("\n") == 1
    assert told.stdout == ""
    assert [file.name for file in tmp_path.iterdir()] == ["boat.toml"]
