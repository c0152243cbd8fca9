"""How a session begins: what was kept, and what is asked where that has changed since."""

from caller.calling import loop
from caller.calling.beginning import (
    Beginning,
    Change,
    as_chosen_before,
    chart_changed,
    laying_changed,
    moved,
)
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.kept import Kept
from caller.devices.storage.journal import FileJournal
from caller.errors import PlaceError
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


def kept_before(journal: FileJournal, chosen: int | None) -> Kept | None:
    """What was kept; a record that cannot be read does not matter when the row is chosen."""
    try:
        return journal.read()
    except PlaceError:
        if chosen is None:
            raise
        return None


def begun_with(
    pattern: Pattern,
    desk: Desk,
    journal: FileJournal,
    kept: Kept | None,
    settings: CallSettings,
    chosen: int | None,
) -> Beginning | None:
    """How the session begins, after what has changed was asked about; None to leave."""
    if journal.looks_on:
        if kept is None:
            return Beginning(pattern, None)
        if chart_changed(pattern, settings, kept) is not None:
            raise PlaceError(
                "Another session calls this pattern from another chart", "leave that one first."
            )
        return as_chosen_before(pattern, kept)

    def asked(change: Change | None) -> Beginning | None:
        if change is None:
            return Beginning(pattern, kept)
        answer = loop.ask(pattern, desk, change.asked, settings)
        if answer is Command.LEAVE:
            return None
        return change.yes if answer is Command.YES else change.no

    if kept is None and chosen is None:
        for work in journal.elsewhere()[:1]:
            begun = asked(moved(pattern, settings, work.kept, work.pattern.stem))
            if begun is None:
                return None
            kept = begun.kept
    if kept is not None and chosen is None:
        begun = asked(chart_changed(pattern, settings, kept))
        if begun is None:
            return None
        kept = begun.kept
    if kept is None or chosen == 1:
        return Beginning(pattern, kept)
    changed = laying_changed(pattern, settings, kept)
    return as_chosen_before(pattern, kept) if changed is None else asked(changed)
