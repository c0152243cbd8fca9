"""Commands said while the caller speaks: listening_while_speaking.py [--engine NAME]

Prints, as counts, how many commands are heard over the caller's own rows, how many are taken for
another, and what the rows alone set off; without echo cancelling, with it, and with the call played
softer where a word begins. Half-duplex hears none of them, by its rule, and sets nothing off.

The rows are a demo pattern's, in the caller's own voice, one after the other; their echo comes by
the room of echoes.py. Each word has its own power, and the echo 10 dB less than the mean word, or
as much. Everything goes the way that it goes at the machine, in blocks of a tenth of a second, with
60 ms from the loudspeaker to the ear. Synthetic speakers, no real room or device: optimistic.
"""

import argparse
import queue
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import cycle
from pathlib import Path
from typing import Protocol

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
import echoes
import speakers
from engines import HEARD_TAKES, Engine, English, Own, Sphinx, english_listener
from intervals import Share
from scipy import signal
from sounds import RATE, Sound

from caller.calling.commands import BY_NAME, PHRASES, WORDS
from caller.calling.listening.listener import HeardPhrase, Listener
from caller.calling.speech import spoken
from caller.calling.words.row_call import row_call
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.sound.ducking import Ducking
from caller.devices.sound.echo_canceller import LoudspeakerEcho
from caller.devices.sound.resample import resampled
from caller.devices.voices.espeak import EspeakVoice
from caller.errors import CallerError
from caller.pattern.storage.pattern_file import load
from caller.settings import CallSettings

DEMO = Path(__file__).parents[2] / "demo_patterns" / "lighthouse.toml"
BLOCK = RATE // 10
LATE_S = 0.06
REVERBERATION_S = 0.3
SETTLE_S = 5.0
APART_S = 2.7
ECHOES_DB = (-10, 0)


