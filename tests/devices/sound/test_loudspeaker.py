"""The real sound card code on the virtual sound server, in child processes."""

import os
import subprocess
import sys
import textwrap

import numpy as np
import pytest
import scipy
from child_env import WITHOUT_SOUND
from virtual_sound import RATE

from caller.devices.sound.sound_files import read_sound, write_wav
from caller.devices.voices.espeak import EspeakVoice

pytestmark = pytest.mark.sound

TEXT = "Navy, to left twenty. Ivory, to right five."
PRELUDE = """
import sys, time, numpy as np
from pathlib import Path
from caller.calling.ports import SoundBlock
from caller.devices.sound.microphone import SoundCardMicrophone
from caller.devices.sound.loudspeaker import SoundCardLoudspeaker
from caller.devices.sound.sound_files import read_sound, write_wav
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


def likeness(heard, sent) -> float:
    """The correlation of what was sent with what was heard, where they fit best."""
    at = int(np.argmax(scipy.signal.correlate(heard, sent, mode="valid", method="fft")))
    return float(np.corrcoef(heard[at : at + len(sent)], sent)[0, 1])


def pieces_in_order(heard, sent, piece_s: float = 0.03) -> tuple[int, int]:
    """How many pieces of what was sent are heard, each after the one before; and of how many.

    Gaps of up to a second between the pieces do not matter: a crowded machine makes them.
    """
    size = int(RATE * piece_s)
    places = [at for at in range(0, len(sent) - size, size) if sent[at : at + size].std() > 300]
    found, sent_to, heard_to = 0, 0, 0  # up to where all was compared
    for at in places:
        piece = sent[at : at + size]
        near = at + size - sent_to + 64  # where it is when nothing is between
        for reach, alike in ((near, 0.9), (near + RATE if found else len(heard), 0.98)):
            here = heard[heard_to : heard_to + reach]
            if len(here) < size:
                break
            power = np.cumsum(np.concatenate(([0.0], here**2)))
            energy = np.sqrt(np.maximum(power[size:] - power[:-size], 1.0))
            match = scipy.signal.correlate(here, piece, mode="valid", method="fft") / energy
            if match.max() > alike * np.linalg.norm(piece):
                found += 1
                sent_to, heard_to = at + size, heard_to + int(match.argmax()) + size
                break
    return found, len(places)


def test_speech_arrives_whole_and_in_order(virtual_sound, tmp_path):
    said = tmp_path / "said.wav"
    write_wav(said, EspeakVoice().render(TEXT))
    with virtual_sound.recording() as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            sound = read_sound(Path(sys.argv[1]))
            for start in range(0, len(sound.samples), 2000):
                loudspeaker.add([SoundBlock(sound.samples[start:start + 2000], sound.rate)])
            assert loudspeaker.quiet_for() == 0.0
            assert loudspeaker.wait(60)
            time.sleep(0.3)
            assert loudspeaker.quiet_for() > 0.25
            loudspeaker.close(); loudspeaker.close()
            """,
            virtual_sound.env,
            str(said),
        )
        answer(process)
    # 22,050 to 48,000 a second
    sent = scipy.signal.resample_poly(read_sound(said).samples.astype(float), 320, 147)
    found, pieces = pieces_in_order(recording.samples.astype(float), sent)
    # The virtual server itself drops a few milliseconds now and then on a crowded machine.
    assert found > 0.9 * pieces, f"{found} of {pieces}"
    backwards, pieces = pieces_in_order(
        recording.samples.astype(float), sent[::-1][: 2 * RATE].copy()
    )
    assert backwards < 0.5 * pieces, "what was not sent is not found"


