"""`caller teach` with real sound: a synthetic knitter answers what the loudspeaker asks."""

import stat
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import sounds
from running import Running
from virtual_sound import RATE, Recording, VirtualSound

from caller.calling.ports import SoundBlock
from caller.devices.recognisers.own_voice.recogniser import OwnVoiceLikeness
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import read_sound, write_wav
from caller.devices.voices.espeak import EspeakVoice

pytestmark = [pytest.mark.sound, pytest.mark.slow]

SPEAKER = "en+f3"
NEXT, BACK = "weiter bitte", "noch einmal"
ASKS = {"hear what follows": NEXT, "hear what came before": BACK}
RATE_WPM = "350"
LOUD = 300
QUIET_S = 1.2


def lesson(sound: VirtualSound, store: Path, *arguments: str) -> Running:
    usual = ("teach", "--voice", "espeak", "--rate", RATE_WPM)
    return Running({**sound.env, "CALLER_OWN_VOICE": str(store)}, *usual, *arguments)


def until_quiet(recording: Recording, begun: int) -> None:
    """Until the loudspeaker has spoken since the sample `begun` and then been quiet."""
    until = time.monotonic() + 40  # longer than its longest sentence on a busy machine
    while time.monotonic() < until:
        time.sleep(0.1)
        samples = recording.since(begun)
        loud = np.flatnonzero(np.abs(samples) > LOUD)
        if len(loud) and len(samples) - loud[-1] > QUIET_S * RATE:
            return


def hold(
    sound: VirtualSound, sitting: Running, answer: Callable[[str], np.ndarray | None], folder: Path
) -> list[tuple[str, np.ndarray]]:
    """Answer every line until the lesson ends; each line with what the loudspeaker said then."""
    said, path = [], folder / "answer.wav"
    with sound.recording() as recording:
        begun = 0
        while (line := sitting.next_line()) is not None:
            until_quiet(recording, begun)
            assert len(sitting.told) < 30, sitting.told
            said.append((line, recording.since(begun)))
            spoken = answer(line)
            begun = len(recording.samples)
            if spoken is not None:
                room = sounds.quiet(0.3)
                samples = np.concatenate([room, spoken, room])
                write_wav(path, [SoundBlock(samples, sounds.RATE)])
                sound.speak(path)
    return said


class Knitter:
    """Knows which words belong to what was asked last.

    `mistakes` are made, for these words, until the sentence beside them is heard: a busy machine
    drops sound, and then there is nothing to refuse.
    """

    def __init__(self, mistakes: dict[str, list[tuple[np.ndarray, str]]] | None = None) -> None:
        self.mistakes = mistakes or {}
        self.words = ""
        self.trials = [NEXT]

    def __call__(self, line: str) -> np.ndarray | None:
        if "Your words are kept" in line:
            return None
        mistakes = self.mistakes.get(self.words, [])
        if mistakes and mistakes[0][1] in line:
            mistakes.pop(0)
        asked = [words for does, words in ASKS.items() if f"Say your words for: {does}." in line]
        self.words = asked[0] if asked else self.words
        if "any of them" in line or line.startswith("Understood"):
            self.words = self.trials[0]
            self.trials.append(self.trials.pop(0))
        mistakes = self.mistakes.get(self.words, [])
        return mistakes[0][0] if mistakes else sounds.say(self.words, SPEAKER, 140)


def modes(folder: Path) -> dict[str, int]:
    return {
        path.relative_to(folder).as_posix(): stat.S_IMODE(path.stat().st_mode)
        for path in sorted(folder.rglob("*"))
    }


def as_segment(word: np.ndarray) -> np.ndarray:
    """With the quiet before and after it that a segment has."""
    return np.concatenate([sounds.quiet(0.25), word, sounds.quiet(0.29)])


def closest(said: np.ndarray, texts: list[str]) -> str:
    """Which of the texts, spoken by the caller's voice, a recording is most like."""
    heard, likeness = resampled(said, RATE, 16_000), OwnVoiceLikeness()
    loud = np.flatnonzero(np.abs(heard) > LOUD)
    heard = as_segment(heard[loud[0] + 1_600 : loud[-1]])  # without the tone before it
    voice = EspeakVoice(int(RATE_WPM))
    rendered = {
        text: as_segment(
            resampled(
                np.concatenate([block.samples for block in voice.render(text)]), voice.rate, 16_000
            )
        )
        for text in texts
    }
    voice.close()
    return min(texts, key=lambda text: likeness.distance(heard, rendered[text]))


