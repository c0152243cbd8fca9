"""Pedals: learned, listed, forgotten, and opened for a session."""

import sys
import threading
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from typing import get_args

from caller.calling.events import Events, Trouble
from caller.calling.pedals import lesson, runner
from caller.calling.pedals.lesson import Bound
from caller.calling.pedals.reader import OpenPedal, PedalReader
from caller.calling.pedals.runner import Felt, Inbox, PedalDesk
from caller.calling.ports import PedalSource
from caller.devices.keys.system import SystemKeys
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.storage import settings_file
from caller.errors import PedalError, SettingError
from caller.settings import PedalKey, PedalKind, PressSettings, VoiceSettings
from caller.wiring.closing import closed_in_time
from caller.wiring.voices import Tell, loudspeaker_or_silence, open_voice

KINDS: tuple[PedalKind, ...] = get_args(PedalKind)

_NO_TERMINAL = (
    "Keys of the terminal can be learned in a terminal only",
    "run row-caller pedal in one, or choose another --from.",
)


@dataclass(frozen=True)
class FoundPedals:
    """What pedals can be listened to, as (kind, name, path or ""), and what cannot, and why."""

    there: tuple[tuple[PedalKind, str, str], ...]
    troubles: tuple[tuple[PedalKind, PedalError], ...]


def list_pedals() -> FoundPedals:
    """Look for pedals of every kind; what stands in the way is told and not raised."""
    there: list[tuple[PedalKind, str, str]] = []
    troubles: list[tuple[PedalKind, PedalError]] = []
    for kind in KINDS:
        try:
            there += ((kind, name, path) for name, path in _names(kind))
        except PedalError as error:
            troubles.append((kind, error))
    return FoundPedals(tuple(there), tuple(troubles))


def learn(
    source: str | None,
    device: str | None,
    bound: Bound,
    voice_settings: VoiceSettings,
    loudspeaker_name: str | None,
    show: Tell,
) -> PedalKey | None:
    """Hold one lesson and give the pedal that is kept, if any.

    `source` is one of KINDS, or "keys" for those of the terminal alone; without one, every source
    that opens is listened to, and a `device` is looked for among the devices and MIDI. PedalError
    when there is nothing to listen to, SettingError for a `device` elsewhere.
    """
    from caller.devices.keys.terminal import key_source

    if device and source not in (None, "device", "midi"):
        raise SettingError(
            "--device is for --from device and --from midi", "leave one of them away."
        )
    known = settings_file.load().whole()
    kept: list[PedalKey] = []

    def keep(pedal: PedalKey) -> None:
        others = [one for one in known.pedals if _place(one) != _place(pedal)]
        settings_file.keep_pedals([*others, pedal])
        kept.append(pedal)

    with stderr_silenced(), closed_in_time() as devices, ExitStack() as stack:
        inbox = Inbox()
        opened, troubles = _opened(source, device, devices)
        if not opened and ((troubles and (source or device)) or not sys.stdin.isatty()):
            raise troubles[0] if troubles else PedalError(*_NO_TERMINAL)
        voice = open_voice(voice_settings, show)
        devices.callback(voice.close)
        loudspeaker = loudspeaker_or_silence(voice.rate, loudspeaker_name, show, inbox.put)
        devices.callback(loudspeaker.close)
        keys = key_source(inbox, sys.stdin.isatty)
        stack.callback(keys.close)
        for kind, name, pedal in opened:
            threading.Thread(
                target=_read, args=(kind, name, pedal, inbox), name="pedal", daemon=True
            ).start()
        keys.start()
        opening = lesson.begin(bound, known.pedals, " ".join(map(str, troubles)), not opened)
        desk = PedalDesk(voice, loudspeaker, known.presses, keep, show, inbox)
        runner.run(opening, desk)
    return kept[0] if kept else None


def forget(source: str | None, device: str | None) -> tuple[PedalKey, ...]:
    """Forget every pedal that is kept, or those of this source whose device has this in its name;
    which they were."""
    kept = settings_file.load().whole().pedals
    gone = tuple(
        one
        for one in kept
        if source in (None, one.source)
        and (device is None or device.casefold() in one.device.casefold())
    )
    if gone:
        settings_file.keep_pedals([one for one in kept if one not in gone])
    return gone


