"""The call of a row: its head, all its runs or a portion of them, and what is told besides."""

from collections.abc import Iterator
from itertools import chain
from typing import Literal

import numpy as np

from caller.calling.acts import RowActs, TakeUp, row_acts, setting_up, start_side
from caller.calling.changes import row_changes
from caller.calling.place import Place
from caller.calling.portions import changes_fit, is_shaped, portion, portions, split
from caller.calling.words.clauses import (
    CROSSING,
    change_clauses,
    place_check,
    plain_clause,
    reminder_clauses,
    run_clauses,
    way,
)
from caller.calling.words.ends import cut_clauses, hang_clauses
from caller.calling.words.shaping_clauses import shape_clauses
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Utterance,
    clause,
    ended,
)
from caller.pattern.pattern import Pattern
from caller.pattern.rows import Row
from caller.settings import CallSettings

How = Literal["on", "afresh", "whole"]
"""Whether the knitter comes from the place before, comes from elsewhere, or asked for it all."""

AS_USUAL = CallSettings()
GOES_ON = Clause("The row goes on.", "The row goes on.", RUN_PAUSE_S)
ROW_ENDS = Clause("Pass the carriage.", "Pass the carriage.", RUN_PAUSE_S)
MORE_TO_HANG = Clause("There are more to hang.", "There are more to hang.", RUN_PAUSE_S)
WHEN_HUNG = Clause("Go on when they hang.", "Go on when they hang.", RUN_PAUSE_S)


def row_call(pattern: Pattern, row: Row, settings: CallSettings = AS_USUAL) -> Utterance:
    """A whole row: its number, the carriage's direction, then its runs in knitting order.

    The ends to hang stand before row 1.
    """
    before = setting_up_call(pattern, settings) if row.number == 1 else ()
    return (*before, *_whole(pattern, row_acts(pattern, row.number), settings, changes=True))


def call(pattern: Pattern, settings: CallSettings, place: Place, how: How = "on") -> Utterance:
    """What is called at a place: a portion of a row or a whole one, or a plain row's brief word.

    Whoever comes "afresh" hears which row it is, and nothing that leans on the row before; "whole"
    is the whole row.
    """
    acts = row_acts(pattern, place.row)
    if how == "whole":
        return tuple(_whole(pattern, acts, settings))
    check = tuple(_check(pattern, acts, settings)) if how == "on" and place.run == 0 else ()
    stretch = plain_stretch(pattern, place.row)
    if stretch is not None and (place.row == stretch[0] or _goes_on(acts)):
        return (*check, *_plain(pattern, acts, settings, stretch, how))
    if changes_fit(pattern, settings, place.row):
        return (*check, *_whole(pattern, acts, settings, changes=how == "on"))
    return (*check, *_portion(pattern, acts, settings, place.run, how))


def setting_up_call(
    pattern: Pattern, settings: CallSettings, first: int | None = None
) -> Utterance:
    """The ends to hang before row 1, all of them or the portion that begins with the `first`."""
    hangs = setting_up(pattern)
    begins = split(len(hangs), settings.runs_at_once)
    told = tuple(hang_clauses(pattern, hangs, settings))
    head, each = told[: -len(hangs)], told[-len(hangs) :]
    begin, end = (0, len(hangs)) if first is None else portion(begins, len(hangs), first)
    said: list[Clause] = []
    if begin == 0:
        text = "Before row {row}, the carriage stands on the {side}."
        side = hangs[0].tail_side
        said.append(clause(text, settings.numbers, RUN_PAUSE_S, row=Exact(1), side=side))
        said += head
    said += ended(each[begin:end])
    if end < len(hangs):
        return (*said, MORE_TO_HANG)
    said += where_yarns_meet(pattern)
    if first is not None and len(hangs) > 1:
        said.append(WHEN_HUNG)
    return tuple(said)


def where_yarns_meet(pattern: Pattern, first_row: int = 1) -> Utterance:
    """How neighbours cross, where yarns meet in any row from this one on."""
    if int(np.diff(pattern.script.runs.starts[first_row - 1 :]).max(initial=0)) < 2:
        return ()
    return (Clause(CROSSING, CROSSING, RUN_PAUSE_S),)


