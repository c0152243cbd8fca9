"""The worker behind the computer's own voices: that it is replaced, and that it always ends."""

import json
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from caller.calling.ports import SoundBlock
from caller.devices import child
from caller.devices.voices import system
from caller.devices.voices.system import SystemVoice, system_voices
from caller.errors import SettingError, SoundError, VoiceError

psutil = pytest.importorskip("psutil")
pytestmark = pytest.mark.skipif(
    sys.platform != "linux", reason="elsewhere the voices are not the program's own"
)


@pytest.fixture
def voice() -> Iterator[SystemVoice]:
    made = SystemVoice()
    yield made
    made.close()


def workers(of: int | None = None) -> list["psutil.Process"]:
    return [
        one
        for one in psutil.Process(of).children(recursive=True)
        if "caller.devices.voices.system_worker" in one.cmdline()
    ]


def seconds(voice: SystemVoice, text: str = "Navy, to left twenty.") -> float:
    return sum(block.seconds for block in voice.render(text))


def gone(processes: list["psutil.Process"]) -> bool:
    return not psutil.wait_procs(processes, timeout=10)[1]


def test_it_can_be_chosen_by_name():
    names = system_voices()
    assert len(names) > 1
    assert not workers()
    for name in (names[0], names[-1]):
        chosen = SystemVoice(name=name)
        assert seconds(chosen, "2 3") > 0.2
        chosen.close()


def test_a_name_that_is_not_there():
    with pytest.raises(VoiceError, match="has no voice 'Nobody'; it has"):
        SystemVoice(name="Nobody")
    assert not workers()


@pytest.mark.parametrize("volume", [0, -1, 101])
def test_a_volume_out_of_range(volume):
    with pytest.raises(SettingError, match="1 to 100"):
        SystemVoice(volume=volume)


def test_closing_leaves_no_process_behind(voice):
    started = workers()
    assert len(started) == 1
    voice.close()
    assert gone(started)
    with pytest.raises(VoiceError, match="closed"):
        seconds(voice)
    assert not workers()


def test_a_worker_that_dies_is_replaced(voice):
    before = seconds(voice)
    (old,) = workers()
    old.kill()
    old.wait()
    assert seconds(voice) == pytest.approx(before, rel=0.05)
    assert len(workers()) == 1


def test_an_empty_sound_after_a_worker_died_is_made_again(voice, monkeypatch):
    before, read, empty = seconds(voice), system.read_sound, ["an empty file"]

    def read_sound(path: Path) -> SoundBlock:
        if empty:
            raise SoundError(empty.pop())
        return read(path)

    monkeypatch.setattr(system, "read_sound", read_sound)
    (old,) = workers()
    old.kill()
    old.wait()
    assert seconds(voice) == pytest.approx(before, rel=0.05)
    assert not empty


def test_a_worker_that_hangs_is_replaced(voice, monkeypatch):
    before = seconds(voice)
    monkeypatch.setattr(system, "TIME_LIMIT_S", 2.0)
    (old,) = workers()
    old.send_signal(signal.SIGSTOP)
    assert seconds(voice) == pytest.approx(before, rel=0.05)
    assert gone([old])


def test_a_worker_that_always_hangs_is_told_of(voice, monkeypatch):
    monkeypatch.setattr(system, "TIME_LIMIT_S", 0.0)
    with pytest.raises(VoiceError, match=r"no answer within 0 seconds.*--voice espeak"):
        seconds(voice)
    assert not workers()
    monkeypatch.setattr(system, "TIME_LIMIT_S", 20.0)
    assert seconds(voice) > 0.5


@pytest.mark.slow
def test_no_text_is_lost_on_a_crowded_machine(voice, monkeypatch):
    """Without care the driver cancels some two in a hundred (measured on two crowded cores)."""
    replaced: list[object] = []
    kill = system._Worker.kill
    monkeypatch.setattr(
        system._Worker, "kill", lambda worker: (replaced.append(worker), kill(worker))
    )
    alone = seconds(voice)
    crowd = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(4)]
    try:
        lengths = [seconds(voice) for _ in range(60)]
    finally:
        for process in crowd:
            process.kill()
            process.wait()
    assert not replaced
    assert lengths == pytest.approx([alone] * 60, rel=0.02)


def test_closing_while_a_worker_hangs(voice):
    (worker,) = workers()
    worker.send_signal(signal.SIGSTOP)
    failed: list[VoiceError] = []

    def work() -> None:
        try:
            seconds(voice)
        except VoiceError as error:
            failed.append(error)

    thread = threading.Thread(target=work)
    thread.start()
    time.sleep(0.2)
    voice.close()
    thread.join(10)
    assert len(failed) == 1
    assert gone([worker])
    assert not workers()


def test_no_room_for_its_files(voice, monkeypatch):
    def full(**_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(system.tempfile, "TemporaryDirectory", full)
    with pytest.raises(VoiceError, match="No space left on device"):
        seconds(voice)


@pytest.mark.parametrize("hanging", [False, True])
def test_a_killed_parent_leaves_no_worker(hanging):
    """The worker ends with its input, also while its main thread is stuck in a driver."""
    request = "{'text': 'ivory ' * 200_000, 'path': '/dev/null', **voice._settings}"
    code = f"""
from caller.devices.voices.system import SystemVoice
voice = SystemVoice()
print("ready", flush=True)
{f"voice._worker.ask({request})" if hanging else "input()"}
"""
    parent = subprocess.Popen(
        [sys.executable, "-c", code], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert parent.stdout.readline() == "ready\n"
    started = workers(parent.pid)
    assert len(started) == 1
    time.sleep(0.2)
    parent.kill()
    parent.communicate()
    assert gone(started)


def test_the_answers_are_the_only_thing_on_the_pipe(tmp_path):
    """The driver prints to standard output; the worker keeps that away from its answers."""
    worker = child.start("caller.devices.voices.system_worker", text=True)
    request = {"text": "Navy.", "path": str(tmp_path / "a.wav"), "voice": None}
    request |= {"rate_wpm": 160, "volume": 100}
    answers = []
    for line in (json.dumps({}), json.dumps(request), "no JSON", json.dumps(request)):
        worker.stdin.write(line + "\n")
        worker.stdin.flush()
        answers.append(json.loads(worker.stdout.readline()))
    rest, _ = worker.communicate(timeout=20)
    assert [sorted(answer) for answer in answers] == [["voices"], ["path"], ["error"], ["path"]]
    assert rest == ""
    assert worker.returncode == 0
    assert (tmp_path / "a.wav").stat().st_size > 10_000