def test_a_lesson_by_ear_with_takes_that_must_be_refused(virtual_sound, tmp_path):
    word = sounds.say(NEXT, SPEAKER, 140).astype(float)
    too_soft = (word * 0.02).astype(np.int16)
    too_loud = np.clip(word * 10, -32768, 32767).astype(np.int16)
    other = sounds.say(NEXT, SPEAKER, 150)
    knitter = Knitter(
        {
            NEXT: [(too_soft, "That was too quiet."), (too_loud, "That was too loud.")],
            BACK: [(other, "That sounded like your words for: hear what follows.")],
        }
    )
    knitter.trials = [BACK, NEXT]
    store = tmp_path / "own"
    sitting = lesson(virtual_sound, store, "--commands", "next,back")
    said = hold(virtual_sound, sitting, knitter, tmp_path)
    assert sitting.ended() == ""
    told = "\n".join(sitting.told)
    for sentence in (
        "That was too quiet. Come nearer to the microphone, or speak up. Take 1.",
        "That was too loud. Speak more softly, or from farther away. Take 1.",
        "That sounded like your words for: hear what follows.",
        "Understood: hear what came before.",
        "All of them were understood. Your words are kept. Of your 6 takes, tried against the",
    ):
        assert sentence in told
    assert modes(tmp_path)["own"] == 0o700
    assert modes(store) == {
        name: mode
        for command in ("back", "next")
        for name, mode in {
            command: 0o700,
            **{f"{command}/take-{number}.wav": 0o600 for number in (1, 2, 3)},
        }.items()
    }
    # Each take is what the knitter said, and not what the caller said.
    likeness = OwnVoiceLikeness()
    for command, words in (("next", NEXT), ("back", BACK)):
        for path in (store / command).iterdir():
            take = read_sound(path).samples
            assert likeness.distance(take, as_segment(sounds.say(words, SPEAKER, 140))) < 1
    # The loudspeaker said what the screen showed.
    texts = ["Take two.", "Take three.", "Now say any of them; wait when you are done."]
    shown = {"Take 2.": texts[0], "Take 3.": texts[1], texts[2]: texts[2]}
    heard = [(shown[line], closest(sound, texts)) for line, sound in said if line in shown]
    assert len(heard) >= 5
    assert all(text == known for text, known in heard), heard


def test_a_lesson_left_half_way_is_carried_on_another_day(virtual_sound, tmp_path):
    store = tmp_path / "own"
    sitting = lesson(virtual_sound, store, "--commands", "next")
    knitter = Knitter()

    def leaves_after_one(line: str) -> np.ndarray | None:
        if line == "Take 2.":
            sitting.type("leave")
            return None
        return None if line.startswith("The lesson ends") else knitter(line)

    hold(virtual_sound, sitting, leaves_after_one, tmp_path)
    assert sitting.ended() == ""
    assert [path.name for path in (store / "next").iterdir()] == ["take-1.wav"]
    first = (store / "next" / "take-1.wav").read_bytes()
    sitting = lesson(virtual_sound, store, "--commands", "next")
    hold(virtual_sound, sitting, knitter, tmp_path)
    assert sitting.ended() == ""
    assert sitting.told[0].endswith("Say your words for: hear what follows. Take 2 of 3.")
    assert len(list((store / "next").iterdir())) == 3
    assert (store / "next" / "take-1.wav").read_bytes() == first


def test_what_the_loudspeaker_says_never_becomes_a_take(virtual_sound, tmp_path):
    """The microphone hears the loudspeaker at full level, as over a bad conference phone."""
    loop = virtual_sound._run(
        *("pactl", "load-module", "module-loopback", "source=speaker.monitor"),
        *("sink=mic_feed", "latency_msec=60"),
    )
    assert loop.returncode == 0, loop.stderr
    heard = tmp_path / "heard.wav"
    recorder = subprocess.Popen(
        ["parec", "--device=mic_feed.monitor", "--file-format=wav", str(heard)],
        env=virtual_sound.env,
    )
    try:
        sitting = lesson(virtual_sound, tmp_path / "own", "--commands", "next")
        while sitting.next_line() is not None:
            pass
        assert sitting.ended() == ""
    finally:
        virtual_sound._run("pactl", "unload-module", loop.stdout.decode().strip())
        recorder.terminate()
        recorder.wait()
    assert np.abs(read_sound(heard).samples).max() > 3000, "the microphone heard the loudspeaker"
    # Between the sentences there is nothing at all in a microphone that hears only this.
    unheard = ("No words were heard", "The microphone gives silence")
    assert len(sitting.told) == 4
    assert all(line.startswith(unheard) for line in sitting.told[1:]), sitting.told
    assert not (tmp_path / "own").exists()


def test_keys_of_a_terminal_lead_the_lesson(virtual_sound, tmp_path):
    pexpect = pytest.importorskip("pexpect")
    sitting = pexpect.spawn(
        sys.executable,
        ["-m", "caller", "teach", "--voice", "espeak", "--rate", "350", "--commands", "next,back"],
        env={**virtual_sound.env, "CALLER_OWN_VOICE": str(tmp_path / "own"), "TERM": "xterm"},
        encoding="utf-8",
        dimensions=(24, 400),
        timeout=60,
    )
    sitting.expect("Say your words for: hear what follows. Take 1 of 3.")
    for key, answer in [
        ("b", "This is the first take; there is none before it."),
        ("x", "That was not understood. R asks once more"),
        ("r", "Say your words for: hear what follows. Take 1 of 3."),
        ("p", "There is no take to play yet. Say your words for: hear what follows."),
        (" ", "Left out. Say your words for: hear what came before. Take 1 of 3."),
        ("q", "Taught: 0; not yet taught: 2. The same command goes on from here."),
    ]:
        sitting.send(key)
        sitting.expect_exact(answer)
    sitting.expect(pexpect.EOF)
    sitting.close()
    assert sitting.exitstatus == 0
    assert not (tmp_path / "own").exists()
