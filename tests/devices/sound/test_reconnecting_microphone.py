"""A microphone that is lost and comes back: scripted, and for real on the virtual sound server."""

import subprocess
import sys
import textwrap
import threading

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from hypothesis import given
from hypothesis import strategies as st
from sounds import tone
from virtual_sound import VirtualSound, why_not

from caller.calling.listening.level import Fault
from caller.calling.ports import SoundBlock
from caller.devices.sound.reconnecting_microphone import (
    BACK,
    LOST,
    SILENT,
    SOUND_AGAIN,
    ReconnectingMicrophone,
)
from caller.devices.sound.sound_files import write_wav
from caller.errors import SoundError

BLOCK = np.full(1600, 500, dtype=np.int16)
NOTHING = np.zeros(1600, dtype=np.int16)


class Scripted:
    """A microphone that gives these blocks and is then lost, or goes on being closed."""

    def __init__(self, blocks: list[np.ndarray], lost: bool = True) -> None:
        self._blocks, self._lost = blocks, lost
        self.closed = threading.Event()

    def blocks(self):
        for block in self._blocks:
            if self.closed.is_set():
                return
            yield block
        if self._lost:
            raise SoundError("The microphone was taken away.")
        assert self.closed.wait(20)

    def close(self):
        self.closed.set()


def opening(*outcomes):
    """An `open_` that gives these one after the other; None is one that is not there."""
    waiting = list(outcomes)

    def open_():
        one = waiting.pop(0)
        if one is None:
            raise SoundError("No microphone was found.")
        return one

    return open_


@pytest.fixture(autouse=True)
def nothing_new(monkeypatch):
    """No look at the machine's own sound devices."""
    monkeypatch.setattr("caller.devices.sound.reconnecting_microphone.look_again", lambda: False)


@given(st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=1, max_size=5))
def test_every_loss_is_told_once_and_nothing_heard_is_lost(losses):
    """Each loss: so many blocks heard before, so many times looked for in vain after."""
    devices = [Scripted([BLOCK] * heard) for heard, _ in losses]
    last = Scripted([BLOCK], lost=False)
    outcomes = [devices[0]]
    for (_, vain), following in zip(losses, [*devices[1:], last], strict=True):
        outcomes += [None] * vain + [following]
    told = []
    microphone = ReconnectingMicrophone(opening(*outcomes), told.append, again_s=0.001)
    heard = 0
    for samples in microphone.blocks():
        heard += int(np.array_equal(samples, BLOCK))
        if heard == sum(count for count, _ in losses) + 1:
            microphone.close()
    assert told == [LOST, BACK] * len(losses)
    assert all(device.closed.is_set() for device in [*devices, last])


def test_it_says_no_when_there_is_none_at_the_start():
    with pytest.raises(SoundError, match="No microphone was found"):
        ReconnectingMicrophone(opening(None), print)


def test_closing_ends_the_search():
    told = []
    outcomes = [Scripted([BLOCK]), *[None] * 1000]
    microphone = ReconnectingMicrophone(opening(*outcomes), told.append, again_s=5)
    heard = []
    thread = threading.Thread(target=lambda: heard.extend(microphone.blocks()))
    thread.start()
    while LOST not in told:
        thread.join(0.01)
    microphone.close()
    microphone.close()
    thread.join(2)
    assert not thread.is_alive()
    assert told == [LOST]
    assert len(heard) == 2, "the block, and silence in place of what was lost"
    assert not heard[1].any()


def test_one_that_is_opened_too_late_is_closed():
    late = Scripted([BLOCK])
    first = Scripted([])

    def open_():
        if not hasattr(open_, "microphone"):
            return first
        open_.microphone.close()
        return late

    microphone = ReconnectingMicrophone(open_, lambda _: None, again_s=0.001)
    open_.microphone = microphone
    assert len(list(microphone.blocks())) == 1
    assert late.closed.is_set()


def test_silence_is_told_once_and_the_device_opened_anew():
    told = []
    mute = Scripted([BLOCK] + [NOTHING] * 30)
    after = Scripted([NOTHING] * 50 + [BLOCK] + [NOTHING] * 50 + [BLOCK], lost=False)
    microphone = ReconnectingMicrophone(opening(mute, after), told.append, silent_s=2.0)
    count = 0
    for samples in microphone.blocks():
        count += int(samples.any())
        if count == 3:
            microphone.close()
    assert mute.closed.is_set()
    assert told == [SILENT, SOUND_AGAIN]
    assert Fault.SILENT.finding in SILENT.sentence


def test_silence_from_one_that_is_not_there_any_more():
    told = []
    mute = Scripted([NOTHING] * 30)
    after = Scripted([BLOCK], lost=False)
    microphone = ReconnectingMicrophone(
        opening(mute, None, None, after), told.append, again_s=0.001, silent_s=2.0
    )
    for samples in microphone.blocks():
        if samples.any():
            microphone.close()
    assert told == [SILENT, LOST, BACK, SOUND_AGAIN]


