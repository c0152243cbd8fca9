"""Ears: opened by the settings, and put to a sound file or the microphone."""

from collections.abc import Iterator
from pathlib import Path

from caller.calling import commands
from caller.calling.cutting import RATE
from caller.calling.listening import HeardPhrase, Listener, hear_recording
from caller.calling.ports import Recogniser
from caller.settings import EarSettings


def open_recogniser(settings: EarSettings) -> Recogniser:
    """Vosk when a model folder is given or found, else PocketSphinx with the model it brings."""
    from caller.devices.vosk_ear import VoskRecogniser, find_model

    folder = find_model(settings.model_folder)
    if folder is not None:
        return VoskRecogniser(folder, commands.PHRASES)
    from caller.devices.sphinx import SphinxRecogniser

    return SphinxRecogniser(commands.PHRASES)


def open_listener(settings: EarSettings) -> Listener:
    from caller.devices.silero import SileroDetector

    return Listener(SileroDetector(), open_recogniser(settings))


def hear_file(path: Path, settings: EarSettings) -> list[HeardPhrase]:
    """The commands heard in a sound file."""
    from caller.devices.resample import resampled
    from caller.devices.sound_files import read_sound

    sound = read_sound(path)
    samples = resampled(sound.samples, sound.rate, RATE)
    return hear_recording(samples, open_listener(settings))


def hear_microphone(settings: EarSettings) -> Iterator[HeardPhrase]:
    """The commands heard by the microphone, as they come, until interrupted.

    Raises ListeningError or SoundError at once when there is no ear or no microphone.
    """
    from caller.devices.microphone import SoundCardMicrophone

    listener = open_listener(settings)
    microphone = SoundCardMicrophone()

    def heard() -> Iterator[HeardPhrase]:
        try:
            for samples in microphone.blocks():
                for phrase in listener.feed(samples):
                    if isinstance(phrase, HeardPhrase):
                        yield phrase
        finally:
            microphone.close()
            listener.close()

    return heard()
