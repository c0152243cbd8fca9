"""The plan: what to know before the first stitch, as data and as lines to read or hear."""

from collections.abc import Iterator, Sequence
from typing import Any

from caller.calling.acts import setting_up
from caller.calling.words import sentences
from caller.calling.words.clauses import CROSSING
from caller.calling.words.numbers import counted
from caller.calling.words.utterance import shown
from caller.pattern import amounts
from caller.pattern.pattern import Pattern
from caller.pattern.tidy.advice import Advice
from caller.pattern.winding import loop_mm
from caller.pattern.workload import Stretch, densest, summary
from caller.sheets import casting_on, shaping, winding
from caller.sheets.advice import tried_as_json
from caller.sheets.cautions import warnings
from caller.sheets.tidy_report import percent


def as_json(
    pattern: Pattern, advice: Sequence[Advice] = (), alike: float | None = None
) -> dict[str, Any]:
    """The plan as plain data; docs/plan.md describes the names. `advice` are the tidyings tried,
    `alike` is how alike the chart looks to its picture, 0 to 1."""
    plan, script, bed = pattern.supply_plan, pattern.script, pattern.bed
    rules, total = pattern.supply_rules, summary(plan)
    gauge, (first, last) = pattern.gauge, script.in_work(1)
    return {
        "title": pattern.title,
        "cast_on": last - first + 1,
        "rows": script.rows,
        "first_needle": bed.label(script.first_needle),
        "last_needle": bed.label(script.last_needle),
        "casting_on": casting_on.as_json(pattern),
        **({"shaping": shaping.as_json(pattern)} if pattern.chart.shaped else {}),
        "panel": None if pattern.panel is None else vars(pattern.panel).copy(),
        "faces_you": "purl",
        "seen_from": pattern.seen_from,
        "finished_cm": None
        if gauge is None
        else [
            round(side, 1)
            for side in amounts.finished_size_cm(pattern.chart.stitches, script.rows, gauge)
        ],
        "likeness_to_picture": winding.rounded(alike, 4),
        "loop_mm": winding.rounded(loop_mm(pattern), 2),
        "max_carry": pattern.max_carry,
        "max_rest_rows": rules.max_rest_rows,
        "supplies_total": total.supplies,
        "supplies_at_once": total.clips,
        "clips": total.clips,
        "weights": total.tails,
        "tails_to_weave_in": total.ends,
        "carries": total.carries,
        "longest_carry": total.longest_carry,
        "single_stitches": total.single_stitches,
        "supplies": winding.supplies(pattern),
        "winding": winding.winding(pattern),
        "setting_up": [
            {
                "yarn": pattern.yarns[hang.end.yarn].name,
                "bobbin": hang.end.bobbin,
                "needle": bed.label(hang.needle),
                "tail": hang.tail_side,
            }
            for hang in setting_up(pattern)
        ],
        "densest": [_stretch(stretch) for stretch in densest(plan)],
        "row_check": _row_check(pattern),
        "warnings": list(warnings(pattern, advice)),
        "advice": [tried_as_json(one) for one in advice],
    }


def _stretch(stretch: Stretch) -> dict[str, int]:
    return vars(stretch).copy()


def _row_check(pattern: Pattern) -> dict[str, Any] | None:
    """One row's yarn as worked out, beside the craft's rule of three times the width."""
    loop = loop_mm(pattern)
    if loop is None or pattern.gauge is None:
        return None
    check = amounts.row_check(pattern.chart.stitches, loop, pattern.gauge, pattern.fabric.tail_cm)
    return {
        "worked_out_cm": round(check.worked_out_cm, 1),
        "three_times_rule_cm": round(check.by_rule_cm, 1),
    }


def as_lines(
    pattern: Pattern, advice: Sequence[Advice] = (), alike: float | None = None
) -> Iterator[str]:
    """The plan as sentences, the most needed first."""
    data = as_json(pattern, advice)
    first, last = map(pattern.bed.label, pattern.script.in_work(1))
    yield shown(sentences.opening(pattern))
    yield (
        f"Cast on {data['cast_on']} stitches, {first} to {last}. "
        f"Row 1 goes to the {pattern.first_direction}."
    )
    if pattern.seen_from == "knit":
        told = "; the picture is seen from the knit side, so it is mirrored here."
    elif pattern.gauge is None:
        told = ", and the picture is taken as it hangs."
    else:
        told = ", and the picture is seen from it."
    yield f"The purl side faces you{told}"
    if (panel := pattern.panel) is not None:
        yield (
            f"Panel {panel.number} of {panel.of}, counted from the left as they hang; each seam "
            f"takes {counted(panel.seam, 'stitch', 'stitches')} of either edge."
        )
    yield from casting_on.as_lines(pattern)
    yield from shaping.as_lines(pattern)
    if data["finished_cm"]:
        width, height = data["finished_cm"]
        widest = ", at the widest" if pattern.chart.shaped else ""
        yield f"Finished size {width:g} by {height:g} cm{widest}, rested."
    if alike is not None:
        yield f"Likeness to the picture in lines and edges: {percent(alike)}."
    yield (
        f"{counted(data['supplies_total'], 'end')} to hang in all, {data['supplies_at_once']} at "
        f"once; {counted(data['weights'], 'tail')} to weight at once; "
        f"{counted(data['tails_to_weave_in'], 'tail')} to weave in."
    )
    waits = data["max_rest_rows"]
    yield (
        f"An end is carried at most {counted(data['max_carry'], 'needle')} and "
        + (f"waits at most {counted(waits, 'row')}." if waits else "knits in every row.")
    )
    if data["supplies_at_once"] > 1:
        yield CROSSING
    yield from winding.lines(pattern, data["winding"])
    yield winding.to_bind_off(pattern)
    if data["row_check"]:
        check = data["row_check"]
        yield (
            f"A whole row takes {check['worked_out_cm']:g} cm by its loops, "
            f"{check['three_times_rule_cm']:g} cm by the rule of three times the width."
        )
    for stretch in data["densest"]:
        rows = _rows(stretch["first_row"], stretch["last_row"])
        yield (
            f"Dense: {rows}, {counted(stretch['runs'], 'run')}, "
            f"{counted(stretch['supplies'], 'end')}."
        )
    for warning in data["warnings"]:
        yield f"Take note: {warning}"


def _rows(first: int, last: int) -> str:
    return f"row {first}" if first == last else f"rows {first} to {last}"
