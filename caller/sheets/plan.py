"""The plan: what to know before the first stitch, as data and as lines to read or hear."""

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from caller.calling.acts import setting_up
from caller.calling.words import sentences
from caller.calling.words.clauses import CROSSING
from caller.calling.words.numbers import plural
from caller.calling.words.utterance import shown
from caller.pattern import amounts
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.matching import run_ends
from caller.pattern.tidy.advice import MANY_SUPPLIES, Advice
from caller.pattern.winding import lengths_m, loop_mm, winding_of
from caller.pattern.workload import (
    Stretch,
    by_yarn,
    crowded,
    densest,
    long_carries,
    summary,
)
from caller.sheets import casting_on, shaping
from caller.sheets.advice import advised, tried_as_json
from caller.sheets.tidy_report import percent

_MOST_TOLD = 5


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
        "faces_you": "purl",
        "seen_from": pattern.seen_from,
        "finished_cm": None
        if gauge is None
        else [
            round(side, 1)
            for side in amounts.finished_size_cm(pattern.chart.stitches, script.rows, gauge)
        ],
        "likeness_to_picture": _rounded(alike, 4),
        "loop_mm": _rounded(loop_mm(pattern), 2),
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
        "supplies": _supplies(pattern),
        "winding": _winding(pattern),
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


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def _supplies(pattern: Pattern) -> list[dict[str, Any]]:
    table, lengths = pattern.supply_plan.supplies, lengths_m(pattern)
    hung = pattern.supply_plan.bobbins
    found = []
    for index in range(len(table.yarn)):
        yarn = pattern.yarns[int(table.yarn[index])]
        length = None if lengths is None else float(lengths[index])
        found.append(
            {
                "supply": index + 1,
                "yarn": yarn.name,
                "first_row": int(table.first_row[index]),
                "last_row": int(table.last_row[index]),
                "stitches": int(table.stitches[index]),
                "carry_stitches": int(table.carry[index]),
                "length_m": _rounded(length, 2),
                "mass_g": _rounded(_mass_g(pattern, int(table.yarn[index]), length), 1),
                "bobbin": int(hung.bobbin[index]),
                "leftover_of": int(hung.leftover_of[index]) or None,
            }
        )
    return found


def _mass_g(pattern: Pattern, yarn: int, length_m: float | None) -> float | None:
    count = pattern.yarns[yarn].count
    if length_m is None or count is None or count.tex is None:
        return None
    return float(amounts.mass_g(length_m, count.tex))


def _winding(pattern: Pattern) -> list[dict[str, Any]]:
    """For each yarn: how many bobbins, how much on each, and what it comes to.

    A bobbin whose supply is cut goes on with a later supply of its yarn, so there are as many as
    hang at once. Each holds all that its supplies need.
    """
    plan, lengths = pattern.supply_plan, lengths_m(pattern)
    hung = plan.bobbins
    found = []
    for work in by_yarn(plan):
        yarn, mine = pattern.yarns[work.yarn], plan.supplies.yarn == work.yarn
        each = total = None
        if lengths is not None:
            each = np.bincount(hung.bobbin[mine] - 1, weights=lengths[mine]).round(2).tolist()
            total = float(lengths[mine].sum())
        mass = _mass_g(pattern, work.yarn, total)
        found.append(
            {
                "yarn": yarn.name,
                "supplies": work.supplies,
                "bobbins": work.bobbins,
                "bobbin_lengths_m": each,
                "fillings": None if each is None else _fillings(pattern, work.yarn, len(each)),
                "stitches": work.stitches,
                "length_m": _rounded(total, 1),
                "mass_g": _rounded(mass, 1),
                "balls": None
                if mass is None or yarn.ball_g is None
                else amounts.balls(mass, yarn.ball_g),
            }
        )
    return found


def _fillings(pattern: Pattern, yarn: int, bobbins: int) -> list[int]:
    """How often each bobbin of a yarn is filled, bobbin 1 first."""
    winding = winding_of(pattern)
    if winding is None or pattern.supply_rules.bobbin_m is None:
        return [1] * bobbins
    return [winding.fillings(yarn, bobbin) for bobbin in range(1, bobbins + 1)]


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


