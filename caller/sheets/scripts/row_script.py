"""The row script for people and for other programs."""

from collections.abc import Iterator
from typing import Any

from caller.calling.acts import row_acts
from caller.calling.words import sentences
from caller.calling.words.row_call import AS_USUAL, row_call, setting_up_call
from caller.calling.words.utterance import shown
from caller.pattern.pattern import Pattern


def as_json(pattern: Pattern) -> dict[str, Any]:
    """The row script as plain data; docs/plan.md describes the names."""
    script, bed, plan = pattern.script, pattern.bed, pattern.supply_plan
    labels = [bed.label(position) for position in range(bed.needles)]
    names = [yarn.name for yarn in pattern.yarns]
    first, last = script.in_work(1)
    return {
        "cast_on": last - first + 1,
        "first_needle": labels[script.first_needle],
        "last_needle": labels[script.last_needle],
        "yarns": [{"name": yarn.name, "colour": yarn.colour} for yarn in pattern.yarns],
        "rows": [
            {
                "row": row.number,
                "direction": row.direction,
                **_shape(pattern, row.number, labels),
                "runs": [
                    {
                        "yarn": names[run.yarn],
                        "from": labels[run.first],
                        "to": labels[run.last],
                        "stitches": run.stitches,
                        "supply": entry.supply,
                        "bobbin": int(plan.bobbins.bobbin[entry.supply - 1]),
                        "start": entry.start,
                        "carry": entry.carry,
                        "end": "keep" if entry.supply == kept else entry.end,
                    }
                    for entry in plan.row(row.number)
                    for run in (entry.run,)
                ],
            }
            for row in script
            for kept in (_kept(pattern, row.number),)
        ],
    }


def _kept(pattern: Pattern, number: int) -> int | None:
    """The supply that binds off after the last row."""
    kept = row_acts(pattern, number).kept
    return kept.end.supply if kept else None


def _shape(pattern: Pattern, number: int, labels: list[str]) -> dict[str, Any]:
    """The needles in work, and what is done at the edges before the row; of a shaped piece only."""
    if not pattern.chart.shaped:
        return {}
    return {
        "in_work": [labels[needle] for needle in pattern.script.in_work(number)],
        "shape": [
            {
                "do": done.kind,
                "side": done.side,
                "stitches": done.stitches,
                "from": labels[done.first],
                "to": labels[done.last],
                "edge": labels[done.edge],
                "moved": done.moved,
                "supply": end.supply if end else None,
                "bobbin": end.bobbin if end else None,
                "cut": shape.cut,
            }
            for shape in row_acts(pattern, number).shapes
            for done in (shape.shaping,)
            for end in (shape.take.end if shape.take else shape.binds,)
        ],
    }


def as_lines(pattern: Pattern) -> Iterator[str]:
    """The row script as lines of text: where the work lies, the ends to hang, then a line a row."""
    yield shown(sentences.opening(pattern))
    hanging = setting_up_call(pattern, AS_USUAL)
    yield shown(hanging)
    for row in pattern.script:
        yield shown(row_call(pattern, row)[len(hanging) * (row.number == 1) :])