@cache
def calls(seconds: float) -> Sound:
    """The rows of a pattern, half a second apart, at 16,000 samples a second."""
    voice, pattern, rows = EspeakVoice(), load(DEMO), []
    for number in cycle(range(1, pattern.script.rows + 1)):
        said = row_call(pattern, pattern.script.row(number), CallSettings())
        blocks = [block.samples for block in spoken(voice, said)]
        whole = np.concatenate([*blocks, np.zeros(voice.rate // 2, np.int16)])
        rows.append(resampled(whole, voice.rate, RATE))
        if sum(map(len, rows)) > seconds * RATE:
            break
    voice.close()
    return np.concatenate(rows)[: round(seconds * RATE)]


class Remover(Protocol):
    def clean(self, heard: Sound) -> Sound: ...
    def soften(self) -> None: ...


class Playing:
    """A loudspeaker in a room: what is played next, and what of it the microphone hears."""

    rate = RATE

    def __init__(self, sound: Sound, level_db: float, softer: bool) -> None:
        """`level_db`: of the echo, against the full call."""
        self._sound, self._softer = sound, softer
        self._ducking = Ducking(RATE)
        self._told: queue.SimpleQueue[Sound | None] | None = None
        response = echoes.room(REVERBERATION_S, LATE_S)
        whole = signal.fftconvolve(sound.astype(float), response)[: len(sound)]
        power = np.mean(sound.astype(float) ** 2) * 10 ** (level_db / 10) / np.mean(whole**2)
        self._response = response * np.sqrt(power)
        self._coming = np.zeros(BLOCK + len(response) - 1)
        self.softened = 0

    def tell(self, played: "queue.SimpleQueue[Sound | None] | None") -> None:
        self._told = played

    def soften(self) -> None:
        self.softened += 1
        if self._softer:
            self._ducking.soften()

    def echo(self, start: int) -> np.ndarray:
        """Play the next tenth of a second, and hear what comes back within it."""
        part = self._ducking.apply(self._sound[start : start + BLOCK, None])[:, 0]
        if self._told is not None:
            self._told.put(part)
        coming = signal.fftconvolve(part.astype(float), self._response)
        coming[: len(self._coming) - BLOCK] += self._coming[BLOCK:]
        self._coming = coming
        return coming[:BLOCK]


class Nothing:
    """Listening without an echo canceller."""

    def __init__(self, _playing: Playing) -> None:
        pass

    def clean(self, heard: Sound) -> Sound:
        return heard

    def soften(self) -> None:
        pass


@dataclass
class Count:
    said: int = 0
    hit: int = 0
    wrong: int = 0
    beside: int = 0
    nearly: int = 0
    minutes: float = 0.0
    softened_s: float = 0.0


MODES = {
    "as it comes": (Nothing, False),
    "cancelled": (LoudspeakerEcho, False),
    "cancelled, softer": (LoudspeakerEcho, True),
}


def heard_in(
    said: np.ndarray, listener: Listener, mode: str, level_db: float, count: Count
) -> Iterator[HeardPhrase]:
    """Let `said` come to the ear over the calls; the echo is `level_db` below full power."""
    remover_of, softer = MODES[mode]
    playing = Playing(calls(len(said) / RATE), level_db, softer)
    remover: Remover = remover_of(playing)  # type: ignore[operator]
    for start in range(0, len(said) - BLOCK + 1, BLOCK):
        near = echoes.as_sound(said[start : start + BLOCK] + playing.echo(start))
        for one in listener.feed(remover.clean(near)):
            if isinstance(one, HeardPhrase):
                yield one
            else:
                count.nearly += 1
        if listener.in_word:
            remover.soften()
            count.softened_s += BLOCK / RATE
    count.minutes += len(said) / RATE / 60


def listener_of(engine: Engine, speaker: speakers.Speaker) -> Listener:
    if engine.name == "english":
        return english_listener()
    words = BY_NAME if engine.personal else WORDS
    return Listener(SileroDetector(), engine.recogniser_of(speaker), words=words)


def level_of(words: Sequence[Sound]) -> float:
    """The mean power of the words, in decibels of the calls' own."""
    power = np.mean(np.concatenate(words).astype(float) ** 2)
    return float(10 * np.log10(power / np.mean(calls(60).astype(float) ** 2)))


def say_over(
    engine: Engine, people: Sequence[speakers.Speaker], mode: str, echo_db: float
) -> Count:
    count = Count()
    for speaker in people:
        words = speakers.said(speaker, engine.words, HEARD_TAKES[0])
        stream, starts = [np.zeros(round(SETTLE_S * RATE))], []
        for word in words:
            starts.append(sum(map(len, stream)) / RATE)
            stream += [word.astype(float), np.zeros(round(APART_S * RATE))]
        level = level_of(words) + echo_db
        found = list(
            heard_in(np.concatenate(stream), listener_of(engine, speaker), mode, level, count)
        )
        for word, sound, start in zip(engine.words, words, starts, strict=True):
            ends = start + len(sound) / RATE
            there = [one for one in found if start - 0.4 < one.at_s < ends + 0.2]
            count.said += 1
            count.hit += any(one.phrase == word for one in there)
            count.wrong += any(one.phrase != word for one in there)
            found = [one for one in found if one not in there]
        count.beside += len(found)
    return count


def rows_alone(
    engine: Engine, speaker: speakers.Speaker, mode: str, level: float, minutes: float
) -> Count:
    count = Count()
    nobody = np.random.default_rng(2).normal(0, 10, round(minutes * 60 * RATE))
    count.beside = len(list(heard_in(nobody, listener_of(engine, speaker), mode, level, count)))
    return count


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument(
        "--engine", choices=["english", "own", "pocketsphinx"], help="only this one"
    )
    parser.add_argument("--speakers", type=int, default=9, help="at most so many")
    parser.add_argument("--tiny", action="store_true", help="as little as shows that it runs")
    parser.add_argument("--minutes", type=float, default=10.0, help="of the rows alone")
    parser.add_argument("--mode", action="append", choices=MODES, help="only this one")
    asked = parser.parse_args()
    people = speakers.speakers("check")
    people = people[:: max(1, -(-len(people) // asked.speakers))]
    if asked.tiny:
        people, asked.minutes, asked.engine = people[:1], 0.05, None
    print(f"{len(people)} speakers: {', '.join(one.name for one in people)}")
    print("echo against the word; half-duplex: 0 heard, 0 set off, by its rule")
    for engine in (Sphinx(words=PHRASES[:1]),) if asked.tiny else (English(), Sphinx(), Own()):
        if asked.engine not in (None, engine.name):
            continue
        try:
            engine.recogniser_of(people[0])
        except (CallerError, ImportError) as error:
            print(f"{engine.name}: left out ({error})")
            continue
        words = speakers.said(people[0], engine.words, HEARD_TAKES[0])
        alone = say_over(engine, people, "as it comes", -np.inf)
        print(f"{engine.name:7} no call  {'':18} heard {Share(alone.hit, alone.said)}, ", end="")
        print(f"wrong {alone.wrong}, nearly {alone.nearly}", flush=True)
        for echo_db in ECHOES_DB[: 1 if asked.tiny else None]:
            for mode in asked.mode or list(MODES)[: 1 if asked.tiny else None]:
                one = say_over(engine, people, mode, echo_db)
                print(
                    f"{engine.name:7}{echo_db:4} dB  {mode:18} heard {Share(one.hit, one.said)}, "
                    f"wrong {one.wrong}, nearly {one.nearly}, beside the words {one.beside} "
                    f"in {one.minutes:.1f} min",
                    flush=True,
                )
                if not asked.minutes:
                    continue
                level = level_of(words) + echo_db
                alone = rows_alone(engine, people[0], mode, level, asked.minutes)
                print(
                    f"{'':15}rows alone, {alone.minutes:.1f} min: set off {alone.beside}, nearly "
                    f"{alone.nearly}, softened {alone.softened_s:.0f} s",
                    flush=True,
                )


if __name__ == "__main__":
    main()