class PedalInputs:
    """The kept pedals at work, from the moment they are made to `close`.

    Each press puts its command into `events`, and each pedal that is not there, a Trouble.
    SettingError for a command that is not known, and for a press that is bound twice.
    """

    def __init__(
        self, pedal_keys: Sequence[PedalKey], presses: PressSettings, events: Events
    ) -> None:
        self._system: SystemKeys | None = None
        self._system_keys = frozenset(
            one.key.casefold() for one in pedal_keys if one.source == "system"
        )
        places = dict.fromkeys((one.source, one.device) for one in pedal_keys)
        self._reader = PedalReader(
            [
                OpenPedal(
                    device or "the keyboard",
                    partial(self._open, kind, device),
                    [one for one in pedal_keys if (one.source, one.device) == (kind, device)],
                )
                for kind, device in places
            ],
            presses,
            events,
        )
        self._reader.start()

    def takes(self, key: str) -> bool:
        """Whether this key is heard here whichever window has the focus, so that the terminal must
        not take it for another command."""
        system = self._system
        return system is not None and system.listening and key.casefold() in self._system_keys

    def close(self) -> None:
        self._reader.close()

    def _open(self, kind: PedalKind, device: str) -> PedalSource:
        if kind == "system":
            self._system = SystemKeys(self._system_keys)
            return self._system
        return _open(kind, device)


def _opened(
    source: str | None, device: str | None, stack: ExitStack
) -> tuple[list[tuple[PedalKind, str, PedalSource]], list[PedalError]]:
    """The open sources with their names, closed with the stack, and why others are not."""
    kinds: tuple[PedalKind, ...] = ("system", "midi")
    if source is not None:
        kinds = tuple(kind for kind in KINDS if kind == source)
    elif device:
        # A device is kept from all other programs, so none is opened unless it is named.
        kinds = ("device",) if "/" in device else ("device", "midi")
    opened: list[tuple[PedalKind, str, PedalSource]] = []
    troubles: list[PedalError] = []
    for kind in kinds:
        try:
            for name in _wanted(kind, device or ""):
                pedal = _open(kind, name)
                stack.callback(pedal.close)
                opened.append((kind, name, pedal))
        except PedalError as error:
            troubles.append(error)
    return opened, troubles


def _wanted(kind: PedalKind, device: str) -> list[str]:
    """The whole names of the sources of a kind that have this as a part, or this as it is.

    Opened by a name that is not there, or is not clear, a source tells what to do.
    """
    if "/" in device or kind == "system":
        return [device]
    names = [name for name, _ in _names(kind) if device.casefold() in name.casefold()]
    return names if len(names) == 1 or (names and kind == "midi") else [device]


def _open(kind: PedalKind, device: str) -> PedalSource:
    """A source by its name, "" for any; PedalError when it is not there."""
    if kind == "device":
        from caller.devices.keys.evdev import EvdevPedal

        return EvdevPedal(device)
    if kind == "midi":
        from caller.devices.keys.midi import MidiPedal

        return MidiPedal(device or None)
    return SystemKeys()


def _names(kind: PedalKind) -> list[tuple[str, str]]:
    """The sources of a kind by their names, with the paths of those that have one.

    PedalError when none can be had.
    """
    if kind == "device":
        from caller.devices.keys.evdev import list_device_pedals

        return [(one.name, str(one.path)) for one in list_device_pedals()]
    if kind == "midi":
        from caller.devices.keys.midi import list_midi_pedals

        return [(name, "") for name in list_midi_pedals()]
    SystemKeys(()).close()
    return [("", "")]


def _read(kind: PedalKind, name: str, pedal: PedalSource, inbox: Inbox) -> None:
    """Pass on what is pressed, until it is closed; on a thread of its own."""
    try:
        for edge in pedal.edges():
            inbox.put(Felt(kind, name, edge))
    except PedalError as error:
        inbox.put(Trouble(error))


def _place(pedal: PedalKey) -> tuple[str, str, str]:
    return pedal.source, pedal.device, pedal.key