def warnings(pattern: Pattern, advice: Sequence[Advice] = ()) -> Iterator[str]:
    """What may trouble the knitter, each as a sentence, with what was tried against it."""
    plan, bed = pattern.supply_plan, pattern.bed
    total = summary(plan)
    longest = long_carries(plan, 0)[:1] if total.longest_carry > pattern.usual_carry else ()
    for carry in longest:
        yarn = pattern.yarns[carry.yarn].name
        yield (
            f"The longest carry is {carry.needles} needles, {yarn} from "
            f"{bed.label(carry.from_needle)} to {bed.label(carry.to_needle)} in row {carry.row}; "
            "long floats catch, so lower --max-carry if that is too far."
        )
    if total.single_stitches:
        yield (
            f"{_count(total.single_stitches, 'run')} of a single stitch"
            f"{advised(advice, 'shortest_run')}"
        )
    full = crowded(plan, MANY_SUPPLIES)
    if full:
        rows = sum(stretch.last_row - stretch.first_row + 1 for stretch in full)
        yield (
            f"In {_count(rows, 'row')} more than {MANY_SUPPLIES} ends hang at once, up to "
            f"{total.clips}{advised(advice, 'at_once')}"
        )
    loop = loop_mm(pattern)
    if loop is None:
        yield "Without a gauge no yarn can be worked out; row-caller swatch PATTERN measures it."
        return
    for wound in pattern.yarns:
        if wound.count is not None and wound.count.tex is not None:
            sentence = amounts.tightness_warning(wound.count.tex, loop)
            if sentence:
                yield f"{wound.name}: {sentence}"
    if pattern.gauge is not None:
        check = amounts.row_check(pattern.chart.stitches, loop, pattern.gauge)
        if check.warning:
            yield check.warning


def as_lines(
    pattern: Pattern, advice: Sequence[Advice] = (), alike: float | None = None
) -> Iterator[str]:
    """The plan as sentences, the most needed first."""
    data = as_json(pattern, advice, alike)
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
    yield from casting_on.as_lines(pattern)
    yield from shaping.as_lines(pattern)
    if data["finished_cm"]:
        width, height = data["finished_cm"]
        widest = ", at the widest" if pattern.chart.shaped else ""
        yield f"Finished size {width:g} by {height:g} cm{widest}, rested."
    if alike is not None:
        yield f"Likeness to the picture in lines and edges: {percent(alike)}."
    yield (
        f"{_count(data['supplies_total'], 'end')} to hang in all, {data['supplies_at_once']} at "
        f"once; {_count(data['weights'], 'tail')} to weight at once; "
        f"{_count(data['tails_to_weave_in'], 'tail')} to weave in."
    )
    waits = data["max_rest_rows"]
    yield (
        f"An end is carried at most {_count(data['max_carry'], 'needle')} and "
        + (f"waits at most {_count(waits, 'row')}." if waits else "knits in every row.")
    )
    if data["supplies_at_once"] > 1:
        yield CROSSING
    yield from map(_winding_line, data["winding"])
    yield from _bobbin_lines(pattern, data["winding"])
    if data["row_check"]:
        check = data["row_check"]
        yield (
            f"A whole row takes {check['worked_out_cm']:g} cm by its loops, "
            f"{check['three_times_rule_cm']:g} cm by the rule of three times the width."
        )
    for stretch in data["densest"][:_MOST_TOLD]:
        rows = _rows(stretch["first_row"], stretch["last_row"])
        yield (
            f"Dense: {rows}, {_count(stretch['runs'], 'run')}, "
            f"{_count(stretch['supplies'], 'end')}."
        )
    for warning in data["warnings"]:
        yield f"Take note: {warning}"


def _bobbin_lines(pattern: Pattern, winding: list[dict[str, Any]]) -> Iterator[str]:
    """A line a bobbin: how much is wound on it, and in which rows it is hung at which needles."""
    plan, label = pattern.supply_plan, pattern.bed.label
    joins = np.flatnonzero(plan.joins)[np.argsort(plan.supply[plan.joins])]
    needles = run_ends(plan.script)[0][joins] + plan.script.first_needle
    hung: dict[tuple[int, int], list[str]] = {}
    each = zip(
        plan.supplies.yarn, plan.bobbins.bobbin, plan.supplies.first_row, needles, strict=True
    )
    for yarn, bobbin, row, needle in each:
        where = f"row {row} at {label(int(needle))}"
        hung.setdefault((int(yarn), int(bobbin)), []).append(where)
    lengths = {entry["yarn"]: entry["bobbin_lengths_m"] for entry in winding}
    fillings = {entry["yarn"]: entry["fillings"] for entry in winding}
    for (yarn, bobbin), rows in sorted(hung.items()):
        name = pattern.yarns[yarn].name
        length = f", {lengths[name][bobbin - 1]:.1f} m" if lengths[name] else ""
        times = fillings[name][bobbin - 1] if fillings[name] else 1
        if times > 1:
            length += f" in {times} fillings"
        yield f"Bobbin {bobbin} of {name}{length}: hang it in {', '.join(rows)}."


def _count(number: int, one: str) -> str:
    return f"{number} {plural(number, one)}"


def _rows(first: int, last: int) -> str:
    return f"row {first}" if first == last else f"rows {first} to {last}"


def _winding_line(entry: dict[str, Any]) -> str:
    line = f"Wind {entry['yarn']}: {_count(entry['bobbins'], 'bobbin')}"
    if entry["length_m"] is not None:
        line += f", {entry['length_m']:g} m in all"
    if entry["mass_g"] is not None:
        line += f", {entry['mass_g']:g} g"
    if entry["balls"] is not None:
        line += f", {entry['balls']} to buy"
    return line + "."
