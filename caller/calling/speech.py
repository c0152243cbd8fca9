"""Utterances as sound: signals before and after, and none of the command phrases in the words."""

from collections.abc import Callable, Collection, Iterable, Iterator
from dataclasses import replace

from caller.calling.commands import PHRASES
from caller.calling.events import Trouble
from caller.calling.ports import Loudspeaker, SoundBlock, Voice, silence
from caller.calling.signals import Signal, sound
from caller.calling.words.utterance import Utterance, kept_apart
from caller.errors import CallerError

GOODBYE_S = 10.0
"""The longest the last words may take before a session ends all the same."""


def spoken(
    voice: Voice, utterance: Utterance, phrases: Collection[str] = PHRASES
) -> Iterator[SoundBlock]:
    """The sound of an utterance, clause by clause, with none of the command phrases in it."""
    for clause in kept_apart(utterance, phrases):
        for block in voice.render(clause.said):
            yield replace(block, pan=clause.pan)
        if clause.pause_s:
            yield silence(clause.pause_s, voice.rate)


def signalled(
    voice: Voice,
    utterance: Utterance,
    failed: Callable[[Trouble], None],
    before: Iterable[Signal] = (),
    after: Iterable[Signal] = (),
    phrases: Collection[str] = PHRASES,
    rate_wpm: int | None = None,
) -> Iterator[SoundBlock]:
    """The sound of an utterance between its signals, at `rate_wpm` where it is given.

    A voice that fails ends the words and not the signals; `failed` is then given a trouble that is
    not to be said aloud. It is called on the thread that draws the blocks.
    """
    yield from signals(before, voice.rate)
    try:
        if rate_wpm is not None:
            voice.set_rate(rate_wpm)
        yield from spoken(voice, utterance, phrases)
    except CallerError as error:
        failed(Trouble(error, aloud=False))
    yield from signals(after, voice.rate)


def signals(signals: Iterable[Signal], rate: int) -> Iterator[SoundBlock]:
    """The tones of these signals, `rate` samples a second."""
    return (sound(signal, rate) for signal in signals)


def last_words(loudspeaker: Loudspeaker, show: Callable[[str], None]) -> None:
    """Wait until the last words are said; a loudspeaker that fails is told of on the screen."""
    try:
        loudspeaker.wait(GOODBYE_S)
    except CallerError as error:
        show(str(error))
