"""Answers to what the knitter asks during the work."""

from collections.abc import Sequence
from dataclasses import replace
from statistics import median

from caller.calling.place import Place, run_count
from caller.calling.words.clauses import start_side, way
from caller.calling.words.numbers import number_words, unchecked
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
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

FEWEST_TIMES = 3
"""Rows that must have been timed before the time to go is told."""


def where(pattern: Pattern, settings: CallSettings, place: Place) -> Utterance:
    """The row, of how many, the way and the side of the carriage; the piece where there are any."""
    style = settings.numbers
    direction = pattern.script.direction(place.row)
    told = [
        clause(
            "This is row {row} of {rows}, {way}.",
            style,
            RUN_PAUSE_S,
            row=place.row,
            rows=pattern.script.rows,
            way=way(direction),
        )
    ]
    count = run_count(pattern, place.row)
    if 0 < settings.runs_at_once < count:
        first, last = place.run + 1, min(place.run + settings.runs_at_once, count)
        one = first == last
        text = "Yarn {first} of {count}." if one else "Yarns {first} to {last} of {count}."
        told.append(clause(text, style, RUN_PAUSE_S, first=first, last=last, count=count))
    told.append(clause("The carriage is on the {side}.", side=start_side(direction)))
    return tuple(told)


def remaining(
    pattern: Pattern, settings: CallSettings, place: Place, row_times_s: Sequence[float]
) -> Utterance:
    """The rows to go, this one among them, and the time at the pace of the last rows."""
    rows = pattern.script.rows - place.row + 1
    text = (
        "With this row, {rows} rows to go." if rows > 1 else "This is the last row, {rows} to go."
    )
    to_go = clause(text, settings.numbers, RUN_PAUSE_S, rows=rows)
    if len(row_times_s) < FEWEST_TIMES:
        return to_go, *sentence("The time is told after three rows.")
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
        parts.append("{hours} hour" if hours == 1 else "{hours} hours")
    if rest:
        parts.append("{rest} minute" if rest == 1 else "{rest} minutes")
    style = unchecked(settings.numbers)
    return clause(f"About {' and '.join(parts)}.", style, hours=hours, rest=rest)


def needle(pattern: Pattern, settings: CallSettings, place: Place, label: str) -> Utterance:
    """The yarn on a needle in this row; a sentence for a needle that is not there."""
    bed, script, style = pattern.bed, pattern.script, settings.numbers
    try:
        position = bed.position(label)
    except BedError as error:
        return sentence(str(error))
    if not script.first_needle <= position <= script.last_needle:
        return (
            clause(
                "There is no stitch on {needle}; the work lies {first} to {last}.",
                style,
                needle=Needle(bed, position),
                first=Needle(bed, script.first_needle),
                last=Needle(bed, script.last_needle),
            ),
        )
    yarn = pattern.yarns[int(pattern.chart.cells[place.row - 1, position - script.first_needle])]
    return (
        clause(
            "In row {row}, {needle} is {yarn}.",
            style,
            row=place.row,
            needle=Needle(bed, position),
            yarn=yarn.name,
        ),
    )


def supplies(pattern: Pattern, settings: CallSettings, place: Place) -> Utterance:
    """How many supplies hang before this row is knitted, and each with its needle."""
    found, style = pattern.supply_plan.hanging(place.row), settings.numbers
    if not found:
        return sentence("No supply hangs yet.")
    text = "{count} supply hangs." if len(found) == 1 else "{count} supplies hang."
    each = tuple(
        clause(
            "{yarn} at {needle}.",
            style,
            settings.pause_s,
            "{yarn} at {needle}",
            yarn=pattern.yarns[supply.yarn].name,
            needle=Needle(pattern.bed, supply.needle),
        )
        for supply in found
    )
    return (capital(clause(text, style, 2 * RUN_PAUSE_S, count=len(found))), *ended(each))


def changes(pattern: Pattern, settings: CallSettings, place: Place) -> Utterance:
    """The next row that is not as the one before it, and what changes there, supplies too."""
    cells, rows, style = pattern.chart.cells, pattern.script.rows, settings.numbers
    row = place.row + 1
    while row <= rows and (cells[row - 1] == cells[row - 2]).all():
        row += 1
    if place.row == rows:
        return sentence("This is the last row.")
    if row > rows:
        return (clause("No change to the last row, {rows}.", style, rows=rows),)
    told: Utterance = ()
    if row > place.row + 1:
        told = (clause("No change to row {row}.", style, 2 * RUN_PAUSE_S, row=row - 1),)
    differing = replace(settings, wording="changes", runs_at_once=0, events=True)
    return (*told, *row_call(pattern, pattern.script.row(row), differing))


def spelled(key: str) -> Utterance:
    """What was pressed for a needle, said back."""
    return sentence({"l": "Left.", "r": "Right."}.get(key) or f"{number_words(int(key))}.")
