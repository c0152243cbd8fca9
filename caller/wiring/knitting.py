"""A whole session, put together."""

import sys
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

from caller.calling import loop
from caller.calling.loop import Desk
from caller.calling.ports import Loudspeaker
from caller.calling.session import Place
from caller.devices.journal import FileJournal, place_file
from caller.devices.keyboard import key_source
from caller.devices.stand_ins import SilentLoudspeaker
from caller.errors import CallerError, PlaceError, SoundError
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings, EarSettings, VoiceSettings
from caller.wiring.hearing import open_listener
from caller.wiring.speaking import Tell, open_loudspeaker, open_voice


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
    from caller.devices.microphone import SoundCardMicrophone

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
