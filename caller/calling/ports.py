"""What the call needs from the world: the protocols that devices and stand-ins fulfil.

Every implementation passes the contract suites in tests/contracts.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from caller.calling.kept import Kept, Source
from caller.calling.place import Place
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill


@dataclass(frozen=True, eq=False)
class SoundBlock:
    """A piece of mono sound: `samples` int16 of shape (n,), `rate` in samples a second.

    `pan` is where it should come from, -1 the far left to 1 the far right, where the loudspeaker
    has two channels.
    """

    samples: NDArray[np.int16]
    rate: int
    pan: float = 0.0

    @property
    def seconds(self) -> float:
        return len(self.samples) / self.rate


def silence(seconds: float, rate: int) -> SoundBlock:
    return SoundBlock(np.zeros(round(seconds * rate), dtype=np.int16), rate)


class Voice(Protocol):
    """Turns text into sound; never plays it."""

    @property
    def rate(self) -> int:
        """Samples a second of the blocks it yields."""

    @property
    def rate_wpm(self) -> int:
        """How fast it speaks, in words a minute."""

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next sentence on; SettingError outside 80 to 350."""

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Get ready to speak these texts at this rate; a voice that is fast does nothing.

        They take the place of what was to be prepared before.
        """

    def render(self, text: str) -> Iterator[SoundBlock]:
        """Yield the text's sound from its beginning, the first block as early as possible.

        Closing the iterator cancels what is left. Text without a letter yields nothing.
        Raises VoiceError when the voice fails; it can be used again afterwards.
        """

    def close(self) -> None:
        """Let go of the voice; harmless when done twice."""


class Loudspeaker(Protocol):
    """One always-open way out for sound."""

    def play(self, blocks: Iterable[SoundBlock]) -> None:
        """Cut whatever sounds, drop whatever waits, and play these; returns at once.

        The blocks are drawn on another thread; an error they raise is kept for `wait`.
        """

    def add(self, blocks: Iterable[SoundBlock]) -> None:
        """Play these after whatever sounds and waits; returns at once."""

    def quiet_for(self) -> float:
        """Seconds since the last sound left the loudspeaker; 0.0 while anything sounds or waits."""

    def wait(self, timeout: float | None = None) -> bool:
        """Wait until nothing sounds or waits; False when `timeout` seconds were not enough.

        Raises SoundError when the device failed, or the error that the blocks raised, once.
        """

    def close(self) -> None:
        """Silence at once and let go of the device; harmless when done twice."""


class Microphone(Protocol):
    """A way in for sound, 16,000 samples a second, mono."""

    def blocks(self) -> Iterator[NDArray[np.int16]]:
        """Yield what is heard, as it comes, until closed; SoundError when the device fails."""

    def close(self) -> None:
        """Stop listening; harmless when done twice."""


class EchoRemover(Protocol):
    """Takes the loudspeaker's own sound out of what the microphone hears."""

    def clean(self, heard: NDArray[np.int16]) -> NDArray[np.int16]:
        """The next samples, 16,000 a second, without what the loudspeaker plays.

        What must wait a moment for it comes with a later portion, so the lengths may differ.
        Raises ListeningError once it is closed.
        """

    def soften(self) -> None:
        """Let the loudspeaker play softer for the next second, for someone seems to speak."""

    def close(self) -> None:
        """Let go of the loudspeaker; harmless when done twice."""


class SpeechDetector(Protocol):
    """Tells speech from other sound, 512 samples (32 ms) at a time."""

    def probability(self, samples: NDArray[np.int16]) -> float:
        """How likely these 512 samples at 16,000 a second are speech, 0 to 1."""

    def reset(self) -> None:
        """Forget what was heard before."""


@dataclass(frozen=True)
class Verdict:
    """What a recogniser makes of a segment: the phrase that was said, or None.

    `near_miss` when it was none but sounded so nearly like one that it was likely meant. `sure`
    when a phrase was so clearly said that no more quiet behind it need be waited for. `rival` is
    the sentence that comes next, where `phrase` is one with a number and it differs in that only;
    `close` when it is about as likely, as thirty is when thirteen was said.
    """

    phrase: str | None
    near_miss: bool = False
    sure: bool = False
    rival: str | None = None
    close: bool = False


NOTHING = Verdict(None)


class Recogniser(Protocol):
    """Decides which of the phrases it knows was said, or none."""

    @property
    def name(self) -> str:
        """A short name for the knitter: "pocketsphinx", "vosk", "own"."""

    def recognise(self, segment: NDArray[np.int16]) -> Verdict:
        """What was said in this segment (16,000 samples a second, mono); NOTHING for anything else.

        Raises ListeningError when the engine fails.
        """

    def close(self) -> None:
        """Let go of the engine; harmless when done twice."""


class TakeLikeness(Protocol):
    """How alike two takes of a command sound to the recogniser that will listen for them."""

    def distance(self, one: NDArray[np.int16], other: NDArray[np.int16]) -> float:
        """0 for the same sound; `takes.LIKE` and less where one would be heard as the other."""


@dataclass(frozen=True)
class Edge:
    """A key or pedal that went down or up.

    `source` names where it came from ("keys", "system", "device", "midi"), `key` what went down,
    as that source names it, and `at_s` is the time by `time.monotonic`.
    """

    source: str
    key: str
    down: bool
    at_s: float


class PedalSource(Protocol):
    """A pedal, or every key of the system: tells what goes down and up."""

    def edges(self) -> Iterator[Edge]:
        """Yield what is pressed and let go, as it comes, until closed.

        Raises PedalError when the pedal is taken away; the source can then be opened anew.
        """

    def close(self) -> None:
        """Let go of the device; harmless when done twice, and ends `edges` on any thread."""


class Journal(Protocol):
    """Keeps the place through slips and power cuts."""

    @property
    def looks_on(self) -> bool:
        """Whether another session calls this work, so that nothing can be written here."""

    def read(self) -> Kept | None:
        """What was kept last, None at the very start.

        Raises PlaceError when there is a record that cannot be read.
        """

    def take(self, pattern: Pattern, kept: Kept | None) -> None:
        """Go on with this pattern, laid as it is called, and with what was kept of the work; None
        for one that begins anew. It is written with the next place."""

    def write(self, place: Place, command: str = "", source: Source = "") -> None:
        """Keep this place, and which command led there from what; it is on the disk when this
        returns. PlaceError when it cannot be; the place before it is then kept still."""

    def row_times_s(self) -> tuple[float, ...]:
        """How many seconds the rows took that were knitted last, on evenings before."""

    def days_away(self) -> float:
        """How many days ago the work was called last; 0 where that is not known."""

    def marked(self) -> frozenset[int]:
        """The rows that the knitter has marked."""

    def mark(self, row: int, marked: bool) -> None:
        """Keep that a row is marked, or is no longer, as `write` keeps the place."""

    def remarks(self) -> Mapping[int, str]:
        """What the knitter noted, by rows."""

    def remark(self, row: int, text: str) -> None:
        """Keep a marked row's remark, as `write` keeps the place; "" for none."""

    def refills(self) -> tuple[Refill, ...]:
        """The bobbins that were filled during the work."""

    def refill(self, refills: tuple[Refill, ...]) -> None:
        """Keep the bobbins that were filled, as `write` keeps the place."""

    def close(self) -> None:
        """Let go of the record; harmless when done twice."""
