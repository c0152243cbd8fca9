"""A lesson at work in a room where the microphone hears the loudspeaker too.

The room has a clock of its own, so that minutes of a lesson pass in seconds.
"""

import threading
import time
from collections.abc import Callable

import numpy as np
import pytest
import sounds
from silent_voice import SilentVoice

from caller.calling.commands import Command
from caller.calling.enrolment import lesson as enrolment
from caller.calling.enrolment import runner
from caller.calling.enrolment.takes import Outlook
from caller.calling.events import Pressed, Typed
from caller.calling.listening.blocks import BLOCK_S, BLOCK_SAMPLES, RATE
from caller.calling.ports import NOTHING, SoundBlock, Verdict
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.sound.resample import resampled
from caller.devices.voices.espeak import EspeakVoice
from caller.errors import ListeningError, SoundError

ASKED = (Command.NEXT, Command.REPEAT)
WORDS = {"hear what follows": "weiter bitte", "hear it again": "noch einmal"}
SPEAKER = "en+f3"


class Room:
    """A loudspeaker, a microphone that hears it after `delay_s`, and a knitter who answers.

    `answers` gives the sound of the answer to what was shown, or None.
    """

    def __init__(self, answers, echo=0.5, delay_s=0.2, reaction_s=0.6):
        self.answers: Callable[[str], np.ndarray | None] = answers
        self.echo, self.delay, self.reaction_s = echo, round(delay_s * RATE), reaction_s
        self.inbox = runner.Inbox()
        self.lines: list[str] = []
        self.kept: dict[Command, list[np.ndarray]] = {}
        self.lock = threading.Lock()
        self.now = 0  # samples
        self.sounding = np.zeros(0, dtype=np.int16)
        self.out = np.zeros(60 * RATE, dtype=np.int16)
        self.began = self.until = -60 * RATE
        self.thought: np.ndarray | None = None
        self.answer: np.ndarray | None = None
        self.saying = np.zeros(0, dtype=np.int16)
        self.closed = False
        self.error: Exception | None = None

    # The loudspeaker.
    def play(self, blocks):
        parts = [resampled(block.samples, block.rate, RATE) for block in blocks]
        sound = np.concatenate([np.zeros(0, dtype=np.int16), *parts])
        with self.lock:
            self.out[:] = 0
            self.out[: len(sound)] = sound
            self.began, self.until = self.now, self.now + len(sound)
            self.answer, self.thought = self.thought, None

    def quiet_for(self):
        return max(0, self.now - self.until) / RATE

    def wait(self, _timeout):
        return True

    # The microphone.
    def blocks(self):
        while not self.closed:
            if not self.inbox.empty():  # the room waits for the lesson
                time.sleep(0.0005)
                continue
            yield np.concatenate([self.heard() for _ in range(4)])
            if self.error is not None:
                raise self.error

    def heard(self) -> np.ndarray:
        with self.lock:
            block = sounds.quiet(BLOCK_S)[:BLOCK_SAMPLES].astype(float)
            at = self.now - self.began - self.delay
            if 0 <= at < len(self.out) - BLOCK_SAMPLES:
                block += self.out[at : at + BLOCK_SAMPLES] * self.echo
            if self.answer is not None and self.quiet_for() > self.reaction_s:
                self.saying, self.answer = self.answer, None
            spoken, self.saying = self.saying[:BLOCK_SAMPLES], self.saying[BLOCK_SAMPLES:]
            block[: len(spoken)] += spoken
            self.now += BLOCK_SAMPLES
            return np.clip(block, -32768, 32767).astype(np.int16)

    def close(self):
        self.closed = True

    # The screen and the disk.
    def show(self, line):
        self.lines.append(line)
        with self.lock:
            self.thought = self.answers(line)

    def keep(self, command, takes):
        self.kept[command] = list(takes)


class ByBands:
    """A stand-in for the ear: how the power lies in time and pitch, coarsely."""

    def distance(self, one, other):
        return float(np.abs(bands(one) - bands(other)).mean()) / 6


def bands(samples: np.ndarray) -> np.ndarray:
    parts = np.array_split(samples.astype(float), 12)
    spectra = [np.abs(np.fft.rfft(part, 1024))[4:260].reshape(16, 16).sum(axis=1) for part in parts]
    return 20 * np.log10(np.array(spectra) + 1000)