def test_a_new_command_cuts_the_old_sound(virtual_sound):
    with virtual_sound.recording(late_ms=20) as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            for _ in range(5):
                loudspeaker.play([tone(500, 60)])
                time.sleep(0.5)
                print(time.monotonic())
                loudspeaker.play([tone(1500, 0.3)])
                assert loudspeaker.wait(30)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        told_s = np.array([float(line) for line in answer(process).splitlines()])
    old = np.flatnonzero(loud(recording.samples, 500) > 1000)
    new = np.flatnonzero(loud(recording.samples, 1500) > 1000)
    # Five times the old sound, then the new one, which is whole; the old one never goes on.
    turns = np.sort(np.concatenate((2 * old, 2 * new + 1))) % 2
    assert np.count_nonzero(np.diff(turns) == 1) == 5, "five times from old to new"
    assert 5 * 28 <= len(new) <= 5 * 60
    # A crowded machine makes all of this later, the program itself would each time.
    old_s, new_s = (recording.time_s(0) + frames * 0.01 for frames in (old, new))
    ended_s = [old_s[old_s < began].max() + 0.01 for began in _begins(new_s)]
    assert min(ended_s - told_s) < 0.1, "the old sound ends within a tenth of a second"
    assert min(_begins(new_s) - told_s) < 0.15


def _begins(times_s) -> np.ndarray:
    """Where a stretch of frames begins, after a pause of more than a third of a second."""
    return times_s[np.diff(times_s, prepend=-np.inf) > 0.35]


