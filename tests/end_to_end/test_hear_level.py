"""The level meter, with real sound."""

import json
import subprocess
import sys

import numpy as np
import pytest
import sounds
from click.testing import CliRunner

from caller.calling.listening.blocks import RATE
from caller.calling.ports import SoundBlock
from caller.cli import main
from caller.devices.sound.sound_files import write_wav

pytestmark = pytest.mark.sound


def meter(sound, *options):
    return subprocess.Popen(
        [sys.executable, "-m", "caller", "hear", "--level", *options],
        env=sound.env,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def test_it_tells_a_quiet_room_from_a_tone(virtual_sound, tmp_path):
    path = tmp_path / "tone.wav"
    tone = sounds.tone(1000, 4.0, peak=round(32767 * 10 ** (-20 / 20)))
    write_wav(path, [SoundBlock(tone.astype(np.int16), RATE)])
    with virtual_sound.quiet_room():
        showing = meter(virtual_sound, "--json")
        try:
            room = [json.loads(showing.stdout.readline()) for _ in range(6)]
            virtual_sound.speak(path)
            told: list[dict] = []  # until the tone has come; on a crowded machine it comes late
            while len(told) < 400 and not any(one["rms_db"] > -40 for one in told[:-8]):
                told.append(json.loads(showing.stdout.readline()))
        finally:
            showing.kill()
            showing.communicate()
    # Hiss of 10 steps is 20 log10(10 / 32768) = -70.3 dB; a sine of peak -20 dB is -23.0 dB.
    assert -73 < np.median([one["rms_db"] for one in room[2:]]) < -67
    loudest = max(told, key=lambda one: one["rms_db"])
    assert -24 < loudest["rms_db"] < -22
    assert loudest["clipped_s"] == 0


def test_the_bar_grows(virtual_sound):
    with virtual_sound.quiet_room():
        showing = meter(virtual_sound)
        try:
            line = showing.stdout.readline()
        finally:
            showing.kill()
            showing.communicate()
    assert line.startswith("[")
    assert " dB" in line


def test_a_file_has_no_meter(tmp_path):
    done = CliRunner().invoke(main, ["hear", "a.wav", "--level"])
    assert done.exit_code == 2
    assert "leave the file away" in done.stderr