class Nearest:
    """A stand-in for the ear of the trial."""

    name = "own"

    def __init__(self, taught):
        self.taught = taught
        self.closed = False

    def recognise(self, segment):
        far = {
            command.value: min(ByBands().distance(segment, take) for take in takes)
            for command, takes in self.taught.items()
        }
        best = min(far, key=far.get)
        return Verdict(best) if far[best] <= 1 else NOTHING

    def close(self):
        self.closed = True


def outlook_of(taught):
    count = sum(map(len, taught.values()))
    return Outlook(takes=count, quiet=count, noise=count - 1, room=count - 2)


def hold(room: Room, voice=None, asked=ASKED, taught=None) -> enrolment.EnrolmentLesson:
    recognisers = []

    def open_recogniser(taught):
        recognisers.append(Nearest(taught))
        return recognisers[-1]

    voice = voice or EspeakVoice()
    opened = enrolment.begin(asked, 3, taught or {})
    parts = (room, room, SileroDetector(), ByBands(), lambda _take: None)
    parts += (open_recogniser, outlook_of, room.keep)
    parts += (lambda take: SoundBlock(resampled(take, RATE, voice.rate), voice.rate),)
    parts += (room.show, room.inbox)
    try:
        return runner.run(opened, runner.EnrolmentDesk(voice, *parts))
    finally:
        voice.close()
        assert all(one.closed for one in recognisers)
        assert not any(thread.name == "microphone" for thread in threading.enumerate())


def words_for(line: str) -> str | None:
    """What a knitter answers to a question; they remember what was asked last."""
    return next((words for does, words in WORDS.items() if f"for: {does}. Take" in line), None)


class Knitter:
    """Answers with the words of the command that was asked for, a little different each time."""

    def __init__(self, *mistakes: np.ndarray):
        self.mistakes = list(mistakes)
        self.words = ""
        self.trials = ["noch einmal", "weiter bitte"]
        self.count = 0

    def __call__(self, line: str) -> np.ndarray | None:
        self.words = words_for(line) or self.words
        if self.mistakes and "Take " in line:
            return self.mistakes.pop(0)
        if "any of them" in line or "Understood" in line:
            self.words = self.trials.pop(0) if self.trials else ""
        self.count += 1
        gain = (1.0, 0.8, 0.9)[self.count % 3]
        return (sounds.say(self.words, SPEAKER, 140) * gain).astype(np.int16)


def test_a_lesson_from_its_opening_to_its_trial():
    room = Room(Knitter())
    end = hold(room)
    assert end.trying
    assert {command: len(takes) for command, takes in room.kept.items()} == dict.fromkeys(ASKED, 3)
    assert room.lines[1:] == [
        "Take 2.",
        "Take 3.",
        "Say your words for: hear it again. Take 1 of 3.",
        "Take 2.",
        "Take 3.",
        "Now say any of them; wait when you are done.",
        "Understood: hear it again.",
        "Understood: hear what follows. All of them were understood. Your words are kept. "
        "Of your 6 takes, tried against the others, 6 are heard in quiet, 5 beside a noise, "
        "4 across a room.",
    ]
    # What is kept is the words, sample by sample but for the room, whose hiss is under 70.
    word = sounds.say("weiter bitte", SPEAKER, 140) * 0.8
    take = room.kept[Command.NEXT][0].astype(float)
    match = np.correlate(take, word, "full").argmax() - len(word) + 1
    begin, end_ = max(0, match), min(len(take), match + len(word))
    assert np.abs(take[begin:end_] - word[begin - match : end_ - match]).max() < 70


def test_a_take_is_played_back_as_it_was_said_and_is_not_heard_again():
    room = Room(Knitter())
    shown, played = room.show, []

    def show(text):
        shown(text)
        if text == "Take 2." and not played:
            room.inbox.put(Pressed("p"))
        elif text == "Your last take.":
            played.append(True)
            room.thought = None

    room.show = show
    play = room.play

    def listen(blocks):
        play(blocks)
        if played == [True]:
            played.append(room.out.copy())
            room.inbox.put(Pressed("q"))

    room.play = listen
    hold(room)
    assert room.lines[-2] == "Your last take."
    assert len(room.kept[Command.NEXT]) == 1
    take, sounded = room.kept[Command.NEXT][0].astype(float), played[1].astype(float)
    count = len(sounded) + len(take) - 1
    spectrum = np.fft.rfft(sounded, count) * np.fft.rfft(take, count).conj()
    match = np.fft.irfft(spectrum, count)[: len(sounded) - len(take) + 1].argmax()
    assert np.corrcoef(sounded[match : match + len(take)], take)[0, 1] > 0.99