PROGRAM = """
import sys, threading, time, numpy as np
from caller.devices.sound.microphone import SoundCardMicrophone
from caller.devices.sound.loudspeaker import SoundCardLoudspeaker
from caller.devices.sound.reconnecting_microphone import ReconnectingMicrophone
from caller.errors import SoundError
def report(event):
    print(event.sentence, flush=True)
name, silent_s, with_loudspeaker = sys.argv[1] or None, float(sys.argv[2]), sys.argv[3] == "True"
if with_loudspeaker:
    loudspeaker = SoundCardLoudspeaker()
microphone = ReconnectingMicrophone(lambda: SoundCardMicrophone(name), report, 0.2, silent_s)
closer = threading.Thread(target=lambda: (sys.stdin.read(), microphone.close()))
closer.start()
print("ready", flush=True)
loud = soft = 0
for samples in microphone.blocks():
    if np.abs(samples.astype(int)).max(initial=0) > 2000:
        loud, soft = loud + len(samples), 0
    else:
        soft += len(samples)
    if loud > 6000 and soft > 5000:
        loud = 0
        print("heard", flush=True)
closer.join()
if with_loudspeaker:
    loudspeaker.close()
print("ended", flush=True)
"""


class Child:
    def __init__(self, env, name="", silent_s=60.0, with_loudspeaker=True) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", PROGRAM, name, str(silent_s), str(with_loudspeaker)],
            env=env,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        assert self.next() == "ready"

    def next(self) -> str:
        return self.process.stdout.readline().strip()

    def end(self) -> list[str]:
        out, err = self.process.communicate(timeout=60)
        assert self.process.returncode == 0, err
        # PortAudio itself writes there, on a thread of its own, when its device dies.
        ours = [line for line in err.splitlines() if not line.startswith("Expression '")]
        assert ours == [], "nothing else is written on the knitter's screen"
        return out.split("\n")[:-1]


@pytest.fixture
def server():
    if reason := why_not():
        pytest.skip(reason)
    with VirtualSound() as server:
        write_wav(server.folder / "tone.wav", [SoundBlock(tone(500, 0.7), 16_000)])
        yield server


def hears(child: Child, server: VirtualSound) -> None:
    server.speak(server.folder / "tone.wav")
    assert child.next() == "heard"


@pytest.mark.sound
@pytest.mark.parametrize(("name", "with_loudspeaker"), [("", True), ("headset", False)])
def test_the_sound_server_dies_and_is_started_anew(server, name, with_loudspeaker):
    child = Child(server.env_with_names, name, with_loudspeaker=with_loudspeaker)
    hears(child, server)
    for _ in range(2):
        server.stop()
        assert child.next() == LOST.sentence
        server.start()
        assert child.next() == BACK.sentence
        hears(child, server)
    assert child.end() == ["ended"]


@pytest.mark.sound
def test_a_microphone_that_is_unplugged_from_a_server_that_goes_on(server):
    """The server moves the listener to another source, which gives silence: so it is the silence
    that is told, then the loss, for the device that was named is no more."""
    child = Child(server.env_with_names, "headset", silent_s=2.0)
    hears(child, server)
    server.take_microphone_away()
    assert Fault.SILENT.finding in child.next()
    assert child.next() == LOST.sentence
    server.plug_microphone_in()
    assert child.next() == BACK.sentence
    server.speak(server.folder / "tone.wav")
    assert [child.next(), child.next()] == [SOUND_AGAIN.sentence, "heard"]
    assert child.end() == ["ended"]


@pytest.mark.sound
def test_the_usual_microphone_unplugged_and_plugged_in(server):
    """The usual one is whatever the system makes of it; it comes back by itself."""
    child = Child(server.env, silent_s=2.0)
    hears(child, server)
    server.take_microphone_away()
    assert Fault.SILENT.finding in child.next()
    server.plug_microphone_in()
    server.speak(server.folder / "tone.wav")
    assert [child.next(), child.next()] == [SOUND_AGAIN.sentence, "heard"]
    assert child.end() == ["ended"]


@pytest.mark.sound
def test_a_muted_microphone_is_told_of_once(server):
    server.mute_microphone(True)
    child = Child(server.env, silent_s=1.0)
    assert Fault.SILENT.finding in child.next()
    server.mute_microphone(False)
    server.speak(server.folder / "tone.wav")
    assert [child.next(), child.next()] == [SOUND_AGAIN.sentence, "heard"]
    server.mute_microphone(True)
    assert child.end() == ["ended"]


@pytest.mark.sound
def test_portaudio_sees_what_came_after_it_was_loaded(server):
    """Only where no stream is open; PortAudio asks the system once, when it is loaded."""
    program = """
    import sys
    from caller.devices.sound.microphone import SoundCardMicrophone
    from caller.devices.sound.portaudio import look_again
    from caller.devices.sound.loudspeaker import SoundCardLoudspeaker
    from caller.devices.sound.device_names import microphones
    print(len(microphones()), flush=True)
    sys.stdin.readline()
    print(len(microphones()), look_again(), len(microphones()))
    loudspeaker, microphone = SoundCardLoudspeaker(), SoundCardMicrophone("headset")
    print(look_again())
    microphone.close()
    print(look_again())
    loudspeaker.close()
    print(look_again())
    SoundCardMicrophone("headset").close()
    """
    server.stop()
    child = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(program)],
        env=server.env_with_names,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert child.stdout.readline() == "0\n"
    server.start()
    out, _ = child.communicate("\n", timeout=60)
    assert child.returncode == 0
    assert out.split() == ["0", "True", "4", "False", "False", "True"]


def test_without_portaudio_there_is_no_microphone_to_look_for():
    program = """
    from caller.devices.sound.microphone import SoundCardMicrophone
    from caller.devices.sound.reconnecting_microphone import ReconnectingMicrophone
    from caller.errors import SoundError
    try:
        ReconnectingMicrophone(SoundCardMicrophone, print)
    except SoundError as error:
        print(error)
    """
    child = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(program)],
        env=WITHOUT_SOUND,
        capture_output=True,
        text=True,
        check=True,
    )
    assert "PortAudio library is missing" in child.stdout
    assert child.stderr == ""
