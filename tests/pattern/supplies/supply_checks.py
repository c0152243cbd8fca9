"""Ways to check a supply plan that share nothing with the way it is made."""

from functools import cache
from itertools import permutations

import numpy as np
from PIL import Image
from transfers import Bed as Stitches
from transfers import tool_for, transferred

from caller.pattern.bed import Bed, Direction
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.rows import RowScript, Run
from caller.pattern.shaping import Shaping
from caller.pattern.supplies.plan import SupplyPlan


def script_of(*rows_from_the_top: str, first_direction: Direction = "right") -> RowScript:
    """A row script from rows of letters, the top row first; the dot is yarn 0, a is yarn 1."""
    cells = [[".abcdefgh".index(letter) for letter in row] for row in reversed(rows_from_the_top)]
    return RowScript(Chart(np.array(cells)), Bed(), 100, first_direction)


def chart_of(picture: Image.Image, stitches: int, colours: int) -> Chart:
    """A picture as a chart, its rows kept in proportion, its colours the nearest few."""
    rows = max(1, round(stitches * picture.height / picture.width))
    small = picture.convert("RGB").resize((stitches, rows), Image.Resampling.BOX)
    few = small.quantize(colours, dither=Image.Dither.NONE)
    return Chart(np.asarray(few)[::-1])


def runs_of_yarn(script: RowScript, yarn: int) -> list[list[Run]]:
    """The runs of one yarn, row by row, as knitted."""
    return [[run for run in row.runs if run.yarn == yarn] for row in script]


@cache
def hung_after(script: RowScript, row: int, needle: int, rows_on: int) -> int:
    """Where an end that knitted last on this needle hangs, so many rows on."""
    for number in range(row + 1, row + rows_on + 1):
        left, right = script.in_work(number - 1)
        bed: Stitches = {place: [] for place in range(left, right + 1)}
        bed[needle].append("end")
        above = script.in_work(number)
        narrower = min(right - left, above[1] - above[0]) + 1
        tool = tool_for(narrower, script.method == "fully fashioned")
        for done in script.shapings(number):
            bed = transferred(bed, done.kind, done.side, done.stitches, tool)
        assert (min(bed), max(bed)) == script.in_work(number)
        needle = next(place for place, ends in bed.items() if ends)
    return needle


def begin_of(script: RowScript, row: int, run: Run) -> int:
    """The needle at which an end is taken up for a run: where it is first laid or wound."""
    for done in script.shapings(row):
        if done.kind == "cast on" and done.edge == run.first:
            return _inner(done, run)
    return run.first


def _inner(done: Shaping, run: Run) -> int:
    """The innermost needle that is cast on, but no further in than the run goes."""
    if done.side == "right":
        return max(done.first, run.last)
    return min(done.first, run.last)


def walk(plan: SupplyPlan, max_carry: int, max_rest_rows: int) -> tuple[int, int]:
    """Follow the plan by hand; return (supplies, total carry). Fails where a rule is broken."""
    hangs: dict[int, tuple[int, int, int]] = {}  # supply -> yarn, needle, row it last knitted
    cut: set[int] = set()
    kept_to_bind_off: set[int] = set()
    carried = 0
    for row in plan.script:
        entries = plan.row(row.number)
        assert tuple(entry.run for entry in entries) == row.runs
        assert len({entry.supply for entry in entries}) == len(entries)
        hanging = {
            supply: (yarn, hung_after(plan.script, knitted, needle, row.number - knitted))
            for supply, (yarn, needle, knitted) in hangs.items()
        }
        assert plan.hanging(row.number) == sorted(
            (needle, yarn, supply) for supply, (yarn, needle) in hanging.items()
        )
        for done in plan.script.shapings(row.number):
            if done.kind == "bind off":
                supply, is_cut = plan.binds_off(row.number)
                _, needle, knitted = hangs[supply]
                assert knitted == row.number - 1
                assert needle == done.first, "it hangs at the edge"
                assert is_cut == (supply in kept_to_bind_off)
                if is_cut:
                    cut.add(supply)
                    del hangs[supply]
                    kept_to_bind_off.remove(supply)
        assert not kept_to_bind_off
        for entry in entries:
            assert entry.supply not in cut
            if entry.start == "join":
                assert entry.supply == len(hangs) + len(cut) + 1, "numbered as they join"
                assert (entry.carry, entry.rested, entry.carried_from) == (0, 0, None)
            else:
                yarn, _, knitted = hangs.pop(entry.supply)
                needle = hanging[entry.supply][1]
                assert entry.run.yarn == yarn
                assert entry.carried_from == needle
                begin = begin_of(plan.script, row.number, entry.run)
                assert entry.carry == abs(begin - needle) <= max_carry
                assert entry.rested == row.number - knitted - 1 <= max_rest_rows
                carried += entry.carry
            if entry.end == "cut":
                cut.add(entry.supply)
            else:
                hangs[entry.supply] = (entry.run.yarn, entry.run.last, row.number)
                index = np.flatnonzero(
                    (plan.supply == entry.supply) & (plan.script.runs.row == row.number - 1)
                )[0]
                if plan.cuts[index]:
                    kept_to_bind_off.add(entry.supply)
    assert not hangs, "every supply is cut after its last run"
    return len(cut), carried


