"""A whole session that is spoken to in Korean: settings file, Vosk's model, sound in, rows out."""

import queue
import subprocess
import sys
import threading
from pathlib import Path

import pytest
import sounds
from korean import SETTINGS, WORDS, model_folder

from caller.calling.listening.loading import READY, STILL_LOADING
from caller.calling.ports import SoundBlock, silence
from caller.devices.sound.sound_files import write_wav

pytestmark = [pytest.mark.sound, pytest.mark.slow]

DEMO = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"


class Sitting:
    """`caller knit` with Korean words from row 2 on, and the rows that it shows."""

    def __init__(self, sound, folder):
        settings = folder / "settings.toml"
        settings.write_text(SETTINGS, encoding="utf-8")
        self.process = subprocess.Popen(
            [
                *(
                    sys.executable,
                    "-m",
                    "caller",
                    "knit",
                    str(DEMO),
                    "--row",
                    "2",
                    "--voice",
                    "espeak",
                ),
                *("--place", str(folder / "boat.place"), "--rate", "350"),
                *("--recogniser", "vosk", "--model", str(model_folder())),
            ],
            env={**sound.env, "CALLER_SETTINGS": str(settings), "PYTHONUTF8": "1"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )
        self.shown = []
        self.rows = queue.Queue()
        self.reader = threading.Thread(target=self._read)
        self.reader.start()

    def _read(self):
        for line in self.process.stdout:
            self.shown.append(line.strip())
            if "Row " in line:  # the first one comes after a greeting
                self.rows.put(line)

    def leave(self):
        """Leave; what was written on standard error."""
        self.process.stdin.write("leave\n")
        self.process.stdin.close()
        assert self.process.wait(60) == 0
        self.reader.join(10)
        return self.process.stderr.read()

    def end(self):
        self.process.kill()
        self.process.wait()
        self.reader.join()


@pytest.fixture
def sitting(virtual_sound, tmp_path):
    opened = Sitting(virtual_sound, tmp_path)
    yield opened
    opened.end()


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
            return sitting.rows.get(timeout=4)
        except queue.Empty:
            continue
    raise AssertionError(f"{words!r} was not heard; {sitting.shown}")


def test_korean_words_move_the_rows(virtual_sound, sitting, tmp_path):
    assert "Row 2, " in sitting.rows.get(timeout=60)
    for command, row in [("next", 3), ("repeat", 3), ("back", 2)]:
        line = spoken_to(virtual_sound, sitting, WORDS[command], tmp_path)
        assert line.startswith(f"Row {row}, "), (command, sitting.shown)
    assert sitting.leave() == ""
    assert any("Stopping at row 2" in line for line in sitting.shown)
    assert sitting.shown.count(STILL_LOADING.sentence) == sitting.shown.count(READY.sentence)


def test_the_first_row_does_not_wait_for_the_model_and_leaving_is_quiet(sitting):
    """It is called while the model is loading; leaving then waits for the library and no more."""
    assert "Row 2, " in sitting.rows.get(timeout=60)
    assert sitting.leave() == ""
    assert any("Stopping at row 2" in line for line in sitting.shown)
    assert READY.sentence not in sitting.shown
