"""The diary of a work: in sentences that are shown or said, as JSON, and as a table."""

import csv
import io
from collections.abc import Iterator
from typing import Any

from caller.calling.diary import Diary, Sitting
from caller.calling.pace import FEWEST_TIMES
from caller.calling.words.numbers import plural
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Utterance,
    capital,
    clause,
    sentence,
)
from caller.pattern.pattern import Pattern
from caller.plain_text import plain

_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July", "August", "September"),
    *("October", "November", "December"),
)


def as_json(pattern: Pattern, diary: Diary) -> dict[str, Any]:
    """The whole diary as plain data: times as in ISO 8601, with seconds; None where not known."""
    estimate = diary.estimate
    return {
        "title": pattern.title,
        "row": min(diary.place.row, diary.rows),
        "rows": diary.rows,
        "finished": diary.place.row > diary.rows,
        "sittings": [
            {
                "began": one.began.isoformat(timespec="seconds"),
                "ended": one.ended.isoformat(timespec="seconds"),
                "minutes": round(one.minutes, 1),
                "first_row": one.first_row,
                "last_row": min(one.last_row, diary.rows),
                "rows_knitted": one.knitted,
                "rows_unravelled": one.unravelled,
            }
            for one in diary.sittings
        ],
        "rows_knitted": [
            {
                "row": one.row,
                "finished": one.at.isoformat(timespec="seconds"),
                "seconds": round(one.seconds, 1),
            }
            for one in diary.knitted
        ],
        "rows_unravelled": diary.unravelled,
        "marked": sorted(diary.marked),
        "remarks": [{"row": row, "say": diary.remarks[row]} for row in sorted(diary.remarks)],
        "estimate": None
        if estimate is None
        else {
            "rows_left": estimate.rows,
            "seconds_a_row": round(estimate.row_s, 1),
            "hours": round(estimate.hours, 2),
            "least_hours": round(estimate.least_hours, 2),
            "most_hours": round(estimate.most_hours, 2),
            "finished_on": None if estimate.day is None else estimate.day.isoformat(),
        },
    }


def as_csv(diary: Diary) -> str:
    """A line for each row that was knitted: row, when it was finished, and the seconds it took."""
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(("row", "finished", "seconds"))
    for one in diary.knitted:
        finished = one.at.isoformat(timespec="seconds")
        table.writerow((one.row, finished, round(one.seconds, 1)))
    return text.getvalue()


def as_utterances(pattern: Pattern, diary: Diary) -> Iterator[Utterance]:
    """One line each: where the work stands, its sittings, and what is left."""
    row, rows = diary.place.row, diary.rows
    text = (
        "{title}: all {rows} rows are knitted." if row > rows else "{title}: row {row} of {rows}."
    )
    yield (clause(text, "words", RUN_PAUSE_S, title=plain(pattern.title), row=row, rows=rows),)
    for number, one in enumerate(diary.sittings, 1):
        yield _sitting(number, one, rows)
    if diary.unravelled:
        text = f"{{count}} {plural(diary.unravelled, 'row was', 'rows were')} unravelled in all."
        yield (_capital(text, count=diary.unravelled),)
    for marked in sorted(diary.marked | diary.remarks.keys()):
        remark = diary.remarks.get(marked, "")
        told = "Row {row}:" if remark else "Row {row} is marked."
        yield (clause(told, "words", RUN_PAUSE_S, row=marked), *sentence(remark, RUN_PAUSE_S))
    yield from _left(diary)


def _sitting(number: int, one: Sitting, rows: int) -> Utterance:
    began = one.began
    date = f"{began.day} {_MONTHS[began.month - 1]} {began.year}"
    shown = "Sitting {number}, " + f"{date}, {began:%H:%M} to {one.ended:%H:%M}: "
    said = "Sitting {number}, " + f"{_MONTHS[began.month - 1]} " + "{day}: "
    told = f"{{knitted}} {plural(one.knitted, 'row')} knitted in {{minutes}} "
    told += plural(round(one.minutes), "minute")
    if one.unravelled:
        told += ", {unravelled} unravelled"
    told += ", as far as row {row}."
    return (
        clause(
            said + told,
            "words",
            RUN_PAUSE_S,
            shown + told,
            number=number,
            day=began.day,
            knitted=one.knitted,
            minutes=round(one.minutes),
            unravelled=one.unravelled,
            row=min(one.last_row, rows),
        ),
    )


def _left(diary: Diary) -> Iterator[Utterance]:
    estimate = diary.estimate
    if diary.place.row > diary.rows:
        return
    if estimate is None:
        yield sentence(f"The time to go is told once {FEWEST_TIMES} rows are timed.")
        return
    seconds = round(estimate.row_s)
    minutes, rest = divmod(seconds, 60)
    pace = f"{{minutes}} {plural(minutes, 'minute')} {{rest}} {plural(rest, 'second')}"
    pace = pace if minutes else f"{{rest}} {plural(rest, 'second')}"
    yield (
        _capital(
            f"{{rows}} {plural(estimate.rows, 'row')} to go, at {pace} a row.",
            rows=estimate.rows,
            minutes=minutes,
            rest=rest,
        ),
    )
    yield (
        clause(
            "About {likely} of knitting, {least} to {most}.",
            "words",
            RUN_PAUSE_S,
            likely=_hours(estimate.hours),
            least=_hours(estimate.least_hours),
            most=_hours(estimate.most_hours),
        ),
    )
    if estimate.day is not None:
        day = estimate.day
        yield (
            clause(
                "At as many rows a day as so far, you finish about {day} "
                f"{_MONTHS[day.month - 1]}.",
                "words",
                day=day.day,
            ),
        )


def _hours(hours: float) -> str:
    """Rounded as people round: to five minutes below two hours, then to half an hour."""
    minutes = round(hours * 60)
    if minutes < 120:
        rounded = max(5, 5 * round(minutes / 5))
        return f"{rounded} minutes"
    halves = round(hours * 2)
    return f"{halves // 2}{' and a half' if halves % 2 else ''} hours"


def _capital(text: str, **parts: int) -> Clause:
    return capital(clause(text, "words", RUN_PAUSE_S, **parts))
