"""A whole session, put together."""

import sys
from collections.abc import Iterable
from contextlib import ExitStack
from dataclasses import replace
from functools import partial
from pathlib import Path

from caller import leaving
from caller.calling import loop
from caller.calling.beginning import Beginning
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import Events, News, Trouble
from caller.calling.listening.grammar import grammar, no_sentences
from caller.calling.place import Place
from caller.calling.ports import Loudspeaker
from caller.calling.words.utterance import sentence
from caller.devices.keys.terminal import key_source
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.storage import settings_file
from caller.devices.storage.journal import FileJournal
from caller.devices.storage.place_file import place_file
from caller.pattern.pattern import Pattern, Reminder
from caller.plain_text import plain
from caller.settings import CallSettings, ListeningSettings, OwnReminder, VoiceSettings
from caller.wiring.beginning import begun_with, kept_before
from caller.wiring.closing import closed_in_time
from caller.wiring.large import Draw, with_large
from caller.wiring.listening import listening
from caller.wiring.looking_on import LOOKS_ON, looking_on
from caller.wiring.page import PageWish, with_page
from caller.wiring.pedals import PedalInputs
from caller.wiring.recognisers import choose_recogniser
from caller.wiring.screen import SteadyScreen
from caller.wiring.voices import Tell, loudspeaker_or_silence, open_voice, where_heard

SHOWN_WITHIN_S = 3.0
"""The longest that the last lines may take to be shown, when the devices are closed."""


def knit(
    pattern: Pattern,
    pattern_path: Path,
    call_settings: CallSettings,
    voice_settings: VoiceSettings,
    listening_settings: ListeningSettings,
    loudspeaker_name: str | None,
    row: int | None,
    kept_in: Path | None,
    show: Tell,
    notes: Iterable[str] = (),
    page: PageWish | None = None,
    draw: Draw | None = None,
) -> Place:
    """Run one hands-free session and give the place it ended at; `notes` are told at its beginning,
    and `page` is who reaches its page, None for no page; `draw` draws the row large.

    Sound, and listening, that cannot be had are told of once, in one sentence; the session then
    runs on the screen and by keys.
    """
    with ExitStack() as stack:
        events = Events()
        for note in notes:
            events.put(News(note))
        journal = FileJournal(
            kept_in or place_file(pattern_path),
            pattern,
            pattern_path=pattern_path,
            report=lambda sentence: events.put(News(sentence)),
            may_look_on=True,
        )
        stack.callback(journal.close)
        kept = kept_before(journal, row)
        stack.enter_context(stderr_silenced())
        shown = stack.enter_context(closed_in_time(SHOWN_WITHIN_S))
        devices = stack.enter_context(closed_in_time())
        loudspeaker: Loudspeaker = SilentLoudspeaker()

        def unseen(trouble: Trouble | News) -> None:
            events.put(trouble)
            if isinstance(loudspeaker, SilentLoudspeaker):
                events.put(Command.LEAVE)  # for nothing can be told any more

        screen = SteadyScreen(show, unseen)
        shown.callback(screen.close)
        show = screen.show
        voice = open_voice(where_heard(voice_settings), lambda note: events.put(News(note)))
        devices.callback(voice.close)
        loudspeaker = loudspeaker_or_silence(
            voice.rate, loudspeaker_name, show, events.put, call_settings.stereo
        )
        devices.callback(loudspeaker.close)
        desk = Desk(voice, loudspeaker, journal, show, events)
        if draw is not None:
            desk = with_large(desk, lambda drawing: screen.draw(partial(draw, drawing)))
        own = settings_file.load()
        for section, error in own.troubles:
            if section not in ("", "options"):  # those are among the notes
                events.put(News(str(error)))
        pattern, call_settings = _with_reminders(pattern, call_settings, own.reminders)
        pedals = PedalInputs(own.pedals, own.presses, events)
        devices.callback(pedals.close)
        others: list[bool] = [bool(own.pedals)]
        if page is not None and (paged := with_page(desk, _drawn(page, screen), show)):
            desk, close_page = paged
            devices.callback(close_page)
            others.append(True)
        keys = key_source(events, sys.stdin.isatty, pedals.takes, lambda: not any(others))
        stack.callback(keys.close)  # first of all: it gives the terminal back
        call_settings = replace(call_settings, said=())
        if listening_settings.listen:
            choice = choose_recogniser(
                listening_settings, partial(grammar, pattern.script.rows, pattern.bed), pattern
            )
            if devices.enter_context(listening(desk, choice, listening_settings)):
                others.append(True)
                call_settings = replace(
                    call_settings,
                    said=choice.said,
                    taught=choice.taught_names,
                    numbers_heard=choice.sentences is not no_sentences,
                )
        keys.start()
        leaving.go_on_unless_stopped()
        begun = begun_with(pattern, desk, journal, kept, call_settings, row)
        if begun is None:
            place = Place(1) if kept is None else kept.place
            loop.say_goodbye(pattern, desk, place, call_settings)
            return place
        journal.take(begun.pattern, begun.kept)
        told = begun.told
        if journal.looks_on:
            told = sentence(LOOKS_ON) + told
            stack.enter_context(looking_on(journal, _place_of(begun), events))
        return loop.run(
            begun.pattern,
            desk,
            _place_of(begun),
            call_settings,
            None if journal.looks_on else row,
            told,
        )


def _drawn(page: PageWish, screen: SteadyScreen) -> PageWish:
    """The wish, drawing by way of the screen."""
    draw = page.draw
    if draw is None:
        return page
    return replace(page, draw=lambda drawing: screen.draw(partial(draw, drawing)))


def _place_of(begun: Beginning) -> Place | None:
    return None if begun.kept is None else begun.kept.place


def _with_reminders(
    pattern: Pattern, settings: CallSettings, reminders: Iterable[OwnReminder]
) -> tuple[Pattern, CallSettings]:
    """The knitter's own reminders at their rows of the pattern, and those by the clock."""
    at_rows: list[Reminder] = []
    by_clock: list[tuple[int, str]] = []
    last = pattern.script.rows
    for one in reminders:
        if one.every_minutes is not None:
            by_clock.append((one.every_minutes, plain(one.say)))
            continue
        every = one.every_rows
        rows = range(every, last + 1, every) if every else [row for row in [one.row] if row]
        at_rows += [Reminder(row, one.say) for row in rows if row <= last]
    settings = replace(settings, every_minutes=tuple(by_clock))
    return replace(pattern, reminders=(*pattern.reminders, *at_rows)), settings
