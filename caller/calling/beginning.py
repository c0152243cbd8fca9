"""What is asked before the first row of a session, where the work is not as it was kept.

Each question has two ways on, and the knitter may leave instead; nothing is written before.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from caller.calling.confirming import ways
from caller.calling.kept import Kept
from caller.calling.place import Place
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Utterance,
    clause,
    sentence,
)
from caller.errors import BedError
from caller.pattern.laying import Laying, checksum, laid_as, laying_of
from caller.pattern.pattern import Pattern
from caller.plain_text import plain
from caller.settings import CallSettings


@dataclass(frozen=True)
class Beginning:
    """How a session begins: the pattern as it is called, what was kept, and what is told first.

    `kept` is None where the work begins anew.
    """

    pattern: Pattern
    kept: Kept | None
    told: Utterance = ()


@dataclass(frozen=True)
class Change:
    """Something that is not as it was kept: what is asked, and where a yes and a no lead."""

    asked: Utterance
    yes: Beginning
    no: Beginning


def moved(pattern: Pattern, settings: CallSettings, elsewhere: Kept, name: str) -> Change:
    """A pattern without a place, whose chart was called from one of this name that is gone."""
    asked = (
        *sentence("No place is kept beside this pattern.", RUN_PAUSE_S),
        clause(
            "Its chart was knitted from {name}, as far as row {row}.",
            settings.numbers,
            RUN_PAUSE_S,
            name=plain(name),
            row=Exact(min(elsewhere.place.row, pattern.script.rows)),
        ),
        *sentence("Is this the same work, renamed or moved?", RUN_PAUSE_S),
        *ways(settings, "it begins at row one"),
    )
    return Change(asked, Beginning(pattern, elsewhere), Beginning(pattern, None))


def chart_changed(pattern: Pattern, settings: CallSettings, kept: Kept) -> Change | None:
    """Another chart than the one that was called; None where it is the same."""
    now = laying_of(pattern)
    if kept.laying.same_chart(now):
        return None
    row, rows, style = kept.place.row, pattern.script.rows, settings.numbers
    at = min(row, rows)
    told: list[Clause] = [
        clause(
            "The chart has changed since row {row} of {before} was called; it has {rows} rows now.",
            style,
            RUN_PAUSE_S,
            row=Exact(row),
            before=kept.laying.rows,
            rows=rows,
        )
    ]
    if kept.below is not None and row > 1:
        same = row <= rows and checksum(pattern, row) == kept.below
        below = "are the same" if same else "are not the same"
        told += sentence(f"The rows that are knitted {below}.", RUN_PAUSE_S)
    told.append(clause("Go on at row {row}?", style, RUN_PAUSE_S, row=Exact(at)))
    rows_there = {row: text for row, text in kept.remarks.items() if row <= rows}
    goes_on = replace(
        kept,
        place=Place(at),
        laying=replace(kept.laying, rows=now.rows, chart=now.chart),
        marked=frozenset(one for one in kept.marked if one <= rows),
        remarks=rows_there,
    )
    asked = (*told, *ways(settings, "it begins at row one"))
    anew = replace(goes_on, place=Place(1), marked=frozenset(), remarks={})
    return Change(asked, Beginning(pattern, goes_on), Beginning(pattern, anew))


def laying_changed(pattern: Pattern, settings: CallSettings, kept: Kept) -> Change | None:
    """Other needles, or another first direction, than last time; None where nothing hangs yet."""
    before, now = kept.of_pattern, laying_of(pattern)
    if before.same_on_bed(now) or kept.place == Place(1) or kept.place.row > pattern.script.rows:
        return None
    if _none(hangs := kept.laying) or (as_it_hangs := _laid(pattern, hangs)) is None:
        return None
    style = settings.numbers
    told: list[Clause] = [
        clause(
            "The pattern does not lie as it did when row {row} was called.",
            style,
            RUN_PAUSE_S,
            row=Exact(kept.place.row),
        ),
        *_differences(pattern, as_it_hangs, settings),
        *sentence("Go on as it was then, and as the work hangs?", RUN_PAUSE_S),
    ]
    asked = (*told, *ways(settings, "it is called as the pattern has it now"))
    new = replace(kept, laying=now)
    return Change(asked, Beginning(as_it_hangs, kept), Beginning(pattern, new))


def as_chosen_before(pattern: Pattern, kept: Kept) -> Beginning:
    """The beginning where nothing has changed; a work that hangs otherwise goes on so."""
    if kept.laying.same_on_bed(laying_of(pattern)) or kept.place == Place(1):
        return Beginning(pattern, kept)
    hangs = _laid(pattern, kept.laying)
    if hangs is None:
        return Beginning(pattern, kept)
    return Beginning(hangs, kept, sentence("Called as it hangs.", RUN_PAUSE_S))


def _differences(pattern: Pattern, hangs: Pattern, settings: CallSettings) -> Iterator[Clause]:
    """What lay how, as the work hangs and as the pattern has it now."""
    was, now, style = hangs.script, pattern.script, settings.numbers
    if was.first_needle != now.first_needle:
        yield clause(
            "It began at {was}, and begins at {now} now.",
            style,
            RUN_PAUSE_S,
            was=Needle(hangs.bed, was.first_needle),
            now=Needle(pattern.bed, now.first_needle),
        )
    if hangs.first_direction != pattern.first_direction:
        yield clause(
            "Row {row} went to the {was}, and goes to the {now} now.",
            style,
            RUN_PAUSE_S,
            row=Exact(1),
            was=hangs.first_direction,
            now=pattern.first_direction,
        )


def _laid(pattern: Pattern, laying: Laying) -> Pattern | None:
    try:
        laid = laid_as(pattern, laying)
        laid.script  # noqa: B018 (it is laid on the bed here)
    except BedError:
        return None
    return laid


def _none(laying: Laying) -> bool:
    return laying.first_needle is None and laying.first_direction is None
