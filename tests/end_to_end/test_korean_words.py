"""A whole session that is spoken to in Korean: settings file, Vosk's model, sound in, rows out."""

import queue
from pathlib import Path

import pytest
import sounds
from korean import SETTINGS, WORDS, model_folder
from running import Running

from caller.calling.listening.loading import READY, STILL_LOADING
from caller.calling.ports import SoundBlock, silence
from caller.devices.sound.sound_files import write_wav

pytestmark = [pytest.mark.sound, pytest.mark.slow]

DEMO = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"


@pytest.fixture
def sitting(virtual_sound, tmp_path):
    settings = tmp_path / "settings.toml"
    settings.write_text(SETTINGS, encoding="utf-8")
    env = {**virtual_sound.env, "CALLER_SETTINGS": str(settings)}
    options = ("--row", 2, "--voice", "espeak", "--place", tmp_path / "boat.place", "--rate", 350)
    model = ("--recogniser", "vosk", "--model", model_folder())
    with Running(env, "knit", DEMO, *options, *model) as opened:
        yield opened


def spoken_to(sound, sitting, words, folder):
    """Say the words, again when nothing happens, as a knitter would; the row that answers.

    They are not heard while the caller speaks, nor before the model is loaded.
    """
    path = folder / "said.wav"
    word = SoundBlock(sounds.say(words, "ko", 130), sounds.RATE)
    write_wav(path, [silence(0.6, sounds.RATE), word, silence(0.8, sounds.RATE)])
    for _ in range(15):
        sound.speak(path)
        try:
            while "Row " not in (line := sitting.next_line(4)):
                pass
            return line
        except queue.Empty:
            continue
    raise AssertionError(f"{words!r} was not heard; {sitting.told}")


def test_korean_words_move_the_rows(virtual_sound, sitting, tmp_path):
    assert sitting.until("Row 2, ")
    for command, row in [("next", 3), ("repeat", 3), ("back", 2)]:
        line = spoken_to(virtual_sound, sitting, WORDS[command], tmp_path)
        assert line.startswith(f"Row {row}, "), (command, sitting.told)
    assert sitting.leave() == ""
    assert any("Stopping at row 2" in line for line in sitting.told)
    assert sitting.told.count(STILL_LOADING.sentence) == sitting.told.count(READY.sentence)


def test_the_first_row_does_not_wait_for_the_model_and_leaving_is_quiet(sitting):
    """It is called while the model is loading; leaving then waits for the library and no more."""
    assert sitting.until("Row 2, ")
    assert sitting.leave() == ""
    assert any("Stopping at row 2" in line for line in sitting.told)
    assert READY.sentence not in sitting.told
