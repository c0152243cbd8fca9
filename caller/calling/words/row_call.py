"""The call of a row: its head, all its runs or a piece of them, and what is told besides."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Literal

from caller.calling.place import Place
from caller.calling.words.clauses import cut_clauses, event_clauses, run_clauses, start_side, way
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Needle,
    Utterance,
    capital,
    clause,
    ended,
)
from caller.pattern.pattern import Pattern
from caller.pattern.rows import Row
from caller.settings import CallSettings

How = Literal["on", "afresh", "whole"]
"""Whether the knitter comes from the place before, comes from elsewhere, or asked for it all."""

AS_USUAL = CallSettings()


def row_call(pattern: Pattern, row: Row, settings: CallSettings = AS_USUAL) -> Utterance:
    """A whole row: its number, the carriage's direction, then its runs in knitting order."""
    return (
        _head(row, settings),
        *ended(run_clauses(pattern, row, settings)),
        *_tail(pattern, row, settings),
    )


def call(pattern: Pattern, settings: CallSettings, place: Place, how: How = "on") -> Utterance:
    """What is called at a place: a piece of a row or a whole one, or a plain row's brief word.

    Whoever comes "afresh" hears which row it is, and nothing that leans on the row before; "whole"
    is the whole row.
    """
    row = pattern.script.row(place.row)
    if how != "on" and settings.wording == "changes":
        settings = replace(settings, wording="short")
    if how == "whole":
        return row_call(pattern, row, settings)
    check = tuple(_check(pattern, row, settings)) if how == "on" and place.run == 0 else ()
    stretch = plain_stretch(pattern, place.row)
    if stretch is not None:
        return (*check, *_plain(pattern, row, settings, stretch, how))
    return (*check, *_piece(pattern, row, settings, place.run, how))


def plain_stretch(pattern: Pattern, number: int) -> tuple[int, int] | None:
    """The first and last of two or more neighbouring rows all in one yarn, this row among them."""
    table, rows = pattern.script.runs, pattern.script.rows

    def yarn(row: int) -> int | None:
        begin, end = table.starts[row - 1 : row + 1]
        return int(table.yarn[begin]) if end - begin == 1 else None

    first = last = number
    if (here := yarn(number)) is None:
        return None
    while first > 1 and yarn(first - 1) == here:
        first -= 1
    while last < rows and yarn(last + 1) == here:
        last += 1
    return (first, last) if last > first else None


def _head(row: Row, settings: CallSettings) -> Clause:
    return clause(
        "Row {row}, {way}.",
        settings.numbers,
        RUN_PAUSE_S,
        "Row {row}, {way}:",
        row=row.number,
        way=way(row.direction),
    )


def _piece(
    pattern: Pattern, row: Row, settings: CallSettings, run: int, how: How
) -> Iterator[Clause]:
    clauses = run_clauses(pattern, row, settings)
    end = run + (settings.runs_at_once or len(clauses))
    if run == 0 or how == "afresh":
        yield _head(row, settings)
    if run and how == "afresh":
        yield clause(
            "From yarn {nth} of {count}, at {first}.",
            settings.numbers,
            RUN_PAUSE_S,
            nth=run + 1,
            count=len(clauses),
            first=Needle(pattern.bed, row.runs[run].first),
        )
    yield from ended(clauses[run:end])
    if end >= len(clauses):
        if settings.runs_at_once and len(clauses) > settings.runs_at_once:
            yield Clause("End of row.", "End of row.", RUN_PAUSE_S)
        yield from _tail(pattern, row, settings)


def _plain(
    pattern: Pattern, row: Row, settings: CallSettings, stretch: tuple[int, int], how: How
) -> Iterator[Clause]:
    first, last = stretch
    name = pattern.yarns[row.runs[0].yarn].name
    parts: dict[str, Any] = {"nth": row.number - first + 1, "count": last - first + 1}
    parts |= {"last": last, "yarn": name}
    counted, style = "lain {yarn}, {nth} of {count}.", settings.numbers
    if row.number == first or how == "afresh":
        yield _head(row, settings)
    if row.number == first:
        text = "{count} plain rows, {yarn}, to row {last}."
        yield capital(clause(text, style, settings.pause_s, **parts))
    elif how == "afresh":
        yield from ended(run_clauses(pattern, row, settings))
        yield clause(f"P{counted}", style, settings.pause_s, **parts)
    else:
        shown = f"Row {row.number}, {way(row.direction)}: p{counted}"
        yield clause(f"P{counted}", style, settings.pause_s, shown, **parts)
    if _tells_events(settings) and (row.number == first or how == "on"):
        yield from ended(tuple(event_clauses(pattern, row, settings)))
    yield from _tail(pattern, row, settings)


def _tail(pattern: Pattern, row: Row, settings: CallSettings) -> Iterator[Clause]:
    """What is to be done besides laying the yarns."""
    style, joints = settings.numbers, len(row.runs) - 1
    if settings.crossings and joints:
        end = "joint" if joints == 1 else "joints"
        yield clause(f"Cross at {{joints}} {end}.", style, RUN_PAUSE_S, joints=joints)
    if _tells_events(settings):
        yield from cut_clauses(pattern, row, settings)
    for reminder in pattern.reminders_at(row.number):
        yield Clause(f"Remember: {reminder}.", f"Remember: {reminder}.", RUN_PAUSE_S)


def _tells_events(settings: CallSettings) -> bool:
    return settings.events or settings.wording == "full"


def _check(pattern: Pattern, row: Row, settings: CallSettings) -> Iterator[Clause]:
    """The place check before every so many rows."""
    every = settings.check_every_rows
    if every and row.number > 1 and (row.number - 1) % every == 0:
        yield place_check(pattern, row, settings)


def place_check(pattern: Pattern, row: Row, settings: CallSettings) -> Clause:
    """Where the carriage should be, and how many supplies should hang, before the row."""
    count = len(pattern.supply_plan.hanging(row.number))
    supplies = "supply" if count == 1 else "supplies"
    return clause(
        f"Check: carriage on the {{side}}, {{count}} {supplies}.",
        settings.numbers,
        2 * RUN_PAUSE_S,
        side=start_side(row.direction),
        count=count,
    )
