"""The plan: what to know before the first stitch, as data and as lines to read or hear."""

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.words import sentences
from caller.calling.words.clauses import way
from caller.calling.words.utterance import shown
from caller.pattern import amounts
from caller.pattern.pattern import Pattern
from caller.pattern.workload import (
    Stretch,
    by_yarn,
    crowded,
    densest,
    long_carries,
    summary,
)

MANY_SUPPLIES = 12
"""More supplies than this in one row are hard to keep apart (common practice)."""
_MOST_TOLD = 5


def loop_mm(pattern: Pattern) -> float | None:
    """The yarn in one stitch: as measured, else from the gauge; None when neither is known."""
    if pattern.fabric.loop_mm is not None:
        return pattern.fabric.loop_mm
    if pattern.gauge is None:
        return None
    return amounts.loop_length_mm(pattern.gauge, pattern.fabric.relaxation)


def lengths_m(pattern: Pattern) -> NDArray[np.float64] | None:
    """The yarn of every supply, number 1 first; None when the loop length is not known."""
    loop = loop_mm(pattern)
    if loop is None:
        return None
    table = pattern.supply_plan.supplies
    width = pattern.bed.pitch_mm if pattern.gauge is None else 10 / pattern.gauge.stitches_per_cm
    fabric = pattern.fabric
    return amounts.supply_length_m(
        table.stitches, loop, table.carry, width, fabric.tail_cm, fabric.allowance
    )


def as_json(pattern: Pattern) -> dict[str, Any]:
    """The plan as plain data; the README describes the names."""
    plan, script, bed = pattern.supply_plan, pattern.script, pattern.bed
    rules, total = pattern.supply_rules, summary(plan)
    gauge = pattern.gauge
    return {
        "title": pattern.title,
        "cast_on": pattern.chart.stitches,
        "rows": script.rows,
        "first_needle": bed.label(script.first_needle),
        "last_needle": bed.label(script.last_needle),
        "faces_you": "purl",
        "seen_from": pattern.seen_from,
        "finished_cm": None
        if gauge is None
        else [
            round(side, 1)
            for side in amounts.finished_size_cm(pattern.chart.stitches, script.rows, gauge)
        ],
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
        "densest": [_stretch(stretch) for stretch in densest(plan)],
        "row_check": _row_check(pattern),
        "warnings": list(warnings(pattern)),
    }


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def _supplies(pattern: Pattern) -> list[dict[str, Any]]:
    table, lengths = pattern.supply_plan.supplies, lengths_m(pattern)
    leftover_of = pattern.supply_plan.bobbins.leftover_of
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
                "leftover_of": int(leftover_of[index]) or None,
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
                "stitches": work.stitches,
                "length_m": _rounded(total, 1),
                "mass_g": _rounded(mass, 1),
                "balls": None
                if mass is None or yarn.ball_g is None
                else amounts.balls(mass, yarn.ball_g),
            }
        )
    return found


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


def warnings(pattern: Pattern) -> Iterator[str]:
    """What may trouble the knitter, each as a sentence."""
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
            f"{total.single_stitches} runs are a single stitch wide; "
            "row-caller tidy --shortest-run 2 removes them."
        )
    full = crowded(plan, MANY_SUPPLIES)
    if full:
        rows = sum(stretch.last_row - stretch.first_row + 1 for stretch in full)
        yield (
            f"In {rows} rows more than {MANY_SUPPLIES} supplies hang at once, up to {total.clips}; "
            f"row-caller tidy --at-once {MANY_SUPPLIES} makes that fewer."
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


def as_lines(pattern: Pattern) -> Iterator[str]:
    """The plan as sentences, the most needed first."""
    data = as_json(pattern)
    yield shown(sentences.opening(pattern))
    yield (
        f"Cast on {data['cast_on']} stitches, {data['first_needle']} to {data['last_needle']}. "
        f"Row 1 goes {way(pattern.first_direction)}."
    )
    yield (
        "The purl side faces you; the picture is seen from the knit side, so it is mirrored here."
        if pattern.seen_from == "knit"
        else "The purl side faces you, and the picture is seen from it."
    )
    if data["finished_cm"]:
        width, height = data["finished_cm"]
        yield f"Finished size {width:g} by {height:g} cm, rested."
    yield (
        f"{data['supplies_total']} supplies in all, {data['supplies_at_once']} at once; "
        f"{data['weights']} tails to weight at once; {data['tails_to_weave_in']} tails to weave in."
    )
    yield (
        f"Supplies are carried at most {data['max_carry']} needles "
        f"and rest at most {data['max_rest_rows']} rows."
    )
    yield from map(_winding_line, data["winding"])
    if data["row_check"]:
        check = data["row_check"]
        yield (
            f"A whole row takes {check['worked_out_cm']:g} cm by its loops, "
            f"{check['three_times_rule_cm']:g} cm by the rule of three times the width."
        )
    for stretch in data["densest"][:_MOST_TOLD]:
        rows = _rows(stretch["first_row"], stretch["last_row"])
        yield f"Dense: {rows}, {stretch['runs']} runs, {stretch['supplies']} supplies."
    for warning in data["warnings"]:
        yield f"Take note: {warning}"


def _rows(first: int, last: int) -> str:
    return f"row {first}" if first == last else f"rows {first} to {last}"


def _winding_line(entry: dict[str, Any]) -> str:
    line = f"Wind {entry['yarn']}: {entry['bobbins']} bobbins for {entry['supplies']} supplies"
    if entry["bobbin_lengths_m"]:
        told = [f"{length:.1f}" for length in sorted(entry["bobbin_lengths_m"], reverse=True)]
        more = len(told) - _MOST_TOLD
        line += (
            ", of " + ", ".join(told[:_MOST_TOLD]) + (f" and {more} shorter" if more > 0 else "")
        )
        line += f" m; {entry['length_m']:g} m in all"
    if entry["mass_g"] is not None:
        line += f", {entry['mass_g']:g} g"
    if entry["balls"] is not None:
        line += f", {entry['balls']} to buy"
    return line + "."