def plain_stretch(pattern: Pattern, number: int) -> tuple[int, int] | None:
    """The first and last of two or more neighbouring rows all in one yarn, this row among them.

    Edges are shaped only before the first of them.
    """
    table, rows = pattern.script.runs, pattern.script.rows

    def yarn(row: int) -> int | None:
        begin, end = table.starts[row - 1 : row + 1]
        return int(table.yarn[begin]) if end - begin == 1 else None

    first = last = number
    if (here := yarn(number)) is None:
        return None
    while first > 1 and yarn(first - 1) == here and not is_shaped(pattern, first):
        first -= 1
    while last < rows and yarn(last + 1) == here and not is_shaped(pattern, last + 1):
        last += 1
    return (first, last) if last > first else None


def check_place(pattern: Pattern, row: int, settings: CallSettings) -> Clause:
    """Where the carriage should be, and how many ends should hang, before the row."""
    side = start_side(pattern.script.direction(row))
    count = len(pattern.supply_plan.hanging(row)) if row > 1 else len(setting_up(pattern))
    return place_check(pattern, row, side, count, settings)


def _whole(
    pattern: Pattern, acts: RowActs, settings: CallSettings, changes: bool = False
) -> Iterator[Clause]:
    told = row_changes(pattern, acts) if changes and settings.wording == "changes" else None
    yield _head(acts, settings)
    runs = (
        run_clauses(pattern, acts, settings)
        if told is None
        else change_clauses(pattern, told, settings)
    )
    yield from ended((*shape_clauses(pattern, acts, settings), *runs))
    yield from _after(pattern, acts, settings)


def _head(acts: RowActs, settings: CallSettings) -> Clause:
    # Open recognisers write "row eight" as "row a" and "row one hundred" as "for a hundred".
    return clause(
        "Row number {row}, {way}.",
        settings.numbers,
        RUN_PAUSE_S,
        "Row {row}, {way}:",
        row=Exact(acts.number),
        way=way(acts.direction),
    )


def _portion(
    pattern: Pattern, acts: RowActs, settings: CallSettings, run: int, how: How
) -> Iterator[Clause]:
    shapes, runs = shape_clauses(pattern, acts, settings), run_clauses(pattern, acts, settings)
    items = [*([shapes] if shapes else []), *((one,) for one in runs)]
    begins, count, before = portions(pattern, settings, acts.number), len(items), bool(shapes)
    begin, end = portion(begins, count, run)
    if begin == 0 or how == "afresh":
        yield _head(acts, settings)
    if begin and how == "afresh":
        yield clause(
            "From yarn {nth} of {count}, at {first}.",
            settings.numbers,
            RUN_PAUSE_S,
            nth=begin + 1 - before,
            count=len(runs),
            first=Needle(pattern.bed, acts.steps[begin - before].lay.first),
        )
    yield from ended(tuple(chain.from_iterable(items[begin:end])))
    if end < count:
        yield GOES_ON
        return
    if len(begins) > 1 and not acts.cuts and not acts.kept:  # what is cut is cut after the pass
        yield ROW_ENDS
    yield from _after(pattern, acts, settings)


def _goes_on(acts: RowActs) -> bool:
    take = acts.steps[0].take
    return isinstance(take, TakeUp) and take.obvious


def _plain(
    pattern: Pattern, acts: RowActs, settings: CallSettings, stretch: tuple[int, int], how: How
) -> Iterator[Clause]:
    first, last = stretch
    nth, count, style = acts.number - first + 1, last - first + 1, settings.numbers
    name = pattern.yarns[acts.steps[0].lay.end.yarn].name
    counted = "Plain {yarn}, {nth} out of {count} rows."
    if acts.number == first or how == "afresh":
        yield _head(acts, settings)
    if acts.number == first:
        plain = plain_clause(pattern, acts.steps[0], stretch, settings)
        yield from ended((*shape_clauses(pattern, acts, settings), plain))
    elif how == "afresh":
        yield from ended(run_clauses(pattern, acts, settings))
        yield clause(counted, style, settings.pause_s, yarn=name, nth=nth, count=count)
    else:
        shown = f"Row {acts.number}, {way(acts.direction)}: {counted.lower()}"
        yield clause(counted, style, settings.pause_s, shown, yarn=name, nth=nth, count=count)
    yield from _after(pattern, acts, settings)


def _after(pattern: Pattern, acts: RowActs, settings: CallSettings) -> Iterator[Clause]:
    """What is to be done when the yarns are laid."""
    yield from cut_clauses(pattern, acts, settings)
    yield from reminder_clauses(acts)


def _check(pattern: Pattern, acts: RowActs, settings: CallSettings) -> Iterator[Clause]:
    """The place check before every so many rows."""
    every = settings.check_every_rows
    if every and acts.number > 1 and (acts.number - 1) % every == 0:
        yield check_place(pattern, acts.number, settings)
