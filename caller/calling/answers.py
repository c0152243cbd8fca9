"""Answers to what the knitter asks during the work."""

from collections.abc import Sequence
from dataclasses import replace
from statistics import median

from caller.calling.acts import end_of, row_acts, run_at, start_side
from caller.calling.changes import row_changes
from caller.calling.pace import FEWEST_TIMES
from caller.calling.place import Place
from caller.calling.portions import is_shaped, portions, run_count
from caller.calling.words.clauses import in_work_clause, way
from caller.calling.words.ends import end_clauses
from caller.calling.words.numbers import plural
from caller.calling.words.row_call import row_call, setting_up_call
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Utterance,
    capital,
    clause,
    ended,
    sentence,
)
from caller.errors import BedError
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings


def where(pattern: Pattern, settings: CallSettings, place: Place) -> Utterance:
    """The row, of how many, the way and the side of the carriage; where in a row of portions."""
    style = settings.numbers
    direction = pattern.script.direction(place.row)
    told = [
        clause(
            "This is row {row} of {rows}, {way}.",
            style,
            RUN_PAUSE_S,
            row=Exact(place.row),
            rows=pattern.script.rows,
            way=way(direction),
        )
    ]
    if len(portions(pattern, settings, place.row)) > 1:
        nth = max(1, place.run + 1 - is_shaped(pattern, place.row))
        count = run_count(pattern, place.row)
        told.append(clause("From yarn {nth} of {count}.", style, RUN_PAUSE_S, nth=nth, count=count))
    told.append(clause("The carriage is on the {side}.", side=start_side(direction)))
    if pattern.chart.shaped:
        told.append(in_work_clause(pattern, place.row, style))
    return tuple(told)


def remaining(
    pattern: Pattern, settings: CallSettings, place: Place, row_times_s: Sequence[float]
) -> Utterance:
    """The rows to go, this one among them, and the time at the pace of the last rows."""
    rows = pattern.script.rows - place.row + 1
    text = "{rows} rows to go, counting this one." if rows > 1 else "This is the last row."
    to_go = capital(clause(text, settings.numbers, RUN_PAUSE_S, rows=rows))
    if len(row_times_s) < FEWEST_TIMES:
        return to_go, *sentence("I can tell how long it takes once three rows are timed.")
    minutes = rows * median(row_times_s) / 60
    return to_go, _duration(minutes, settings)


def _duration(minutes: float, settings: CallSettings) -> Clause:
    """Rounded as people round: to a minute, above half an hour to five."""
    whole = 5 * round(minutes / 5) if minutes > 30 else round(minutes)
    hours, rest = divmod(whole, 60)
    if whole == 0:
        return clause("Less than a minute.")
    parts = []
    if hours:
        parts.append(f"{{hours}} {plural(hours, 'hour')}")
    if rest:
        parts.append(f"{{rest}} {plural(rest, 'minute')}")
    return clause(f"About {' and '.join(parts)}.", settings.numbers, hours=hours, rest=rest)


def needle(pattern: Pattern, settings: CallSettings, place: Place, label: str) -> Utterance:
    """The yarn on a needle in this row; a sentence for a needle that is not there."""
    position = needle_at(pattern, settings, label, place.row)
    if not isinstance(position, int):
        return position
    entry = run_at(pattern, place.row, position)
    return (
        clause(
            "In row {row}, {needle} is {yarn}.",
            settings.numbers,
            row=Exact(place.row),
            needle=Needle(pattern.bed, position),
            yarn=pattern.yarns[entry.run.yarn].name if entry else "not in work",
        ),
    )


def needle_at(
    pattern: Pattern, settings: CallSettings, label: str, row: int | None = None
) -> int | Utterance:
    """The bed position of a needle in work in this row, or in any row; a sentence for one that is
    not."""
    bed, script = pattern.bed, pattern.script
    try:
        position = bed.position(label)
    except BedError as error:
        return sentence(str(error))
    first, last = (script.first_needle, script.last_needle) if row is None else script.in_work(row)
    if first <= position <= last:
        return position
    return (
        clause(
            "There is no stitch on {needle}; the work lies from {first}, as far as {last}.",
            settings.numbers,
            needle=Needle(bed, position),
            first=Needle(bed, first),
            last=Needle(bed, last),
        ),
    )


def supplies(pattern: Pattern, settings: CallSettings, place: Place) -> Utterance:
    """The ends that hang before this row is knitted, each with its needle; at row 1 those to hang.

    From left to right, each by its bobbin too.
    """
    if place.row == 1:
        return setting_up_call(pattern, settings)
    found, style = pattern.supply_plan.hanging(place.row), settings.numbers
    if not found:
        return sentence("No end hangs; this row begins with new ones.")
    text = f"{{count}} {plural(len(found), 'end hangs', 'ends hang')}."
    ends = [(end_of(pattern, supply.supply), supply.needle) for supply in found]
    each = end_clauses(pattern, ends, settings)
    return (capital(clause(text, style, 2 * RUN_PAUSE_S, count=len(found))), *ended(each))


def changes(pattern: Pattern, settings: CallSettings, place: Place) -> Utterance:
    """The next row that is not as the one before it, and what changes there."""
    rows, style = pattern.script.rows, settings.numbers
    if place.row == rows:
        return sentence("This is the last row.")
    row = place.row + 1
    while _same(pattern, row):  # the last row is not, for its ends are cut
        row += 1
    told: Utterance = ()
    if row > place.row + 1:
        text = "No change through row {row}."
        told = (clause(text, style, 2 * RUN_PAUSE_S, row=Exact(row - 1)),)
    differing = replace(settings, wording="changes")
    return (*told, *row_call(pattern, pattern.script.row(row), differing))


def _same(pattern: Pattern, row: int) -> bool:
    acts = row_acts(pattern, row)
    return not (acts.cuts or acts.kept or acts.shapes) and row_changes(pattern, acts) == ()
