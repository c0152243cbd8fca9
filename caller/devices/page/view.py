"""What the page shows of a session: plain data, for JSON."""

from typing import Any

from caller.calling.acts import end_of, row_acts, setting_up
from caller.calling.place import finishing_step
from caller.calling.portions import is_shaped, item_count, portion, portions, split
from caller.calling.state import Told
from caller.calling.words.clauses import way
from caller.calling.words.ends import end_clauses
from caller.calling.words.utterance import shown
from caller.pattern.pattern import Pattern
from caller.sheets.scripts.row_lines import run_lines, shape_lines

View = dict[str, Any]


def view(told: Told) -> View:
    """The whole of what the page shows: it needs to know nothing of what it showed before.

    `words` is what was told. `at` names the step that is called, so that a press that was meant for
    another one is known. `bar` has the row's runs from left to right, in needles.
    """
    pattern, state = told.pattern, told.answer.state
    row, rows = state.place.row, pattern.script.rows
    at = (row, state.place.run, state.setting_up)
    seen: View = {
        "title": pattern.title,
        "words": shown(told.answer.say),
        "at": ".".join("" if part is None else str(part) for part in at) if told.begun else "",
        "question": not told.begun or state.question is not None,
        "ended": told.answer.leave,
        "heading": "",
        "way": "",
        "shapes": [],
        "runs": [],
        "bar": None,
        "hanging": [],
        "remember": [],
    }
    if not told.begun:
        return seen
    if row > rows:
        finishing = finishing_step(pattern, state.place) is not None
        seen["heading"] = "Finishing" if finishing else f"All {rows} rows are knitted"
        return seen
    direction = pattern.script.direction(row)
    seen["way"] = direction
    seen["bar"] = _bar(pattern, row)
    if state.setting_up is not None:
        return seen | {"heading": "Before row 1: hang these ends", **_to_hang(told)}
    seen["heading"] = f"Row {row} of {rows}, {way(direction)}"
    seen["shapes"] = shape_lines(pattern, row)
    seen["runs"] = _runs(told)
    seen["hanging"] = _hanging(told)
    seen["remember"] = list(pattern.reminders_at(row))
    return seen


def _runs(told: Told) -> list[View]:
    """The row's runs in the order of the hands; `now` are those that are being called."""
    pattern, place = told.pattern, told.answer.state.place
    begins = portions(pattern, told.settings, place.row)
    items = portion(begins, item_count(pattern, place.row), place.run)
    first, end = (item - is_shaped(pattern, place.row) for item in items)
    return [
        {
            "colour": pattern.yarns[line.yarn].colour,
            "end": line.end,
            "to": line.parts.to,
            "last": line.parts.last,
            "more": line.more,
            "now": first <= index < end,
        }
        for index, line in enumerate(run_lines(pattern, place.row))
    ]


def _to_hang(told: Told) -> View:
    """The ends to hang before row 1; `now` are those that are being told."""
    pattern, first = told.pattern, told.answer.state.setting_up or 0
    hangs = setting_up(pattern)
    begins = split(len(hangs), told.settings.runs_at_once)
    first, end = portion(begins, len(hangs), first)
    runs = [
        {
            "colour": pattern.yarns[hang.end.yarn].colour,
            "end": _name(pattern, hang.end.yarn, hang.end.bobbin, hang.end.alone),
            "to": "at",
            "last": pattern.bed.label(hang.needle),
            "more": f"tail to the {hang.tail_side}",
            "now": first <= index < end,
        }
        for index, hang in enumerate(hangs)
    ]
    return {"runs": runs}


def _name(pattern: Pattern, yarn: int, bobbin: int, alone: bool) -> str:
    return pattern.yarns[yarn].name if alone else f"{pattern.yarns[yarn].name} {bobbin}"


def _hanging(told: Told) -> list[View]:
    """The ends that hang before the row is knitted, from left to right."""
    pattern, row = told.pattern, told.answer.state.place.row
    if row == 1:
        ends = [(hang.end, hang.needle) for hang in setting_up(pattern)]
        ends.sort(key=lambda one: one[1])
    else:
        hanging = pattern.supply_plan.hanging(row)
        ends = [(end_of(pattern, supply.supply), supply.needle) for supply in hanging]
    each = end_clauses(pattern, ends, told.settings)
    return [
        {"colour": pattern.yarns[end.yarn].colour, "text": clause.shown}
        for (end, _), clause in zip(ends, each, strict=True)
    ]


def _bar(pattern: Pattern, row: int) -> View:
    """The row from left to right, to scale: `before` and `after` are needles out of work.

    `turn` tells that the hands lay the runs from right to left.
    """
    acts, script, bed = row_acts(pattern, row), pattern.script, pattern.bed
    first, last = script.in_work(row)
    turn = acts.direction == "left"
    runs = []
    for step in acts.steps[:: -1 if turn else 1]:
        lay = step.lay
        runs.append(
            {
                "colour": pattern.yarns[lay.end.yarn].colour,
                "stitches": lay.stitches,
                "first": bed.label(min(lay.first, lay.last)),
                "last": bed.label(max(lay.first, lay.last)),
            }
        )
    centre = bed.left_half - first if bed.numbering == "centre" else None
    return {
        "before": first - script.first_needle,
        "after": script.last_needle - last,
        "runs": runs,
        "turn": turn,
        "centre": centre,
    }
