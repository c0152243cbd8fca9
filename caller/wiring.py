"""From settings to objects: the only module that picks a device, and loads it late."""

import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from caller.calling import commands, loop, wording
from caller.calling.ahead import RenderedAhead
from caller.calling.cutting import RATE
from caller.calling.listening import HeardPhrase, Listener, hear_recording
from caller.calling.loop import Desk
from caller.calling.ports import Loudspeaker, Recogniser, Voice
from caller.calling.session import Place
from caller.calling.wording import Utterance
from caller.devices.journal import FileJournal, place_file
from caller.devices.keyboard import key_source
from caller.devices.stand_ins import SilentLoudspeaker
from caller.errors import CallerError, PlaceError, SoundError, VoiceError
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings, EarSettings, VoiceSettings

Tell = Callable[[str], None]


def open_voice(settings: VoiceSettings) -> Voice:
    """The voice of the settings; VoiceError when it is not there."""
    if settings.kind == "system":
        from caller.devices.system_voice import SystemVoice

        return RenderedAhead(SystemVoice(settings.rate_wpm, settings.volume, settings.name))
    if settings.file is not None:
        from caller.devices.piper_voice import PiperVoice

        return RenderedAhead(PiperVoice(settings.file, settings.rate_wpm, settings.volume))
    from caller.devices.espeak import EspeakVoice

    language = {} if settings.name is None else {"language": settings.name}
    return EspeakVoice(settings.rate_wpm, settings.pitch, settings.volume, **language)


def list_voices() -> Iterator[str]:
    """The names for --voice-name, a line each, by kind of voice."""
    from caller.devices.espeak import espeak_voices
    from caller.devices.system_voice import system_voices

    for kind, names_of in (("espeak", espeak_voices), ("system", system_voices)):
        yield f"--voice {kind}"
        try:
            yield from (f"  {name}" for name in names_of())
        except VoiceError as error:
            yield f"  {error}"


def open_loudspeaker(rate: int, on_lost: Tell | None = None, stereo: bool = False) -> Loudspeaker:
    """The sound card; SoundError when there is none."""
    from caller.devices.sound_card import SoundCardLoudspeaker

    return SoundCardLoudspeaker(rate=rate, on_lost=on_lost, stereo=stereo)


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


def knit(
    pattern: Pattern,
    pattern_path: Path,
    call_settings: CallSettings,
    voice_settings: VoiceSettings,
    ear_settings: EarSettings,
    row: int | None,
    kept_in: Path | None,
    show: Tell,
) -> Place:
    """Run one hands-free session and give the place it ended at.

    Sound, and listening, that cannot be had are told of once, in one sentence; the session then
    runs on the screen and by keys.
    """
    with ExitStack() as stack:
        journal = FileJournal(kept_in or place_file(pattern_path), pattern)
        stack.callback(journal.close)
        kept = _kept(journal, row)
        voice = open_voice(voice_settings)
        stack.callback(voice.close)
        told: set[str] = set()
        events = loop.Events()
        loudspeaker = _loudspeaker_or_silence(voice.rate, call_settings.stereo, events, show, told)
        stack.callback(loudspeaker.close)
        desk = Desk(voice, loudspeaker, journal, show, events)
        keys = key_source(desk.events, sys.stdin.isatty)
        stack.callback(keys.close)
        if ear_settings.listen:
            stack.enter_context(_ears(desk, ear_settings, told))
        keys.start()
        return loop.run(pattern, desk, kept, call_settings, row)


def _kept(journal: FileJournal, chosen: int | None) -> Place | None:
    """The kept place; a record that cannot be read does not matter when the row is chosen."""
    try:
        return journal.read()
    except PlaceError:
        if chosen is None:
            raise
        return None


def _loudspeaker_or_silence(
    rate: int, stereo: bool, events: loop.Events, show: Tell, told: set[str]
) -> Loudspeaker:
    try:
        return open_loudspeaker(rate, lambda sentence: events.put(loop.Trouble(sentence)), stereo)
    except SoundError as error:
        told.add(str(error))
        show(str(error))
        return SilentLoudspeaker()


@contextmanager
def _ears(desk: Desk, settings: EarSettings, told: set[str]) -> Iterator[None]:
    """Listen on threads of their own while the session runs, from the moment all is loaded."""
    from caller.devices.sound_card import SoundCardMicrophone

    try:
        listener = open_listener(settings)
        microphone = SoundCardMicrophone()
    except CallerError as error:
        if str(error) not in told:
            desk.show(str(error))
        yield
        return
    thread = threading.Thread(
        target=loop.listen,
        args=(microphone, listener, desk.loudspeaker, desk.events),
        name="ears",
        daemon=True,
    )
    thread.start()
    try:
        yield
    finally:
        microphone.close()
        thread.join(5)
        listener.close()


def say(utterance: Utterance, settings: VoiceSettings) -> None:
    """Speak an utterance on the loudspeaker and wait for its end."""
    with ExitStack() as stack:
        voice = open_voice(settings)
        stack.callback(voice.close)
        loudspeaker = open_loudspeaker(voice.rate)
        stack.callback(loudspeaker.close)
        loudspeaker.play(loop.spoken(voice, utterance))
        loudspeaker.wait()


def write_sound(utterance: Utterance, settings: VoiceSettings, path: Path) -> None:
    """Write an utterance to a WAV file."""
    from caller.devices.sound_files import write_wav

    voice = open_voice(settings)
    try:
        write_wav(path, loop.spoken(voice, utterance))
    finally:
        voice.close()


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
    from caller.devices.sound_card import SoundCardMicrophone

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


def row_call(pattern: Pattern, row: int, settings: CallSettings) -> Utterance:
    return wording.row_call(pattern, pattern.script.row(row), settings)