def test_a_slow_voice_holds_up_neither_a_cut_nor_the_new_sound(virtual_sound):
    with virtual_sound.recording() as recording:
        process = child(
            """
            import threading
            goes_on, ended = threading.Event(), threading.Event()
            def slow():
                try:
                    yield tone(500, 0.3)
                    goes_on.wait(60)
                    yield tone(500, 5)
                finally:
                    ended.set()
            loudspeaker = SoundCardLoudspeaker()
            loudspeaker.play(slow())
            time.sleep(1)
            loudspeaker.play([tone(1500, 0.3)])
            assert loudspeaker.wait(30)
            assert not goes_on.is_set() and not ended.is_set(), "the voice is still at work"
            goes_on.set()
            assert ended.wait(30), "the iterator that was cut is closed"
            time.sleep(0.5)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        answer(process)
    for hertz in (500, 1500):  # 0.3 s of each, and not 5 s more of the old one
        assert 27 <= np.count_nonzero(loud(recording.samples, hertz) > 1000) <= 90


def test_a_second_sound_waits_for_the_first(virtual_sound):
    with virtual_sound.recording() as recording:
        process = child(
            """
            import threading
            goes_on = threading.Event()
            def second():
                goes_on.wait(60)
                yield tone(1500, 0.4, 16000)
            loudspeaker = SoundCardLoudspeaker()
            loudspeaker.play([tone(500, 0.4)])
            loudspeaker.add(second())
            assert not loudspeaker.wait(0.1)
            goes_on.set()
            assert loudspeaker.wait(30)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        answer(process)
    first, second = (np.flatnonzero(loud(recording.samples, hertz) > 1000) for hertz in (500, 1500))
    assert first.max() <= second.min()
    for frames in (first, second):
        assert 36 <= len(frames) <= 120


def test_quiet_begins_when_the_sound_has_left(virtual_sound):
    """`quiet_for` and `wait` against the recording, by the one clock of the machine."""
    with virtual_sound.recording(late_ms=20) as recording:
        process = child(
            """
            loudspeaker = SoundCardLoudspeaker()
            for _ in range(5):
                time.sleep(0.3)
                loudspeaker.play([tone(500, 0.3)])
                assert loudspeaker.wait(10)
                print(time.monotonic(), time.monotonic() - loudspeaker.quiet_for())
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        told = [[float(word) for word in line.split()] for line in answer(process).splitlines()]
    told = np.array(told)
    loud_s = recording.time_s(0) + np.flatnonzero(loud(recording.samples, 500) > 1000) * 0.01
    ended_s = np.array([loud_s[loud_s < waited + 0.25].max() for waited in told[:, 0]]) + 0.01
    assert (np.diff(ended_s) > 0.5).all(), "five tones apart"
    late_s = told - ended_s[:, None]
    waited, quiet = np.median(late_s, axis=0)
    assert -0.03 < quiet < 0.06
    assert -0.03 < waited < 0.15


@pytest.mark.parametrize("own_rate_only", [False, True])
def test_the_microphone_hears_what_is_played_to_it(virtual_sound, tmp_path, own_rate_only):
    """Also when its driver, as many do, refuses 16,000 samples a second."""
    write_wav(tmp_path / "said.wav", EspeakVoice().render("Navy, to left twenty."))
    process = child(
        """
        import sounddevice
        class Fussy(sounddevice.InputStream):
            def __init__(self, samplerate, **settings):
                if samplerate == 16000:
                    raise sounddevice.PortAudioError("Invalid sample rate", -9997)
                super().__init__(samplerate=samplerate, **settings)
        if sys.argv[2] == "True":
            sounddevice.InputStream = Fussy
        microphone = SoundCardMicrophone()
        print("ready", flush=True)
        heard, count = [], 0
        for samples in microphone.blocks():
            assert samples.dtype == np.int16
            heard.append(samples)
            count += len(samples)
            if count > 16000 * 4:
                break
        microphone.close(); microphone.close()
        assert list(microphone.blocks()) == []
        write_wav(Path(sys.argv[1]), [SoundBlock(np.concatenate(heard), 16000)])
        """,
        virtual_sound.env,
        str(tmp_path / "heard.wav"),
        str(own_rate_only),
    )
    assert process.stdout.readline() == "ready\n"
    virtual_sound.speak(tmp_path / "said.wav")
    answer(process)
    said, heard = read_sound(tmp_path / "said.wav"), read_sound(tmp_path / "heard.wav")
    assert heard.rate == 16_000
    sent = scipy.signal.resample_poly(
        said.samples.astype(float), 320, 441
    )  # 22,050 to 16,000 a second
    assert likeness(heard.samples.astype(float), sent) > 0.98


def test_a_device_can_be_named(virtual_sound):
    process = child(
        """
        for kind in (SoundCardLoudspeaker, SoundCardMicrophone):
            kind(device="default").close()
            for device in ("nowhere", 99):
                try:
                    kind(device=device)
                except SoundError as error:
                    print(error)
        """,
        virtual_sound.env,
    )
    said = answer(process)
    for what in ("loudspeaker", "microphone"):
        assert f"There is no {what} 'nowhere'. The only {what} is default (the usual one)." in said
        assert said.count(f"No {what} was found") == 1


def test_a_sound_card_that_goes_away():
    from virtual_sound import VirtualSound, why_not

    reason = why_not()
    if reason:
        pytest.skip(reason)
    with VirtualSound() as server:
        process = child(
            """
            lost = []
            loudspeaker = SoundCardLoudspeaker(report=lost.append)
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


def test_a_loudspeaker_that_comes_back():
    from virtual_sound import VirtualSound, why_not

    reason = why_not()
    if reason:
        pytest.skip(reason)
    with VirtualSound() as server:
        process = child(
            """
            import queue
            said = queue.Queue()
            loudspeaker = SoundCardLoudspeaker(report=said.put, again_s=0.3)
            print("ready", flush=True)
            print(said.get(timeout=30).sentence)
            loudspeaker.play([tone(500, 1)])
            assert loudspeaker.quiet_for() > 0, "nothing waits while there is no loudspeaker"
            print("lost", flush=True)
            print(said.get(timeout=60).sentence, flush=True)
            loudspeaker.play([tone(500, 3)])
            assert loudspeaker.wait(60)
            loudspeaker.close()
            assert said.empty()
            """,
            server.env,
        )
        assert process.stdout.readline() == "ready\n"
        server.stop()
        assert "The loudspeaker was taken away" in process.stdout.readline()
        assert process.stdout.readline() == "lost\n"
        server.start()
        with server.recording() as recording:
            assert process.stdout.readline() == "The loudspeaker is back.\n"
            process.communicate(timeout=90)
            assert process.returncode == 0
            assert np.abs(recording.samples).max() > 5000


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


def test_two_channels_are_heard_apart(virtual_sound):
    with virtual_sound.recording(channels=2) as recording:
        process = child(
            """
            from dataclasses import replace
            loudspeaker = SoundCardLoudspeaker(stereo=True)
            loudspeaker.play([replace(tone(500, 0.4), pan=-1.0), replace(tone(1500, 0.4), pan=1.0)])
            assert loudspeaker.wait(10)
            loudspeaker.close()
            """,
            virtual_sound.env,
        )
        answer(process)
    left, right = recording.samples.reshape(-1, 2).T
    for hertz, near, far in ((500, left, right), (1500, right, left)):
        assert loud(near, hertz).max() == pytest.approx(4 * loud(far, hertz).max(), rel=0.05)
