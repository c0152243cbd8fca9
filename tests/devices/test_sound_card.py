"""The real sound card code on the virtual sound server, in child processes."""

import os
import subprocess
import sys
import textwrap

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from scipy.signal import correlate, resample_poly
from virtual_sound import RATE

from caller.devices.espeak import EspeakVoice
from caller.devices.sound_files import read_sound, write_wav

pytestmark = pytest.mark.sound

TEXT = "Row twelve, to the right. Navy, to left twenty. Ivory, to right five."
PRELUDE = """
import sys, time, numpy as np
from pathlib import Path
from caller.calling.ports import SoundBlock
from caller.devices.sound_card import SoundCardLoudspeaker, SoundCardMicrophone
from caller.devices.sound_files import read_sound, write_wav
from caller.errors import SoundError
def tone(hertz, seconds, rate=22050):
    time_s = np.arange(round(rate * seconds)) / rate
    return SoundBlock((8000 * np.sin(2 * np.pi * hertz * time_s)).astype(np.int16), rate)
"""


def child(code: str, env: dict[str, str], *arguments: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", PRELUDE + textwrap.dedent(code), *arguments],
        env=env,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def answer(process: subprocess.Popen[str]) -> str:
    out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert err == "", "nothing is written on the knitter's screen"
    return out


def loud(samples, hertz: float, step_s: float = 0.01) -> np.ndarray:
    """How strongly each 10 ms of the recording holds this pitch."""
    size = int(RATE * step_s)
    whole = samples[: len(samples) // size * size].reshape(-1, size).astype(float)
    turn = np.exp(-2j * np.pi * hertz * np.arange(size) / RATE)
    return np.abs(whole @ turn) / size


def test_speech_arrives_whole(virtual_sound, tmp_path):
    write_wav(tmp_path / "said.wav", EspeakVoice().render(TEXT))
    said = read_sound(tmp_path / "said.wav")
    with virtual_sound.recording() as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            sound = read_sound(Path(sys.argv[1]))
            for start in range(0, len(sound.samples), 2000):
                loudspeaker.add([SoundBlock(sound.samples[start:start + 2000], sound.rate)])
            assert loudspeaker.quiet_for() == 0.0
            assert loudspeaker.wait(30)
            time.sleep(0.3)
            assert 0.25 < loudspeaker.quiet_for() < 1.0
            loudspeaker.close(); loudspeaker.close()
            """,
            virtual_sound.env,
            str(tmp_path / "said.wav"),
        )
        answer(process)
    heard = recording.samples.astype(float)
    sent = resample_poly(said.samples.astype(float), 320, 147)  # 22,050 to 48,000 a second
    at = int(np.argmax(correlate(heard, sent, mode="valid", method="fft")))
    heard = heard[at : at + len(sent)]
    assert np.corrcoef(heard, sent)[0, 1] > 0.99


def test_a_new_command_cuts_the_old_sound(virtual_sound):
    with virtual_sound.recording() as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            loudspeaker.play([tone(500, 20)])
            time.sleep(1.0)
            loudspeaker.play([tone(1500, 0.5)])
            assert loudspeaker.wait(10)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        answer(process)
    old, new = loud(recording.samples, 500), loud(recording.samples, 1500)
    assert 0.6 < np.count_nonzero(old > 1000) * 0.01 < 1.5
    gap = np.flatnonzero(new > 1000)[0] - np.flatnonzero(old > 1000)[-1]
    assert -2 <= gap <= 10, "the new sound follows the old one within a tenth of a second"
    assert np.count_nonzero(new > 1000) * 0.01 == pytest.approx(0.5, abs=0.05)


def test_a_second_sound_waits_for_the_first(virtual_sound):
    with virtual_sound.recording() as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            loudspeaker.play([tone(500, 0.4)])
            loudspeaker.add([tone(1500, 0.4, 16000)])
            assert not loudspeaker.wait(0.1)
            assert loudspeaker.wait(10)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        answer(process)
    for hertz in (500, 1500):
        assert np.count_nonzero(loud(recording.samples, hertz) > 1000) == pytest.approx(40, abs=4)


def test_quiet_is_when_the_sound_has_left(virtual_sound):
    """`quiet_for` against the recording: it must not say quiet while the tone still sounds."""
    with virtual_sound.recording() as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            time.sleep(0.3)
            loudspeaker.play([tone(500, 0.5)])
            loudspeaker.wait(10)
            loudspeaker.play([tone(1500, 0.2)])
            loudspeaker.wait(10)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        answer(process)
    first, second = loud(recording.samples, 500) > 1000, loud(recording.samples, 1500) > 1000
    pause = np.flatnonzero(second)[0] - np.flatnonzero(first)[-1]
    assert 0 < pause < 20  # in 10 ms
    assert np.count_nonzero(first) == pytest.approx(50, abs=3)


def test_the_microphone_hears_what_is_played_to_it(virtual_sound, tmp_path):
    write_wav(tmp_path / "said.wav", EspeakVoice().render(TEXT))
    process = child(
        """
        microphone = SoundCardMicrophone()
        print("ready", flush=True)
        heard, count = [], 0
        for samples in microphone.blocks():
            heard.append(samples)
            count += len(samples)
            if count > 16000 * 9:
                break
        microphone.close(); microphone.close()
        write_wav(Path(sys.argv[1]), [SoundBlock(np.concatenate(heard), 16000)])
        """,
        virtual_sound.env,
        str(tmp_path / "heard.wav"),
    )
    assert process.stdout.readline() == "ready\n"
    virtual_sound.speak(tmp_path / "said.wav")
    answer(process)
    said, heard = read_sound(tmp_path / "said.wav"), read_sound(tmp_path / "heard.wav")
    assert heard.rate == 16_000
    sent = resample_poly(said.samples.astype(float), 320, 441)  # 22,050 to 16,000 a second
    ear = heard.samples.astype(float)
    at = int(np.argmax(correlate(ear, sent, mode="valid", method="fft")))
    assert np.corrcoef(ear[at : at + len(sent)], sent)[0, 1] > 0.98


def test_a_sound_card_that_goes_away():
    from virtual_sound import VirtualSound, why_not

    reason = why_not()
    if reason:
        pytest.skip(reason)
    with VirtualSound() as server:
        process = child(
            """
            lost = []
            loudspeaker = SoundCardLoudspeaker(on_lost=lost.append)
            microphone = SoundCardMicrophone()
            loudspeaker.play([tone(500, 60)])
            print("playing", flush=True)
            try:
                for _ in microphone.blocks():
                    pass
            except SoundError as error:
                print("microphone:", error)
            try:
                loudspeaker.wait(20)
            except SoundError as error:
                print("loudspeaker:", error)
            assert len(lost) == 1, lost
            loudspeaker.play([tone(500, 1)])
            loudspeaker.close(); microphone.close()
            """,
            server.env,
        )
        assert process.stdout.readline() == "playing\n"
        server.stop()
        out, _ = process.communicate(timeout=60)
    assert process.returncode == 0
    assert "microphone: The microphone was taken away" in out
    assert "loudspeaker: The loudspeaker was taken away" in out


def test_no_sound_device():
    env = {**os.environ, "PULSE_SERVER": "none"}
    process = child(
        """
        import sounddevice
        if len(sounddevice.query_devices()):
            print("devices")
            sys.exit()
        for kind in (SoundCardLoudspeaker, SoundCardMicrophone):
            try:
                kind()
            except SoundError as error:
                print(error)
        """,
        env,
    )
    said = answer(process)
    if said == "devices\n":
        pytest.skip("this machine has sound devices")
    assert "No loudspeaker was found" in said
    assert "No microphone was found" in said


def test_no_portaudio():
    process = child(
        """
        try:
            SoundCardLoudspeaker()
        except SoundError as error:
            print(error)
        """,
        WITHOUT_SOUND,
    )
    message = answer(process)
    assert "PortAudio library is missing" in message
    if sys.platform == "linux":
        assert "sudo apt install libportaudio2" in message
