"""Yarn in the plan: what each supply and bobbin takes, as data and as lines to read."""

from collections.abc import Iterator
from typing import Any

import numpy as np

from caller.calling.words.numbers import counted
from caller.pattern import amounts
from caller.pattern.finishing import cast_off
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.matching import run_ends
from caller.pattern.winding import lengths_m, winding_of
from caller.pattern.workload import by_yarn


def supplies(pattern: Pattern) -> list[dict[str, Any]]:
    """Every supply, from the first on."""
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
                "length_m": rounded(length, 2),
                "mass_g": rounded(_mass_g(pattern, int(table.yarn[index]), length), 1),
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


def winding(pattern: Pattern) -> list[dict[str, Any]]:
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
                "length_m": rounded(total, 1),
                "mass_g": rounded(mass, 1),
                "balls": None
                if mass is None or yarn.ball_g is None
                else amounts.balls(mass, yarn.ball_g),
            }
        )
    return found


def _fillings(pattern: Pattern, yarn: int, bobbins: int) -> list[int]:
    """How often each bobbin of a yarn is filled, bobbin 1 first."""
    wound = winding_of(pattern)
    if wound is None or pattern.supply_rules.bobbin_m is None:
        return [1] * bobbins
    return [wound.fillings(yarn, bobbin) for bobbin in range(1, bobbins + 1)]


def rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(float(value), digits)


def lines(pattern: Pattern, wound: list[dict[str, Any]]) -> Iterator[str]:
    """What to wind of each yarn, and then each bobbin; `wound` is what `winding` gives."""
    for entry in wound:
        bobbins = counted(entry["bobbins"], "bobbin")
        yield f"Wind {entry['yarn']}: {bobbins}{amount(entry, ' in all')}."
    yield from _bobbin_lines(pattern, wound)


def to_bind_off(pattern: Pattern) -> str:
    """The yarn for the bind-off, which is not in the lengths of the bobbins."""
    how = cast_off(pattern)
    bobbin = int(pattern.supply_plan.bobbins.bobbin[how.supply - 1])
    return (
        f"To bind off, wind {how.length_m:.1f} m more on bobbin {bobbin} of "
        f"{pattern.yarns[how.yarn].name}, which hangs where the carriage stands in the end."
    )


def amount(entry: dict[str, Any], of_all: str = "") -> str:
    """How long and heavy the yarn of an entry is, and how many balls of it to buy, where known."""
    told = ""
    if entry["length_m"] is not None:
        told += f", {entry['length_m']:g} m{of_all}"
    if entry["mass_g"] is not None:
        told += f", {entry['mass_g']:g} g"
    if entry["balls"] is not None:
        told += f", {entry['balls']} to buy"
    return told


def _bobbin_lines(pattern: Pattern, wound: list[dict[str, Any]]) -> Iterator[str]:
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
    lengths = {entry["yarn"]: entry["bobbin_lengths_m"] for entry in wound}
    fillings = {entry["yarn"]: entry["fillings"] for entry in wound}
    for (yarn, bobbin), rows in sorted(hung.items()):
        name = pattern.yarns[yarn].name
        length = f", {lengths[name][bobbin - 1]:.1f} m" if lengths[name] else ""
        times = fillings[name][bobbin - 1] if fillings[name] else 1
        if times > 1:
            length += f" in {times} fillings"
        yield f"Bobbin {bobbin} of {name}{length}: hang it in {', '.join(rows)}."
