"""What helps when something went wrong: a needle's last rows, ways out, and rows unravelled."""

from collections.abc import Iterator
from dataclasses import dataclass

from caller.calling.acts import End, end_of, run_at
from caller.calling.answers import needle_at
from caller.calling.place import Place
from caller.calling.words.ends import end_clauses, names_clause
from caller.calling.words.numbers import plural
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Part,
    Utterance,
    capital,
    clause,
    ended,
    sentence,
)
from caller.pattern.finishing import cast_off
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings

LOOK_BACK = 12
"""Rows. A fault is usually seen within a few; what lies deeper is not told, to be short."""
MOST_STRETCHES = 4

WAYS_OUT = (
    "One stitch, or a few, in the wrong yarn: leave them, and work duplicate stitch over them in "
    "the right yarn when the piece is done.",
    "A dropped stitch: catch its loop, and latch it up through the rungs above it, row by row.",
    "An end that was not hung: hang it now, and cover what it missed with duplicate stitch.",
    "If it is too much for that, unravel the rows, and tell me how many; the help says how.",
)
"""Common practice, from memory."""


@dataclass(frozen=True)
class _Stretch:
    """Rows, the newest first, in which one supply knitted a needle."""

    first: int
    last: int
    supply: int


def happened(
    pattern: Pattern, settings: CallSettings, place: Place, label: str, again: bool = False
) -> Utterance:
    """The yarns of a needle in the last rows that were knitted, the newest first.

    With each, where its end was hung or cut in these rows. Asked `again`, the ways out.
    """
    if again:
        return tuple(Clause(text, text, 2 * RUN_PAUSE_S) for text in WAYS_OUT)
    bed, needle = pattern.bed, needle_at(pattern, settings, label)
    if not isinstance(needle, int):
        return needle
    stretches = list(_stretches(pattern, place.row - 1, needle))
    if place.row == 1:
        return sentence("No row is knitted yet.")
    if not stretches:
        text = "There is no stitch on {needle} in these rows."
        return (clause(text, settings.numbers, needle=Needle(bed, needle)),)
    head = "On {needle}, from the newest row down:"
    said = [clause(head, settings.numbers, RUN_PAUSE_S, needle=Needle(bed, needle))]
    said += [_told(pattern, settings, one) for one in stretches[:MOST_STRETCHES]]
    if len(stretches) > 1:
        rows = place.row - stretches[0].first
        text = f"To come below its last change, unravel {{rows}} {plural(rows, 'row')}."
        said.append(clause(text, settings.numbers, 2 * RUN_PAUSE_S, rows=rows))
    return (*said, *sentence("To hear what can be done, ask the same again."))


def _stretches(pattern: Pattern, newest: int, needle: int) -> Iterator[_Stretch]:
    last, before = newest, 0
    for row in range(newest, max(0, newest - LOOK_BACK), -1):
        entry = run_at(pattern, row, needle)
        supply = entry.supply if entry else 0
        if supply != before:
            if before:
                yield _Stretch(row + 1, last, before)
            last, before = row, supply
    if before:
        yield _Stretch(max(1, newest - LOOK_BACK + 1), last, before)


def _told(pattern: Pattern, settings: CallSettings, one: _Stretch) -> Clause:
    """ "From row five through row seven, cream, hung in row five at left ten." """
    end, plan, bed = end_of(pattern, one.supply), pattern.supply_plan, pattern.bed
    text = "Row {last}, " if one.first == one.last else "From row {first} through row {last}, "
    text += "{yarn}" if end.alone else "{yarn}, bobbin {bobbin}"
    parts: dict[str, Part] = {
        "first": Exact(one.first),
        "last": Exact(one.last),
        "yarn": pattern.yarns[end.yarn].name,
        "bobbin": Exact(end.bobbin),
    }
    joined = int(plan.supplies.first_row[one.supply - 1])
    cut = int(plan.supplies.last_row[one.supply - 1])
    if one.first <= joined <= one.last:
        run = next(entry.run for entry in plan.row(joined) if entry.supply == one.supply)
        text += ", hung in row {joined} at {hung}"
        parts |= {"joined": Exact(joined), "hung": Needle(bed, run.first)}
    if one.first <= cut <= one.last:
        run = [entry.run for entry in plan.row(cut) if entry.supply == one.supply][-1]
        text += ", cut in row {cut} at {needle}"
        parts |= {"cut": Exact(cut), "needle": Needle(bed, run.last)}
    return clause(f"{text}.", settings.numbers, 2 * RUN_PAUSE_S, **parts)


def unravelled(
    pattern: Pattern, settings: CallSettings, first: int, after: int
) -> Iterator[Clause]:
    """Which ends come back and which come off when the rows from `first` to before `after` are
    unravelled.

    An end that was cut in these rows hangs again, at the needle named, and is joined to its yarn;
    one that was hung in these rows comes off.
    """
    table = pattern.supply_plan.supplies
    cut = (table.last_row >= first) & (table.last_row < after) & (table.first_row < first)
    hung = (table.first_row >= first) & (table.first_row < after)
    back = {int(index) + 1 for index in cut.nonzero()[0]}
    if after > pattern.script.rows:  # the end that binds off still hangs
        back.discard(cast_off(pattern).supply)
    off = [int(index) + 1 for index in hung.nonzero()[0]]
    if back:
        ends = [
            (end_of(pattern, hanging.supply), hanging.needle)
            for hanging in pattern.supply_plan.hanging(first)
            if hanging.supply in back
        ]
        text = plural(
            len(ends),
            "{count} end that was cut comes back; join more yarn to it.",
            "{count} ends that were cut come back; join more yarn to each.",
        )
        yield capital(clause(text, settings.numbers, 2 * RUN_PAUSE_S, count=len(ends)))
        yield from ended(end_clauses(pattern, ends, settings))
    if off and first > 1:
        ends_off: list[End] = [end_of(pattern, supply) for supply in off]
        yield names_clause(pattern, ends_off, f"{plural(len(off), 'comes', 'come')} off.", settings)
