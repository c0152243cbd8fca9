"""Loudspeakers and microphones, by their names."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from caller.devices.sound.portaudio import sound_library
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import SettingError, SoundError

What = Literal["loudspeaker", "microphone"]


@dataclass(frozen=True)
class SoundDevice:
    """One way out for sound, or in; `usual` is the one that the system uses when none is named.

    `number` is PortAudio's own, good until it looks again.
    """

    name: str
    usual: bool
    number: int


def loudspeakers() -> list[SoundDevice]:
    """Those there are, the usual one first; SoundError when PortAudio is missing."""
    return _devices("output")


def microphones() -> list[SoundDevice]:
    """The same for microphones."""
    return _devices("input")


def find_loudspeaker(name: str | int | None) -> int | None:
    """PortAudio's number of a loudspeaker, given its name or a part of it, in any case.

    None and numbers are given back as they are. SettingError for an empty name; SoundError, with
    the names there are, when none or several fit.
    """
    if not isinstance(name, str):
        return name
    return chosen(name, "loudspeaker", loudspeakers(), microphones()).number


def find_microphone(name: str | int | None) -> int | None:
    """The same for a microphone."""
    if not isinstance(name, str):
        return name
    return chosen(name, "microphone", microphones(), loudspeakers()).number


def chosen(
    name: str, what: What, those: Sequence[SoundDevice], others: Sequence[SoundDevice]
) -> SoundDevice:
    """The one that is called so, among `those`; `others` are the devices of the other kind.

    An exact name wins over a part of one. Two with the very same name cannot be told apart, so the
    first of them is taken.
    """
    wanted = _plain(name)
    if not wanted:
        raise SettingError(f"The name of the {what} is empty", "leave it away for the usual one.")
    fitting = [device for device in those if _plain(device.name) == wanted]
    fitting = fitting or [device for device in those if wanted in _plain(device.name)]
    names = {device.name for device in fitting}
    if len(names) == 1:
        return fitting[0]
    if names:
        raise SoundError(
            f"Several {what}s are called {name!r}: {listed(fitting)}.", "Give more of the name."
        )
    if any(wanted in _plain(device.name) for device in others):
        raise SoundError(f"{name!r} has no {what}.", there_are(what, those))
    raise SoundError(f"There is no {what} {name!r}.", there_are(what, those))


def cannot_be_opened(what: What, name: str) -> SoundError:
    """For a device that is listed but fails."""
    those = loudspeakers() if what == "loudspeaker" else microphones()
    return SoundError(
        f"The {what} {name!r} cannot be opened; another program may hold it, or it is no {what} "
        "after all.",
        there_are(what, those),
    )


def there_are(what: What, those: Sequence[SoundDevice]) -> str:
    """The names there are, in a sentence."""
    if not those:
        return f"No {what} is there at all; plug one in."
    if len(those) == 1:
        return f"The only {what} is {listed(those)}."
    return f"The {what}s are {listed(those)}."


def listed(devices: Sequence[SoundDevice]) -> str:
    return ", ".join(
        f"{device.name} (the usual one)" if device.usual else device.name for device in devices
    )


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _devices(way: Literal["input", "output"]) -> list[SoundDevice]:
    """Of the system's usual driver only: others list the same devices once more."""
    library: Any = sound_library()
    try:
        with stderr_silenced():
            found = library.query_devices()
            if not len(found):
                return []
            driver = library.default.hostapi
            usual = library.query_hostapis(driver)[f"default_{way}_device"]
    except library.PortAudioError as error:
        raise SoundError(
            f"The sound devices cannot be listed: {error}.", "Start the computer's sound again."
        ) from None
    devices = [
        SoundDevice(device["name"], number == usual, number)
        for number, device in enumerate(found)
        if device["hostapi"] == driver and device[f"max_{way}_channels"] > 0
    ]
    return sorted(devices, key=lambda device: not device.usual)
