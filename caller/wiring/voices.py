"""Voices and the loudspeaker: opened, listed, spoken with."""

import contextlib
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path

from caller.calling.events import News, Trouble
from caller.calling.ports import Loudspeaker, Voice
from caller.calling.speech import spoken
from caller.calling.words.utterance import Utterance
from caller.devices.voices.prerendered import Prerendered
from caller.errors import SoundError, VoiceError
from caller.settings import VoiceSettings

Tell = Callable[[str], None]


def open_voice(settings: VoiceSettings) -> Voice:
    """The voice of the settings; VoiceError when it is not there."""
    if settings.kind == "system":
        from caller.devices.voices.system import SystemVoice

        return Prerendered(SystemVoice(settings.rate_wpm, settings.volume, settings.name))
    if settings.file is not None:
        from caller.devices.voices.piper import PiperVoice

        return Prerendered(PiperVoice(settings.file, settings.rate_wpm, settings.volume))
    from caller.devices.voices.espeak import EspeakVoice

    language = {} if settings.name is None else {"language": settings.name}
    return EspeakVoice(settings.rate_wpm, settings.pitch, settings.volume, **language)


def list_voices() -> Iterator[str]:
    """The names for --voice-name, a line each, by kind of voice."""
    from caller.devices.voices.espeak import espeak_voices
    from caller.devices.voices.system import system_voices

    for kind, names_of in (("espeak", espeak_voices), ("system", system_voices)):
        yield f"--voice {kind}"
        try:
            yield from (f"  {name}" for name in names_of())
        except VoiceError as error:
            yield f"  {error}"


def open_loudspeaker(
    rate: int,
    name: str | None = None,
    report: Callable[[Trouble | News], None] | None = None,
    stereo: bool = False,
) -> Loudspeaker:
    """The sound card, or the loudspeaker of this name; SoundError when there is none."""
    from caller.devices.sound.loudspeaker import SoundCardLoudspeaker

    return SoundCardLoudspeaker(rate, name, report, stereo)


def loudspeaker_or_silence(
    rate: int,
    name: str | None,
    show: Tell,
    put: Callable[[Trouble | News], None],
    stereo: bool = False,
) -> Loudspeaker:
    """The sound card, or silence where there is none, which is then shown.

    For a name that is not there the usual one speaks, and says so. When it is lost later, and when
    it is back, an event is put.
    """
    from caller.devices.sound.silent import SilentLoudspeaker

    def opened(device: str | None) -> Loudspeaker:
        return open_loudspeaker(rate, device, put, stereo)

    try:
        return opened(name)
    except SoundError as error:
        trouble = str(error)
    if name is not None:
        with contextlib.suppress(SoundError):
            usual = opened(None)
            put(News(f"{trouble} The usual one is used."))
            return usual
    show(trouble)
    return SilentLoudspeaker()


def say(utterance: Utterance, settings: VoiceSettings, name: str | None = None) -> None:
    """Speak an utterance on the loudspeaker of this name and wait for its end."""
    with ExitStack() as stack:
        voice = open_voice(settings)
        stack.callback(voice.close)
        loudspeaker = open_loudspeaker(voice.rate, name)
        stack.callback(loudspeaker.close)
        loudspeaker.play(spoken(voice, utterance))
        loudspeaker.wait()


def write_sound(utterance: Utterance, settings: VoiceSettings, path: Path) -> None:
    """Write an utterance to a WAV file."""
    from caller.devices.sound.sound_files import write_wav

    voice = open_voice(settings)
    try:
        write_wav(path, spoken(voice, utterance))
    finally:
        voice.close()
