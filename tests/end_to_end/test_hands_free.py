"""The whole main job with real sound: a spoken word in, a call out, and an ear that checks it."""

import queue
import re
import time
from pathlib import Path

import numpy as np
import pytest
from reader_by_ear import RATE as EAR_RATE
from reader_by_ear import Ear, Told
from running import Running
from virtual_sound import RATE, Recording, VirtualSound

from caller.calling.ports import silence
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import write_wav
from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.storage.pattern_file import load

pytestmark = [pytest.mark.sound, pytest.mark.slow]

NOTE_S = 0.06  # how long the acknowledgement sounds
DEMO = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"


def knitting(sound: VirtualSound, *arguments: object, **environment: str) -> Running:
    return Running({**sound.env, **environment}, "knit", DEMO, *arguments)


def say_into_microphone(sound: VirtualSound, words: str, folder: Path) -> None:
    voice = EspeakVoice(rate_wpm=150)
    path = folder / f"{words}.wav"
    quiet = silence(0.6, voice.rate)
    write_wav(path, [quiet, *voice.render(words + "."), quiet])
    sound.speak(path)


def expected(row: int) -> list[Told]:
    pattern = load(DEMO)
    call = pattern.script.row(row)
    runs = [(pattern.yarns[run.yarn].name, pattern.bed.label(run.last)) for run in call.runs]
    return [
        Told("row", row, call.direction),
        *(Told("run", yarn=yarn, needle=needle) for yarn, needle in runs),
    ]


def call_in(samples) -> np.ndarray:
    """The speech of a recording at the ear's rate, without the note that acknowledges it."""
    ear = resampled(samples, RATE, EAR_RATE)
    loud = np.flatnonzero(np.abs(ear) > 300)
    assert len(loud), "the loudspeaker was silent"
    return ear[loud[0] + round(NOTE_S * EAR_RATE) : loud[-1] + 4800]


def until_quiet(recording: Recording, quiet_s: float = 1.5) -> None:
    """Wait until the loudspeaker has said nothing for so long."""
    quiet_since, seen = time.monotonic(), len(recording.samples)
    while time.monotonic() - quiet_since < quiet_s:
        time.sleep(0.1)
        samples = recording.since(seen)
        if np.abs(samples).max(initial=0) > 300:
            quiet_since = time.monotonic()
        seen += len(samples)


def spoken_to(sound: VirtualSound, sitting: Running, words: str, folder: Path):
    """Speak a command and take the answer and the recording of it.

    Like a knitter it says the words again when nothing happens; a busy machine drops sound, and
    hears nothing while it still loads.
    """
    with sound.recording() as recording:
        begun = len(recording.samples)
        for _ in range(5):
            say_into_microphone(sound, words, folder)
            try:
                line = sitting.lines.get(timeout=15)
            except queue.Empty:
                continue
            until_quiet(recording)
            return line, recording.samples[begun:]
    raise AssertionError(f"{words!r} was not heard five times in a row")


def told_by(ear: Ear, samples) -> list[Told]:
    """What a recording of a call tells, to an independent ear."""
    return [told for told in ear.row(call_in(samples)) if told.kind != "aside"]


def repeated(sound: VirtualSound, sitting: Running):
    """The recording of the call, asked for once more at the keys."""
    with sound.recording() as recording:
        begun = len(recording.samples)
        sitting.type("repeat")
        sitting.next_line()
        time.sleep(1)
        until_quiet(recording, 3.0)  # a busy machine may stop within a call
        return recording.samples[begun:]


@pytest.fixture
def room(virtual_sound):
    with virtual_sound.quiet_room():
        yield virtual_sound


def test_a_spoken_word_calls_the_next_row(room, tmp_path):
    virtual_sound = room
    # Two of the rows with the shortest calls of three yarns.
    usual = ("--row", "39", "--rate", "190", "--place", str(tmp_path / "boat.place"))
    sitting = knitting(virtual_sound, *usual)
    try:
        assert "Row 39, going right" in sitting.next_line()
        with virtual_sound.recording() as opening:
            time.sleep(1)
            until_quiet(opening)  # the ears are shut while it speaks
        pattern = load(DEMO)
        names = [yarn.name for yarn in pattern.yarns]
        ear = Ear(names, pattern.chart.stitches // 2, pattern.script.rows, "checked")
        for words, row in [("next row", 40), ("go back", 39)]:
            line, samples = spoken_to(virtual_sound, sitting, words, tmp_path)
            assert re.match(rf"Row {row}, going ", line), (words, line)
            heard = told_by(ear, samples)
            for _ in range(3):  # a busy machine drops sound: then it is asked for again, by a line
                if heard != expected(row):
                    heard = told_by(ear, repeated(virtual_sound, sitting))
            assert heard == expected(row)
        assert sitting.lines.empty(), "one word, one move; its own voice sets nothing off"
    finally:
        err = sitting.leave()
    assert err == ""
    assert "Stopping at row 39" in sitting.next_line()


def test_a_spoken_row_is_read_back_and_gone_to_on_a_yes(room, tmp_path):
    """It listens as it does without an option; whoever hears another number says it once more."""
    pytest.importorskip("moonshine_voice")
    usual = ("--row", "36", "--place", str(tmp_path / "boat.place"))
    sitting = knitting(room, *usual, "--voice", "espeak", "--rate", "350")
    try:
        assert "Row 36, going left" in sitting.next_line()
        with room.recording() as opening:
            time.sleep(1)
            until_quiet(opening)
        asked, _ = spoken_to(room, sitting, "go to row twenty-four", tmp_path)
        assert asked == "Row 24? Say yes please, or go back."
        refused, _ = spoken_to(room, sitting, "go back", tmp_path)
        assert refused == "Not done. This is still row 36."
        asked, _ = spoken_to(room, sitting, "go to row twenty-four", tmp_path)
        assert asked == "Row 24? Say yes please, or go back."
        done, _ = spoken_to(room, sitting, "yes please", tmp_path)
        assert re.match(r"Check: carriage on the right, \d+ ends?\. Row 24, going left", done)
        assert sitting.lines.empty(), "its own questions set nothing off"
    finally:
        err = sitting.leave()
    assert err == ""
    assert "Stopping at row 24" in sitting.next_line()
