"""Calls by the hundred, cut at any moment: no thread stays, nothing is said twice or lost.

The session and the loudspeaker are the real ones; the sound stream is a quick one that keeps on a
tape what would sound. What must be on the tape comes from the session as a pure function.
"""

import random
import threading
import time
from collections import defaultdict
from collections.abc import Iterable, Iterator
from itertools import count
from types import SimpleNamespace

import numpy as np
import pytest
from silent_voice import SilentVoice

from caller.calling import loop, session
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.ports import SoundBlock
from caller.calling.state import Answer
from caller.calling.words.utterance import kept_apart
from caller.devices.sound import loudspeaker as sound_card
from caller.devices.sound import portaudio
from caller.devices.sound.loudspeaker import SoundCardLoudspeaker
from caller.devices.voices.prerendered import Prerendered
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

CALLS = 300
RATE = 3_000_000  # so that what sounds takes no time
FRAMES = 300  # a multiple of the three samples that a word has
ORDERS = [Command.NEXT, Command.NEXT, Command.BACK, Command.REPEAT, Command.WHERE]
ORDERS += [Command.FASTER, Command.SLOWER, Command.HELP, Command.SUPPLIES]
GRID = np.array([[0, 0, 1, 1], [0, 1, 1, 1], [0, 0, 0, 1]] * 5, dtype=np.uint8)
PATTERN = Pattern("Rows", Chart(GRID), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))
SETTINGS = CallSettings(signals="off", pause_s=0)


class QuickStream:
    """Draws sound as fast as it comes, and keeps what is no silence."""

    latency = 0.0

    def __init__(self, callback, **_: object) -> None:
        self._callback = callback
        self._open = True
        self._thread = threading.Thread(target=self._draw, name="stream")
        self.tape: list[np.ndarray] = []

    def start(self) -> None:
        self._thread.start()

    def _draw(self) -> None:
        times = SimpleNamespace(outputBufferDacTime=1e-6, currentTime=0.0)
        while self._open:
            out = np.zeros((FRAMES, 1), dtype=np.int16)
            self._callback(out, FRAMES, times, None)
            words = out.reshape(-1, 3)
            words = words[words[:, 0] != 0]
            self.tape.append(words)
            if not len(words):
                time.sleep(1e-4)

    def abort(self) -> None:
        self._open = False
        self._thread.join()

    close = abort


class WordVoice(SilentVoice):
    """A block of one sample a word: the number of the word."""

    rate = RATE

    def __init__(self) -> None:
        super().__init__()
        self.numbers: dict[str, int] = defaultdict(count(1).__next__)

    def render(self, text: str) -> Iterator[SoundBlock]:
        for word in text.split():
            yield SoundBlock(np.array([self.numbers[word]], dtype=np.int16), RATE)


class Numbered(SoundCardLoudspeaker):
    """Puts before each block's sample the number of the call that it belongs to, and its own."""

    calls = 0

    def add(self, blocks: Iterable[SoundBlock]) -> None:
        self.calls += 1
        super().add(numbered(blocks, self.calls))


def numbered(blocks: Iterable[SoundBlock], call: int) -> Iterator[SoundBlock]:
    words = (block for block in blocks if block.samples.any())
    for number, block in enumerate(words, 1):
        yield SoundBlock(np.array([call, number, *block.samples], dtype=np.int16), RATE)


class Knitter:
    """Gives orders at random moments: at once, soon, or when all has been said."""

    def __init__(self, loudspeaker: Numbered) -> None:
        self._random = random.Random(7)
        self._loudspeaker = loudspeaker
        self.orders: list[Command] = []
        self.heard_out: set[int] = set()  # calls that were not cut

    def get(self, timeout: float) -> Command:  # noqa: ARG002 (the queue's)
        kind = self._random.randrange(3)
        if kind == 0 or len(self.orders) == CALLS:
            end = time.monotonic() + 20
            while not self._loudspeaker.quiet_for() and time.monotonic() < end:
                time.sleep(1e-4)
            self.heard_out.add(self._loudspeaker.calls)
        elif kind == 1:
            time.sleep(self._random.random() * 5e-4)
        order = Command.LEAVE
        if len(self.orders) < CALLS:
            order = self._random.choice(ORDERS)
        self.orders.append(order)
        return order

    def put(self, event: object) -> None:
        raise AssertionError(event)


def expected(orders: list[Command], rate_wpm: int) -> Iterator[list[str]]:
    """The words of every answer, by the pure session."""
    answer = session.begin(PATTERN, SETTINGS, None, rate_wpm)
    yield words_of(answer)
    for order in orders:
        answer = session.step(PATTERN, SETTINGS, answer.state, order)
        yield words_of(answer)


def words_of(answer: Answer) -> list[str]:
    return [word for clause in kept_apart(answer.say) for word in clause.said.split()]


def sound_threads() -> list[str]:
    ours = {"loudspeaker", "prerendering", "stream"}
    return sorted(thread.name for thread in threading.enumerate() if thread.name in ours)


@pytest.mark.parametrize("ahead", [False, True])
def test_hundreds_of_calls(monkeypatch, ahead):
    library = SimpleNamespace(OutputStream=QuickStream, PortAudioError=OSError)
    for module in (sound_card, portaudio):
        monkeypatch.setattr(module, "sound_library", lambda: library)
    quick = WordVoice()
    voice = Prerendered(quick) if ahead else quick
    loudspeaker = Numbered(RATE)
    knitter = Knitter(loudspeaker)
    places = SimpleNamespace(
        write=lambda *_: None,
        marked=frozenset,
        refills=tuple,
        remarks=dict,
        row_times_s=tuple,
        days_away=float,
        looks_on=False,
    )
    shown: list[str] = []
    loop.run(PATTERN, Desk(voice, loudspeaker, places, shown.append, knitter), None, SETTINGS)
    assert loudspeaker.wait(10)

    end = time.monotonic() + 10
    left = ["loudspeaker", *(["prerendering"] if ahead else []), "stream"]
    while sound_threads() != left and time.monotonic() < end:
        time.sleep(0.01)
    assert sound_threads() == left, "one feeder, however often it was cut"
    loudspeaker.close()
    voice.close()
    assert sound_threads() == []

    assert len(shown) == CALLS + 2
    tape = np.concatenate(loudspeaker._stream.tape)
    calls, numbers, words = tape.T
    assert (np.diff(calls) >= 0).all(), "in order"
    spelled = {number: word for word, number in quick.numbers.items()}
    whole = cut = 0
    for answer, wanted in enumerate(expected(knitter.orders, 160)):
        call = 1 + 2 * answer  # the cut before each answer is a call of its own
        this = slice(*np.searchsorted(calls, [call, call + 1]))
        said = [spelled[word] for word in words[this]]
        assert numbers[this].tolist() == list(range(1, len(said) + 1)), "nothing twice"
        assert said == wanted[: len(said)]
        cut += 0 < len(said) < len(wanted)
        if call in knitter.heard_out or answer == CALLS + 1:
            assert said == wanted, "nothing lost"
            whole += 1
    assert set(calls.tolist()) <= set(range(1, 2 * CALLS + 4, 2))
    assert whole > CALLS / 4
    assert cut > 0, "some were cut in the middle, so that this was worth the while"
