"""Takes: one command said once, and whether it is fit to be known again by. Pure.

Levels are in decibels as in `level`. The bounds were set by synthetic voices and noise, not by
people and rooms; each is far from both what is good and what is bad there.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import Command
from caller.calling.listening.blocks import BLOCK_SAMPLES, RATE, Blocks
from caller.calling.listening.endpointing import Endpointer, EndpointSettings, Segment
from caller.calling.listening.level import CLEAR_DB, CLIPPED_S, measured
from caller.calling.ports import SpeechDetector, TakeLikeness

Sound = NDArray[np.int16]
"""Samples of shape (n,), mono, 16,000 a second."""

HeardAs = Callable[[Sound], Command | None]
"""The command that a sound is heard as without takes, by a phrase or a sentence with a number."""

TAKING = EndpointSettings(shortest_s=0.1, longest_s=6.0)
"""Wider than for listening, so that what is too short or too long can be told of."""

ENOUGH = 3
"""Takes of a command before it is listened for."""
MOST = 9
"""More takes of one command make listening slow, and nothing surer."""

LIKE = 1.0
"""At this distance (`TakeLikeness`) and below, two takes are heard as the same words."""

_QUIET_DB = -50.0
_EDGE_S = 0.02  # quiet that there must be on each side
_EDGE_DB = 10.0  # how far below the talk it must be


class Finding(Enum):
    """What is wrong with a take: the name of the fault, what is said, and what to do."""

    QUIET = ("quiet", "That was too quiet.", "Come nearer to the microphone, or speak up.")
    CLIPPED = ("clipped", "That was too loud.", "Speak more softly, or from farther away.")
    CUT_OFF = (
        "cut off",
        "Part of it was cut off.",
        "Wait for quiet, then speak, and stay quiet for a moment afterwards.",
    )
    SHORT = ("short", "That was too short.", "Choose a longer word, or two words.")
    LONG = (
        "long",
        "That was too long.",
        "Choose one to three short words; say them without a pause.",
    )
    NOISY = (
        "noisy",
        "There was too much noise around it.",
        "Wait until it is quieter, or come nearer to the microphone.",
    )
    UNLIKE = ("unlike", "These sounded unlike one another.", "Say the same words each time.")
    LIKE_ANOTHER = (
        "like another",
        "That sounded like the words of another command.",
        "Choose words that sound quite unlike them.",
    )
    PHRASE_OF_ANOTHER = (
        "phrase of another",
        "That is already understood, without teaching, as another command.",
        "Choose words that sound quite unlike it.",
    )
    NO_WORDS = ("no words", "No words were heard.", "Speak after the tone, near to the microphone.")
    SEVERAL = (
        "several",
        "More than one thing was said.",
        "Record each take by itself, without a pause between its words.",
    )

    @property
    def fault(self) -> str:
        return self.value[0]

    @property
    def sentence(self) -> str:
        return self.value[1]

    @property
    def remedy(self) -> str:
        return self.value[2]


@dataclass(frozen=True, eq=False)
class Take:
    """One command said once. The talk lies at samples[begin:end], quiet on both sides of it."""

    samples: Sound
    begin: int
    end: int

    @property
    def talk_s(self) -> float:
        return (self.end - self.begin) / RATE

    @property
    def level_db(self) -> float:
        """How loud the talk is."""
        return _level_db(self.samples[self.begin : self.end])

    @property
    def above_noise_db(self) -> float:
        """How far the talk is above the quietest of what surrounds it."""
        return self.level_db - min(map(_level_db, self._around()), default=self.level_db)

    def _around(self) -> list[Sound]:
        """What is not talk, in pieces of 64 ms, so that a breath on one side is no noise.

        Where there is less on both sides, in pieces as short as what must be there.
        """
        quiet = (self.samples[: self.begin], self.samples[self.end :])
        size = 2 * BLOCK_SAMPLES
        if max(map(len, quiet)) < size:
            size = round(_EDGE_S * RATE)
        return [
            part[at : at + size] for part in quiet for at in range(0, len(part) - size + 1, size)
        ]


@dataclass(frozen=True)
class Outlook:
    """How many of `takes` are heard as their own command when it is known by the others alone.

    As they are, in a noise, and from across a room.
    """

    takes: int
    quiet: int
    noise: int
    room: int


def from_segment(segment: Segment, settings: EndpointSettings = TAKING) -> Take:
    """The take in a segment that was made with these settings."""
    begin = round((segment.word_s - segment.start_s) * RATE)
    hangover = round(settings.hangover_s * RATE / BLOCK_SAMPLES) * BLOCK_SAMPLES
    return Take(segment.samples, begin, max(begin, len(segment.samples) - hangover))


def in_recording(samples: Sound, detector: SpeechDetector) -> Take | Finding:
    """The one take in a whole recording, or why there is none."""
    endpointer = Endpointer(TAKING)
    detector.reset()
    ending = round((TAKING.hangover_s + 0.2) * RATE)
    padding = np.zeros(ending + -len(samples) % BLOCK_SAMPLES, dtype=np.int16)
    segments, talked = [], False
    for block in Blocks().feed(np.concatenate([samples, padding])):
        probability = detector.probability(block)
        talked = talked or probability >= TAKING.on_probability
        segment = endpointer.feed(block, probability)
        segments += [] if segment is None else [segment]
    if len(segments) > 1:
        return Finding.SEVERAL
    if not segments:
        too_long = talked and len(samples) > TAKING.longest_s * RATE
        return Finding.LONG if too_long else Finding.NO_WORDS
    take = from_segment(segments[0])
    there = len(samples) - round(segments[0].start_s * RATE)  # without the silence put behind it
    return Take(take.samples[:there], take.begin, min(take.end, there))


def check(take: Take, listening: EndpointSettings | None = None) -> Finding | None:
    """The first thing that is wrong with a take by itself, by how words will be listened for."""
    listening = listening or EndpointSettings()
    talk = take.samples[take.begin : take.end]
    if take.talk_s < listening.shortest_s:
        return Finding.SHORT
    if take.talk_s > listening.longest_s:
        return Finding.LONG
    if measured(talk).clipped_s > CLIPPED_S:
        return Finding.CLIPPED
    if take.level_db < _QUIET_DB:
        return Finding.QUIET
    edge = round(_EDGE_S * RATE)
    if min(take.begin, len(take.samples) - take.end) < edge:
        return Finding.CUT_OFF
    if take.above_noise_db < CLEAR_DB:
        return Finding.NOISY
    edges = (take.samples[:edge], take.samples[-edge:])
    if max(map(_level_db, edges)) > take.level_db - _EDGE_DB:
        return Finding.CUT_OFF
    return None


def unheard(sound: Sound, likeness: TakeLikeness) -> Finding | None:
    """Whether there is nothing in a take that the recogniser could know again."""
    return None if likeness.distance(sound, sound) <= LIKE else Finding.NO_WORDS


def like_another(
    sound: Sound,
    command: Command,
    taught: Mapping[Command, Sequence[Sound]],
    likeness: TakeLikeness,
) -> Command | None:
    """Another command that this would be heard as, the nearest of them; None when there is none."""
    nearest = {
        other: min(likeness.distance(sound, take) for take in takes)
        for other, takes in taught.items()
        if other is not command and takes
    }
    found = min(nearest, key=lambda other: nearest[other], default=None)
    return found if found is not None and nearest[found] <= LIKE else None


def phrase_of_another(sound: Sound, command: Command, heard_as: HeardAs) -> Command | None:
    """Another command that this is heard as though it was not taught; taught, it would be heard as
    two commands, and neither obeyed."""
    found = heard_as(sound)
    return None if found is command else found


def alike(takes: Sequence[Sound], likeness: TakeLikeness) -> bool:
    """Whether each take would be heard as one of the others; a take by itself is."""
    return len(takes) < 2 or all(
        min(likeness.distance(take, other) for place, other in enumerate(takes) if place != at)
        <= LIKE
        for at, take in enumerate(takes)
    )


def most_alike(takes: Sequence[Sound], count: int, likeness: TakeLikeness) -> tuple[Sound, ...]:
    """The `count` takes that are nearest to one another, in their order."""
    if len(takes) <= count:
        return tuple(takes)
    apart = {
        (a, b): likeness.distance(takes[a], takes[b]) for a, b in combinations(range(len(takes)), 2)
    }
    best = min(
        combinations(range(len(takes)), count),
        key=lambda chosen: max((apart[pair] for pair in combinations(chosen, 2)), default=0.0),
    )
    return tuple(takes[at] for at in best)


def _level_db(samples: Sound) -> float:
    return measured(samples).rms_db
