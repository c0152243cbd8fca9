"""Voices and the loudspeaker: opened, listed, spoken with."""

import contextlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from caller.calling.events import News, Trouble
from caller.calling.ports import Loudspeaker, Voice
from caller.calling.speech import spoken
from caller.calling.words.utterance import Utterance
from caller.devices.voices.prerendered import Prerendered
from caller.errors import SoundError, SoundLibraryError, VoiceError
from caller.installation import installs
from caller.settings import FULL_VOLUME, VoiceSettings
from caller.wiring.closing import closed_in_time

Tell = Callable[[str], None]
Put = Callable[[Trouble | News], None]


@dataclass(frozen=True)
class VoiceChoice:
    """A voice to be opened: `settings` that name its kind, and why it comes in this place.

    `note` is what the knitter is told when it is the one that speaks, "" for nothing.
    """

    settings: VoiceSettings
    why: str
    note: str = ""


def order_of_preference(settings: VoiceSettings) -> tuple[VoiceChoice, ...]:
    """The voices to try, the most wanted first."""
    from caller.devices.voices import piper

    if settings.kind != "auto":
        return (VoiceChoice(settings, "it was asked for"),)
    if settings.file is not None:
        return (VoiceChoice(replace(settings, kind="piper"), "its file was named"),)
    espeak = replace(settings, kind="espeak")
    if settings.name is not None:
        return (VoiceChoice(espeak, "it speaks the language that was asked for"),)
    if settings.pitch != VoiceSettings.pitch or not 1 <= settings.volume <= FULL_VOLUME:
        return (VoiceChoice(espeak, "it has the pitch or the volume that was asked for"),)
    file = piper.installed_voice()
    if file is None:
        note = (
            "The voice is espeak; row-caller add voice brings one that is easier to understand, "
            "and --voice espeak keeps this one."
        )
        return (VoiceChoice(espeak, "no voice that sounds like a person is installed", note),)
    natural = replace(settings, kind="piper", file=file)
    return (
        VoiceChoice(natural, "it sounds like a person and is easiest to understand"),
        VoiceChoice(espeak, "the voice piper cannot be used"),
    )


def where_heard(settings: VoiceSettings) -> VoiceSettings:
    """The settings; without PortAudio, where nothing can sound, the voice that loads at once in
    place of a natural one that nobody asked for."""
    from caller.devices.sound.portaudio import sound_library

    try:
        sound_library()
    except SoundLibraryError:
        if settings.kind == "auto" and settings.file is None:
            return replace(settings, kind="espeak")
    except SoundError:  # it does not answer yet
        pass
    return settings


def open_voice(settings: VoiceSettings, tell: Tell = lambda _sentence: None) -> Voice:
    """The most wanted voice that can be opened; VoiceError when there is none.

    `tell` is given a sentence when another would be better.
    """
    return open_chosen(settings, tell)[0]


def open_chosen(settings: VoiceSettings, tell: Tell) -> tuple[Voice, VoiceChoice]:
    """As `open_voice`, with the choice that was made."""
    *first, last = order_of_preference(settings)
    for choice in first:
        try:
            return _opened(choice.settings), choice
        except VoiceError as error:
            tell(str(error))
    voice = _opened(last.settings)
    if last.note:
        tell(last.note)
    return voice, last


def _opened(settings: VoiceSettings) -> Voice:
    if settings.kind == "system":
        from caller.devices.voices.system import SystemVoice

        return Prerendered(SystemVoice(settings.rate_wpm, settings.volume, settings.name))
    if settings.kind == "piper":
        from caller.devices.voices.piper import PiperVoice

        return Prerendered(PiperVoice(settings.file, settings.rate_wpm, settings.volume))
    from caller.devices.voices.espeak import EspeakVoice

    language = {} if settings.name is None else {"language": settings.name}
    return EspeakVoice(settings.rate_wpm, settings.pitch, settings.volume, **language)


def list_voices() -> Iterator[str]:
    """Which voice speaks and why, and the names for --voice-name, a line each, by kind of voice."""
    from caller.devices.voices import piper
    from caller.devices.voices.espeak import espeak_voices
    from caller.devices.voices.system import system_voices

    choice = order_of_preference(VoiceSettings())[0]
    yield f"--voice auto is {choice.settings.kind}: {choice.why}."
    file = piper.installed_voice()
    yield "--voice piper"
    yield (f"  {file.stem}" if file else f"  None is installed; {installs('voice')}")

    for kind, names_of in (("espeak", espeak_voices), ("system", system_voices)):
        yield f"--voice {kind}"
        try:
            yield from (f"  {name}" for name in names_of())
        except VoiceError as error:
            yield f"  {error}"


def open_loudspeaker(
    rate: int,
    name: str | None = None,
    report: Put | None = None,
    stereo: bool = False,
) -> Loudspeaker:
    """The sound card, or the loudspeaker of this name; SoundError when there is none."""
    from caller.devices.sound.loudspeaker import SoundCardLoudspeaker

    return SoundCardLoudspeaker(rate, name, report, stereo)


def loudspeaker_or_silence(
    rate: int,
    name: str | None,
    show: Tell,
    put: Put,
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


def say(utterance: Utterance, settings: VoiceSettings, tell: Tell, name: str | None = None) -> None:
    """Speak an utterance on the loudspeaker of this name and wait for its end."""
    with closed_in_time() as devices:
        voice = open_voice(settings, tell)
        devices.callback(voice.close)
        loudspeaker = open_loudspeaker(voice.rate, name)
        devices.callback(loudspeaker.close)
        loudspeaker.play(spoken(voice, utterance))
        loudspeaker.wait()


def write_sound(utterance: Utterance, settings: VoiceSettings, tell: Tell, path: Path) -> None:
    """Write an utterance to a WAV file."""
    from caller.devices.sound.sound_files import write_wav

    voice = open_voice(settings, tell)
    try:
        write_wav(path, spoken(voice, utterance))
    finally:
        voice.close()
