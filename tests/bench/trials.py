"""Words said to an engine, and talk that is none: what came of them, counted."""

import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import conditions
import hearing
import negatives
import speakers
from conditions import GAP_S, Condition
from engines import HEARD_TAKES, Engine, Opening, timed
from intervals import Hourly, Share
from sounds import RATE, Sound
from speakers import Speaker

from caller.calling.commands import Command
from caller.calling.listening.listener import HeardPhrase

T = TypeVar("T")
GAP_IN_TALK_S = 0.5


@dataclass
class Heard:
    """Of words said under one condition."""

    words: Counter[str] = field(default_factory=Counter)
    hits: Counter[str] = field(default_factory=Counter)
    wrong: Counter[str] = field(default_factory=Counter)
    close: int = 0
    by_speaker: Counter[tuple[str, str, bool]] = field(default_factory=Counter)
    late_s: list[float] = field(default_factory=list)

    @property
    def said(self) -> int:
        return self.words.total()

    def worst_words(self) -> dict[str, tuple[str, int, int]]:
        """Of each speaker the word that is heard least: the word, hits, times said."""
        found: dict[str, tuple[str, int, int]] = {}
        for speaker, word in dict.fromkeys(key[:2] for key in self.by_speaker):
            hits = self.by_speaker[speaker, word, True]
            said = hits + self.by_speaker[speaker, word, False]
            known = found.get(speaker)
            if known is None or hits / said < known[1] / known[2]:
                found[speaker] = (word, hits, said)
        return found

    @property
    def hit(self) -> Share:
        return Share(self.hits.total(), self.said)

    @property
    def mistaken(self) -> Share:
        return Share(self.wrong.total(), self.said)


@dataclass
class Passed:
    """Of talk that is no command: `accepted` by what it was taken for, `unasked` of it a yes."""

    hours: float = 0.0
    segments: int = 0
    accepted: Counter[str] = field(default_factory=Counter)
    unasked: int = 0

    @property
    def rate(self) -> Hourly:
        """Of those that do something where nothing has been asked."""
        return Hourly(self.accepted.total() - self.unasked, self.hours)


def progress(items: Iterable[T], label: str, count: int) -> Iterator[T]:
    """The same items, with how far they are on standard error: a bar, or a line now and then."""
    import click

    if sys.stderr.isatty():
        with click.progressbar(items, length=count, label=f"{label:34}", file=sys.stderr) as bar:
            yield from bar
        return
    for number, item in enumerate(items):
        if number % max(1, count // 8) == 0:
            print(f"{label}: {number} of {count}", file=sys.stderr, flush=True)
        yield item


def say_words(
    engine: Engine,
    people: Sequence[Speaker],
    tried: Sequence[Condition],
    takes: Sequence[int],
    every: int = 1,
) -> dict[str, Heard]:
    """The engine's words by every speaker: in the first condition all of them in all the takes;
    in the others one take of one word in `every`, from speaker to speaker another one.
    """
    heard = {condition.name: Heard() for condition in tried}
    for place, speaker in enumerate(progress(people, f"{engine.name}: words", len(people))):
        recogniser = timed(engine, speaker)
        for take in takes:
            said = list(zip(engine.words, speakers.said(speaker, engine.words, take), strict=True))
            for number, condition in enumerate(tried if take == takes[0] else tried[:1]):
                step = every if number else 1
                for word, sound in said[(place + number) % step :: step]:
                    name = f"{speaker.name} {word} {take}"
                    one = heard[condition.name]
                    before = one.hits[word]
                    _say(recogniser, one, condition, word, sound, name)
                    one.by_speaker[speaker.name, word, one.hits[word] > before] += 1
    return heard


def _say(
    recogniser: hearing.TimedRecogniser,
    heard: Heard,
    condition: Condition,
    word: str,
    sound: Sound,
    name: str,
) -> None:
    answers = recogniser.hear(condition.make(sound, name))
    phrases = [verdict.phrase for _, verdict in answers]
    heard.words[word] += 1
    heard.hits[word] += word in phrases
    heard.wrong[word] += any(phrase not in (None, word) for phrase in phrases)
    heard.close += word not in phrases and any(verdict.near_miss for _, verdict in answers)
    ended_s = GAP_S + hearing.word_end_s(sound)
    for (segment, verdict), took in zip(answers, recogniser.took[-len(answers) :], strict=False):
        if verdict.phrase == word:
            heard.late_s.append(segment.end_s - ended_s + took)


def say_as_stranger(engine: Engine, people: Sequence[Speaker]) -> tuple[Share, Share]:
    """Each speaker's words said to the next three's recognisers: taken for it, for another."""
    right = wrong = said = 0
    for number, owner in enumerate(progress(people, f"{engine.name}: strangers", len(people))):
        recogniser = hearing.TimedRecogniser(engine.recogniser_of(owner))
        for step in (1, 2, 3):
            stranger = people[(number + step) % len(people)]
            words = speakers.said(stranger, engine.words, HEARD_TAKES[0])
            for word, sound in zip(engine.words, words, strict=True):
                answers = recogniser.hear(conditions.conditions()[0].make(sound, ""))
                phrases = {verdict.phrase for _, verdict in answers} - {None}
                said += 1
                right += word in phrases
                wrong += bool(phrases - {word})
    return Share(right, said), Share(wrong, said)


def say_what_was_not_taught(
    engine: Engine, people: Sequence[Speaker]
) -> dict[str, tuple[Share, Counter[str]]]:
    """Other words by the same speakers, one at a time: how many are taken for a command."""
    said, taken = Counter[str](), {"alike": Counter[str](), "unlike": Counter[str]()}
    for speaker in progress(people, f"{engine.name}: other words", len(people)):
        recogniser = hearing.TimedRecogniser(engine.recogniser_of(speaker))
        other = speakers.said(speaker, negatives.UNTAUGHT, HEARD_TAKES[0])
        for word, sound in zip(negatives.UNTAUGHT, other, strict=True):
            kind = "alike" if word in negatives.ALIKE else "unlike"
            said[kind] += 1
            for _, verdict in recogniser.hear(conditions.conditions()[0].make(sound, ""))[:1]:
                if verdict.phrase:
                    taken[kind][f"{word} -> {verdict.phrase}"] += 1
    return {kind: (Share(one.total(), said[kind]), one) for kind, one in taken.items()}


def let_pass(
    openings: Sequence[Opening], talk: Sequence[Sound], label: str, gap_s: float = GAP_IN_TALK_S
) -> Passed:
    """Talk past the listeners, a minute to each in turn, the whole way from sound to command as in
    a session, with so much quiet between its sounds; its hours are without that."""
    stretches = list(negatives.stretches(list(talk), gap_s=gap_s))
    passed = Passed(sum(map(len, talk)) / RATE / 3600)
    for number, stretch in enumerate(progress(stretches, label, len(stretches))):
        blocks, likely = hearing.blocks(stretch)
        listener = openings[number % len(openings)](hearing.KeptDetector(likely))
        passed.segments += len(hearing.segments(stretch, listener.settings.segment))
        for heard in listener.feed(blocks.ravel()):
            if isinstance(heard, HeardPhrase):
                passed.accepted[heard.phrase] += 1
                passed.unasked += heard.command is Command.YES
    return passed
