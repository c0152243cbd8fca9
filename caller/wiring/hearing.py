"""What is heard, in a sound file or by the microphone, outside a session."""

from collections.abc import Callable, Generator, Iterable, Iterator
from contextlib import closing
from itertools import chain
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE
from caller.calling.listening.grammar import Grammar, grammar
from caller.calling.listening.listener import HeardPhrase, hear_recording
from caller.calling.ports import Loudspeaker
from caller.calling.speech import spoken
from caller.calling.words.utterance import RUN_PAUSE_S, Utterance, sentence
from caller.devices.sound.stderr import stderr_silenced
from caller.pattern.bed import Bed
from caller.settings import ListeningSettings, VoiceSettings
from caller.wiring.closing import closed_in_time
from caller.wiring.recognisers import choose_recogniser, open_listener, open_microphone
from caller.wiring.voices import Tell, open_loudspeaker, open_voice, say


def any_sentence() -> Grammar:
    """What may be said for a pattern of many rows on the usual bed."""
    return grammar(200, Bed())


def hear_file(
    path: Path, settings: ListeningSettings, progress: Callable[[int, int], None] | None = None
) -> list[HeardPhrase]:
    """The commands heard in a sound file of any length.

    `progress` takes how many of its samples have been listened to, and how many there are.
    """
    from caller.devices.sound.resample import StreamResampler
    from caller.devices.sound.sound_files import sound_blocks

    def blocks() -> Generator[NDArray[np.int16]]:
        resampler: StreamResampler | None = None
        for sound in sound_blocks(path, progress):
            resampler = resampler or StreamResampler(sound.rate, RATE)
            yield sound.samples if sound.rate == RATE else resampler.feed(sound.samples)

    with closing(blocks()) as sounds:
        first = next(sounds)  # before a recogniser is loaded: it may be no sound
        listener = open_listener(choose_recogniser(settings, any_sentence))
        try:
            return hear_recording(chain([first], sounds), listener)
        finally:
            listener.close()


def hear_microphone(
    settings: ListeningSettings, loudspeaker: Loudspeaker | None = None
) -> Iterator[HeardPhrase]:
    """The commands heard by the microphone, as they come, until interrupted.

    While the `loudspeaker` speaks nothing is listened to. Raises ListeningError or SoundError at
    once when there is no recogniser or no microphone.
    """
    listener = open_listener(choose_recogniser(settings, any_sentence))
    microphone = open_microphone(settings.microphone)

    def heard() -> Iterator[HeardPhrase]:
        with stderr_silenced(), closed_in_time() as devices:
            devices.callback(listener.close)
            devices.callback(microphone.close)
            for samples in microphone.blocks():
                if loudspeaker and loudspeaker.quiet_for() < listener.settings.deaf_after_speech_s:
                    listener.deafen(len(samples))
                    continue
                for phrase in listener.feed(samples):
                    if isinstance(phrase, HeardPhrase):
                        yield phrase

    return heard()


def hear_and_say(
    settings: ListeningSettings, voice_settings: VoiceSettings, name: str | None, tell: Tell
) -> Iterator[HeardPhrase]:
    """As `hear_microphone`, and each is said on the loudspeaker of this name."""
    voice = open_voice(voice_settings, tell)
    loudspeaker = open_loudspeaker(voice.rate, name)

    def heard() -> Iterator[HeardPhrase]:
        with closed_in_time() as devices:
            devices.callback(voice.close)
            devices.callback(loudspeaker.close)
            for phrase in hear_microphone(settings, loudspeaker):
                loudspeaker.play(spoken(voice, _said(phrase), ()))
                yield phrase

    return heard()


def say_heard(
    heard: Iterable[HeardPhrase], voice_settings: VoiceSettings, name: str | None, tell: Tell
) -> None:
    """Say which commands were heard, one after the other."""
    told = tuple(clause for phrase in heard for clause in _said(phrase))
    say(told or sentence("No command was heard."), voice_settings, tell, name)


def _said(phrase: HeardPhrase) -> Utterance:
    return sentence(f"{phrase.phrase}.", 2 * RUN_PAUSE_S)