def tried_out(script: RowScript, max_carry: int, max_rest_rows: int) -> tuple[int, int]:
    """(supplies, total carry) of the best plan, by trying every plan, row by row."""
    best = [0, 0]
    for yarn in sorted(set(script.chart.cells.ravel().tolist())):
        # What hangs, as sorted (needle, rows at rest) -> the best (supplies, carry) to get there.
        states: dict[tuple[tuple[int, int], ...], tuple[int, int]] = {(): (0, 0)}
        for runs in runs_of_yarn(script, yarn):
            reached: dict[tuple[tuple[int, int], ...], tuple[int, int]] = {}
            for hanging, (supplies, carry) in states.items():
                new_ones = (None,) * len(runs)
                for chosen in set(permutations((*range(len(hanging)), *new_ones), len(runs))):
                    steps = [
                        0 if one is None else abs(run.first - hanging[one][0])
                        for one, run in zip(chosen, runs, strict=True)
                    ]
                    if any(step > max_carry for step in steps):
                        continue
                    idle = [
                        (needle, rest + 1)
                        for one, (needle, rest) in enumerate(hanging)
                        if one not in chosen and rest < max_rest_rows
                    ]
                    after = tuple(sorted(idle + [(run.last, 0) for run in runs]))
                    cost = (supplies + chosen.count(None), carry + sum(steps))
                    reached[after] = min(cost, reached.get(after, cost))
            states = reached
        for index, value in enumerate(min(states.values())):
            best[index] += value
    return best[0], best[1]


def by_flow(script: RowScript, max_carry: int, max_rest_rows: int) -> tuple[int, int]:
    """(supplies, total carry) of the best plan, as the cheapest flow of supplies through the runs.

    networkx's network simplex; supplies flow from the store through joins and carries to the bin.
    """
    import networkx as nx

    supplies = carry = 0
    for yarn in sorted(set(script.chart.cells.ravel().tolist()) - {NOT_IN_WORK}):
        rows = runs_of_yarn(script, yarn)
        runs = [(row, run) for row, here in enumerate(rows) for run in here]
        join = len(runs) * (max_carry + 1) + 1  # dearer than all carries together
        flow = nx.DiGraph()
        flow.add_node("store", demand=-len(runs))
        flow.add_node("bin", demand=len(runs))
        flow.add_edge("store", "bin", weight=0)
        for row, run in runs:
            flow.add_node(("laid", row, run.first), demand=1)
            flow.add_node(("hangs", row, run.last), demand=-1)
            flow.add_edge("store", ("laid", row, run.first), weight=join, capacity=1)
            flow.add_edge(("hangs", row, run.last), "bin", weight=0, capacity=1)
            for later in range(row + 1, min(row + 2 + max_rest_rows, len(rows))):
                for other in rows[later]:
                    begin = begin_of(script, later + 1, other)
                    step = abs(begin - hung_after(script, row + 1, run.last, later - row))
                    if step <= max_carry:
                        flow.add_edge(
                            ("hangs", row, run.last),
                            ("laid", later, other.first),
                            weight=step,
                            capacity=1,
                        )
        cost, _ = nx.network_simplex(flow)
        supplies += cost // join
        carry += cost % join
    return supplies, carry
