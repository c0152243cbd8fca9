"""A session that listens to one command in German, as taught, and to the others in English."""

import queue
import re

import numpy as np
import pytest
import sounds
from test_hands_free import knitting, until_quiet

from caller.calling.commands import Command
from caller.calling.listening.blocks import BLOCK_SAMPLES, RATE
from caller.calling.listening.endpointing import Endpointer
from caller.calling.ports import SoundBlock
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.sound.sound_files import write_wav
from caller.devices.storage import take_store

pytestmark = [pytest.mark.sound, pytest.mark.slow]

TAUGHT, VOICE = "nächste Reihe", "de+f2"


def segment(sound):
    """The one piece of talk in a sound, as the microphone's path cuts it."""
    detector, endpointer = SileroDetector(), Endpointer()
    whole = sounds.apart([sound])
    blocks = whole[: len(whole) // BLOCK_SAMPLES * BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES)
    found = [endpointer.feed(block, detector.probability(block)) for block in blocks]
    [one] = [piece.samples for piece in found if piece is not None]
    return one


@pytest.fixture
def taught(tmp_path, monkeypatch):
    folder = tmp_path / "own-voice"
    monkeypatch.setenv(take_store.ENVIRONMENT, str(folder))
    paces = [sounds.say(TAUGHT, VOICE, wpm) for wpm in (125, 140, 155)]
    take_store.keep(Command.NEXT, [segment(sound) for sound in paces])
    return folder


def say(sound, sitting, words, voice, tmp_path):
    """Say it once the loudspeaker is quiet, for until then nothing is heard; what it leads to."""
    path = tmp_path / "said.wav"
    said = sounds.apart([sounds.say(words, voice, 147)], 0.6)
    write_wav(path, [SoundBlock(said.astype(np.int16), RATE)])
    for _ in range(5):
        with sound.recording() as recording:
            until_quiet(recording)
        sound.speak(path)
        try:
            return sitting.lines.get(timeout=15)
        except queue.Empty:
            continue
    raise AssertionError(f"{words!r} was not heard five times in a row")


def test_it_obeys_what_was_taught_and_english_phrases_and_no_talk(virtual_sound, taught, tmp_path):
    with virtual_sound.quiet_room():
        sitting = knitting(
            virtual_sound,
            *("--row", "3", "--voice", "espeak", "--rate", "350"),
            *("--place", str(tmp_path / "boat.place")),
            **{take_store.ENVIRONMENT: str(taught)},
        )
        try:
            assert "Row 3, going right" in sitting.next_line()
            for words, voice, answer in [
                (TAUGHT, VOICE, "Row 4, going left"),
                ("repeat that", "en-us", "Row 4, going left"),
                ("needle left twenty", "en-us", "In row 4, L20 is "),
            ]:
                line = say(virtual_sound, sitting, words, voice, tmp_path)
                assert re.search(answer, line), (words, line)
            path = tmp_path / "other.wav"
            others = ["Guten Abend", "die Wolle ist blau", "danke schön"]
            talk = sounds.apart(sounds.spoken(tuple(others), VOICE), 1.2)
            write_wav(path, [SoundBlock(talk, RATE)])
            virtual_sound.speak(path)
            with pytest.raises(queue.Empty):
                sitting.lines.get(timeout=3)
        finally:
            err = sitting.leave()
        assert err == ""
