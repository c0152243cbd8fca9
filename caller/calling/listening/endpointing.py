"""Finds single words and short phrases in running sound: pure, 512 samples at a time.

A command is said by itself, with a little quiet on each side. Talk that runs on is dropped whole,
so that a phrase inside a conversation is no command.
"""

import math
from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import BLOCK_S, BLOCK_SAMPLES, RATE
from caller.errors import SettingError


@dataclass(frozen=True)
class EndpointSettings:
    """When talk begins and ends, as probabilities of speech and seconds.

    Talk begins with a block at `on_probability` and ends after `hangover_s` below
    `off_probability`.
    A segment also holds the `pre_roll_s` before the talk and the hangover after it; `shortest_s`
    and `longest_s` bound the talk between them. After `early_s` of quiet the talk so far can be
    looked at, before it is known to have ended; a look takes about a tenth of a second, and what
    it is sure of may be taken for whole after `sure_s` of quiet. SettingError for values that
    contradict one another; the pre-roll may not exceed the hangover, or a segment could hold the
    end of the talk before it.
    """

    on_probability: float = 0.5
    off_probability: float = 0.35
    hangover_s: float = 0.29
    pre_roll_s: float = 0.25
    shortest_s: float = 0.25
    longest_s: float = 1.6
    early_s: float | None = None
    sure_s: float = 0.1

    def __post_init__(self) -> None:
        if not (
            0 < self.off_probability <= self.on_probability < 1
            and self.hangover_s >= max(BLOCK_S, self.pre_roll_s)
            and self.pre_roll_s >= 0
            and 0 <= self.shortest_s <= self.longest_s
            and (self.early_s is None or BLOCK_S <= self.early_s <= self.sure_s < self.hangover_s)
        ):
            raise SettingError(
                "These settings for finding words contradict one another",
                "the speech probability must be lower for off than for on, the pre-roll no "
                "longer than the hangover, the shortest word no longer than the longest, and the "
                "early look before what is sure is taken, within the hangover.",
            )


@dataclass(frozen=True, eq=False)
class Segment:
    """One piece of talk: int16 samples of shape (n,), which lie at start_s to end_s of the stream.

    `word_s` is where the talk itself begins, after the pre-roll; `quiet_s` is how long nobody had
    talked before that, infinite where no talk is known of.
    """

    samples: NDArray[np.int16]
    start_s: float
    word_s: float
    end_s: float
    quiet_s: float = math.inf


class Endpointer:
    """Finds the segments in a stream; holds at most the longest talk, however long people talk."""

    def __init__(self, settings: EndpointSettings | None = None) -> None:
        self.settings = settings or EndpointSettings()
        self._hangover = _blocks(self.settings.hangover_s)
        self._shortest = _blocks(self.settings.shortest_s)
        self._longest = _blocks(self.settings.longest_s)
        early_s = self.settings.early_s
        self._early_after = None if early_s is None else _blocks(early_s)
        self._sure_after = _blocks(self.settings.sure_s)
        self._before: deque[NDArray[np.int16]] = deque(maxlen=_blocks(self.settings.pre_roll_s))
        self._position = 0
        self._held: list[NDArray[np.int16]] | None = None
        self._talk_ended_at: int | None = None
        self._quiet_s = math.inf
        self._quiet()

    @property
    def in_word(self) -> bool:
        """Whether talk has begun that is short enough, so far, to be a command."""
        return self._talking and self._held is not None

    @property
    def early(self) -> Segment | None:
        """The talk so far, in the one block with which its quiet has lasted `early_s`."""
        return self._after(self._early_after)

    @property
    def settled(self) -> Segment | None:
        """The same with `sure_s`, after which `end` may be called."""
        return self._after(self._sure_after)

    def _after(self, quiet: int | None) -> Segment | None:
        if self._blocks - self._talk != quiet or not self._talking:
            return None
        return self._segment(self._held, self._word_at, self._talk)

    def end(self) -> None:
        """Take the talk so far for ended; what comes next begins anew."""
        quiet = self._blocks - self._talk
        if self._held is not None and quiet:
            held = self._held[-quiet:]
            self._talk_ends()
            self._quiet()
            self._before.extend(held)

    def overhear(self, block: NDArray[np.int16]) -> None:
        """Take 512 samples that begin and end no talk, but may hold the beginning of what comes."""
        self._position += BLOCK_SAMPLES
        self._before.append(block.copy())
        self._talk_ended_at = None
        self._quiet()

    def feed(self, block: NDArray[np.int16], probability: float) -> Segment | None:
        """Take 512 samples and how likely they are speech; give the segment they complete."""
        if len(block) != BLOCK_SAMPLES:
            raise ValueError(f"a block has {BLOCK_SAMPLES} samples, not {len(block)}")
        self._position += BLOCK_SAMPLES
        if not self._talking:
            if probability < self.settings.on_probability:
                self._before.append(block.copy())
                return None
            self._begin()
        self._blocks += 1
        if self._held is not None:
            self._held.append(block.copy())
        if probability >= self.settings.off_probability:
            self._talk = self._blocks
            if self._talk > self._longest:
                self._held = None  # too long to be a command: only its end is waited for
        elif self._blocks - self._talk >= self._hangover:
            return self._end()
        return None

    def skip(self, samples: int) -> None:
        """Forget what was fed, and let this many samples pass unheard."""
        self._position += samples
        self._before.clear()
        self._talk_ended_at = None
        self._quiet()

    def _quiet(self) -> None:
        self._talking = False
        self._blocks = self._talk = self._word_at = 0
        self._held = None

    def _begin(self) -> None:
        self._talking = True
        self._held = list(self._before)
        self._word_at = self._position - BLOCK_SAMPLES
        if self._talk_ended_at is None:
            self._quiet_s = math.inf
        else:
            self._quiet_s = (self._word_at - self._talk_ended_at) / RATE
        self._before.clear()

    def _talk_ends(self) -> None:
        """What is too short to be a word was no talk either."""
        if self._talk >= self._shortest:
            self._talk_ended_at = self._word_at + self._talk * BLOCK_SAMPLES

    def _end(self) -> Segment | None:
        held, word_at, talk = self._held, self._word_at, self._talk
        self._talk_ends()
        self._quiet()
        if held is not None:
            self._before.extend(held[-self._hangover :])
        return self._segment(held, word_at, talk)

    def _segment(
        self, held: list[NDArray[np.int16]] | None, word_at: int, talk: int
    ) -> Segment | None:
        if held is None or talk < self._shortest:
            return None
        samples = np.concatenate(held)
        start = self._position - len(samples)
        word_s, end_s = word_at / RATE, self._position / RATE
        return Segment(samples, start / RATE, word_s, end_s, self._quiet_s)


def _blocks(seconds: float) -> int:
    return round(seconds / BLOCK_S)
