"""A whole session that is spoken to in Korean: settings file, Vosk's model, sound in, rows out."""

import os
import queue
import subprocess
import sys
import threading
from pathlib import Path

import pytest
import sounds
from korean import SETTINGS, WORDS, model_folder

from caller.calling.ports import SoundBlock, silence
from caller.devices.sound_files import write_wav

pytestmark = [pytest.mark.sound, pytest.mark.slow]

DEMO = Path(__file__).parent.parent.parent / "demo_patterns" / "sailing-boat.toml"


@pytest.fixture
def sitting(virtual_sound, tmp_path):
    """`caller knit` with Korean words from row 2 on, and the lines that it shows."""
    settings = tmp_path / "settings.toml"
    settings.write_text(SETTINGS, encoding="utf-8")
    process = subprocess.Popen(
        [
            *(sys.executable, "-m", "caller", "knit", str(DEMO), "--row", "2"),
            *("--place", str(tmp_path / "boat.place"), "--rate", "350"),
            *("--ear", "vosk", "--model", str(model_folder())),
        ],
        env={**virtual_sound.env, "CALLER_SETTINGS": str(settings), "PYTHONUTF8": "1"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    lines = queue.Queue()
    reader = threading.Thread(target=lambda: [lines.put(line) for line in process.stdout])
    reader.start()
    yield process, lines
    process.kill()
    process.wait()
    reader.join()


def spoken_to(sound, lines, words, folder):
    """Say the words, again when nothing happens, as a knitter would; the line that answers.

    They are not heard while the caller speaks, nor before the model is loaded.
    """
    path = folder / "said.wav"
    word = SoundBlock(sounds.say(words, "ko", 130), sounds.RATE)
    write_wav(path, [silence(0.6, sounds.RATE), word, silence(0.8, sounds.RATE)])
    for _ in range(12):
        sound.speak(path)
        try:
            return lines.get(timeout=5)
        except queue.Empty:
            continue
    raise AssertionError(f"{words!r} was not heard")


def test_korean_words_move_the_rows(virtual_sound, sitting, tmp_path):
    process, lines = sitting
    assert "Row 2, " in lines.get(timeout=120)
    for command, row in [("next", 3), ("repeat", 3), ("back", 2)]:
        line = spoken_to(virtual_sound, lines, WORDS[command], tmp_path)
        assert line.startswith(f"Row {row}, "), (command, line)
    process.stdin.write("leave" + os.linesep)
    process.stdin.close()
    assert "Stopping at row 2" in lines.get(timeout=60)
    assert process.wait(60) == 0
    assert process.stderr.read() == ""