def test_takes_with_a_fault_are_refused_and_said_again():
    word = sounds.say("weiter bitte", SPEAKER, 140).astype(float)
    mistakes = [
        (word * 0.02).astype(np.int16),
        np.clip(word * 8, -32768, 32767).astype(np.int16),
    ]
    room = Room(Knitter(*mistakes))
    hold(room)
    assert room.lines[1].startswith("That was too quiet.")
    assert room.lines[2].startswith("That was too loud.")
    assert [len(takes) for takes in room.kept.values()] == [3, 3]


def test_its_own_voice_in_the_microphone_never_becomes_a_take():
    """Nobody answers; the microphone hears the loudspeaker at full level a fifth of a second late
    (the delay of a sound card and of a living room is less)."""
    room = Room(lambda _: None, echo=1.0, delay_s=0.2)
    end = hold(room)
    assert room.kept == {}
    assert end.fresh == ()
    assert [line.split(".")[0] for line in room.lines[1:]] == [
        *["No words were heard"] * (enrolment.MOST_UNANSWERED - 1),
        "No words were heard for a while, so the lesson ends",
    ]


def test_ears_that_were_open_while_it_speaks_would_take_its_own_voice(monkeypatch):
    """So that the test above can fail."""
    monkeypatch.setattr(runner, "DEAF_S", -1.0)
    room = Room(lambda _: None, echo=1.0, delay_s=0.2)
    room.answers = lambda _: room.inbox.put(Command.LEAVE) if len(room.lines) == 4 else None
    hold(room)
    assert any(line.startswith(("Take", "That")) for line in room.lines[1:])


def test_who_speaks_before_the_ears_are_open_is_asked_to_wait():
    word = sounds.say("weiter bitte", SPEAKER, 140)
    room = Room(lambda _: word if len(room.lines) == 1 else None, reaction_s=0.05)
    hold(room, asked=ASKED[:1])
    assert room.kept == {}
    assert room.lines[1].startswith("Part of it was cut off. Wait for quiet, then speak")


@pytest.mark.parametrize("line", [Typed("leave\n"), Pressed("q"), Command.LEAVE])
def test_keys_and_lines_are_taken_and_what_is_kept_stays(line):
    room = Room(Knitter())
    shown = room.show

    def show(text):
        shown(text)
        if text == "Take 3.":
            room.inbox.put(line)

    room.show = show
    hold(room)
    assert room.lines[-1].startswith("The lesson ends.")
    assert len(room.kept[Command.NEXT]) == 2


def test_a_voice_that_fails_is_told_and_the_lesson_goes_on():
    room = Room(Knitter())
    hold(room, SilentVoice(fails_on="Take two"))
    assert "The voice has failed." in room.lines
    assert [len(takes) for takes in room.kept.values()] == [3, 3]


def test_a_microphone_that_is_taken_away_ends_it_with_a_sentence():
    room = Room(Knitter())
    room.keep = lambda command, takes: (
        room.kept.update({command: takes}),
        setattr(room, "error", SoundError("The microphone was taken away.")),
    )
    with pytest.raises(SoundError, match="taken away"):
        hold(room)
    assert len(room.kept[Command.NEXT]) == 1


def test_a_disk_that_refuses_ends_it_before_anything_is_said():
    room = Room(Knitter())

    def refuse(command, takes):
        raise ListeningError("Your takes cannot be kept.")

    room.keep = refuse
    with pytest.raises(ListeningError, match="cannot be kept"):
        hold(room)
    assert len(room.lines) == 1


def test_a_muted_microphone_is_told():
    room = Room(lambda _: None)
    room.heard = lambda: (
        setattr(room, "now", room.now + BLOCK_SAMPLES),
        np.zeros(BLOCK_SAMPLES, dtype=np.int16),
    )[1]
    hold(room)
    assert "it may be muted" in room.lines[1]
