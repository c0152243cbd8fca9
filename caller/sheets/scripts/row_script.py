"""The row script for people and for other programs."""

from collections.abc import Iterator
from typing import Any

from caller.calling.words import sentences
from caller.calling.words.row_call import AS_USUAL, row_call, setting_up_call
from caller.calling.words.utterance import shown
from caller.pattern.pattern import Pattern


def as_json(pattern: Pattern) -> dict[str, Any]:
    """The row script as plain data; the README describes the names."""
    script, bed, plan = pattern.script, pattern.bed, pattern.supply_plan
    labels = [bed.label(position) for position in range(bed.needles)]
    names = [yarn.name for yarn in pattern.yarns]
    return {
        "cast_on": pattern.chart.stitches,
        "first_needle": labels[script.first_needle],
        "last_needle": labels[script.last_needle],
        "yarns": [{"name": yarn.name, "colour": yarn.colour} for yarn in pattern.yarns],
        "rows": [
            {
                "row": row.number,
                "direction": row.direction,
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
                        "end": entry.end,
                    }
                    for entry in plan.row(row.number)
                    for run in (entry.run,)
                ],
            }
            for row in script
        ],
    }


def as_lines(pattern: Pattern) -> Iterator[str]:
    """The row script as lines of text: where the work lies, the ends to hang, then a line a row."""
    yield shown(sentences.opening(pattern))
    hanging = setting_up_call(pattern, AS_USUAL)
    yield shown(hanging)
    for row in pattern.script:
        yield shown(row_call(pattern, row)[len(hanging) * (row.number == 1) :])
