"""How long sharing out the supplies takes, how it grows, and how it compares to networkx.

Run it with the test extra installed: python tests/bench/supplies.py. What is compared runs by
turns, round by round; printed are medians of the rounds' seconds and ratios.
"""

import subprocess
import sys
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import NamedTemporaryFile
from typing import TypeAlias

import networkx as nx
import numpy as np
from paired import is_tiny, ratios, rounds, seconds, tiny, told
from scipy.ndimage import gaussian_filter

from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.rows import RowScript
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies

sys.path += [str(Path(__file__).parents[1] / folder) for folder in ("", "pattern/supplies")]
from supply_checks import by_flow

REACH = 7  # needles in 2.5 cm at 30 stitches to 10 cm
YARNS = 8
TIMES = tiny(1, 3)
Answers = dict[str, tuple[int, int]]
Solver: TypeAlias = Callable[[RowScript, int, int], tuple[int, int]]


def blobs(rows: int, stitches: int = 200, size: float = 3) -> Chart:
    """Blocks of colour with smooth edges: the highest of eight smoothed hills of noise."""
    random = np.random.default_rng(1)
    hills = [gaussian_filter(random.standard_normal((rows, stitches)), size) for _ in range(YARNS)]
    return Chart(np.argmax(hills, axis=0))


def speckles(rows: int, stitches: int = 200) -> Chart:
    """Every stitch in a yarn of its own choice: the worst that a chart can be."""
    return Chart(np.random.default_rng(1).integers(0, YARNS, (rows, stitches)))


def planned(chart: Chart, reach: int = REACH, rest: int = 0) -> SupplyPlan:
    """Rows and supplies together."""
    script = RowScript(chart, Bed(max(200, chart.stitches)), 0)
    return assign_supplies(script, reach, rest)


def timed(chart: Chart, reach: int = REACH, rest: int = 0) -> Callable[[], float]:
    return partial(seconds, partial(planned, chart, reach, rest))


def matched(script: RowScript, reach: int, rest: int) -> tuple[int, int]:
    """(supplies, total carry) by networkx's matching of largest size, then largest weight."""
    assert rest == 0, "the rows are matched two by two"
    linked = carry = runs = 0
    rows = list(script)
    for above, below in zip([*rows[1:], None], rows, strict=True):
        ways = nx.Graph()
        for run in below.runs:
            for other in above.runs if above else ():
                step = abs(other.first - run.last)
                if other.yarn == run.yarn and step <= reach:
                    ways.add_edge((0, run.last), (1, other.first), weight=-step)
        chosen = nx.max_weight_matching(ways, maxcardinality=True)
        runs += len(below.runs)
        linked += len(chosen)
        carry -= sum(ways.edges[link]["weight"] for link in chosen)
    return runs - linked, carry


def growth(name: str, kind: str) -> None:
    print(f"\n{name}, 200 stitches wide, reach {REACH}: growth with the rows")
    print("  rows     runs  supplies  at once  seconds  to 250 rows  a row")
    charts = {str(rows): CHARTS[kind](rows) for rows in (250, 500, 1000, 2000, 4000)}
    told(f"{name}: growth")
    found = rounds({rows: timed(chart) for rows, chart in charts.items()}, TIMES)
    for rows, ratio in ratios(found, "250").items():
        plan, took = planned(charts[rows]), median(times[rows] for times in found)
        print(
            f"{rows:>6} {len(plan.supply):8} {plan.total:9} {plan.at_once:8} {took:8.3f} "
            f"{ratio:11.1f}x {ratio / (int(rows) / 250):5.2f}x"
        )


def settings() -> None:
    print("\n200 stitches by 2000 rows by reach and rows at rest, against reach 5")
    for name, chart in (("blobs", blobs(2000)), ("fine blobs", blobs(2000, size=1.5))):
        kinds = ((5, 0), (10, 0), (40, 0), (2000, 0), (7, 1), (7, 4))
        ways = {f"reach {reach:4}, rest {rest}": (reach, rest) for reach, rest in kinds}
        told(f"{name}: reach and rest")
        found = rounds({way: timed(chart, *kind) for way, kind in ways.items()}, TIMES)
        for way, ratio in ratios(found, next(iter(ways))).items():
            total = planned(chart, *ways[way]).total
            took = median(times[way] for times in found)
            print(f"{name:>12}, {way}: {took:6.3f} s, {ratio:5.2f}x, {total} supplies")


def solved(way: str, solve: Solver, plan: SupplyPlan, answers: Answers) -> float:
    return seconds(lambda: answers.update({way: solve(plan.script, REACH, 0)}))


def against_networkx(charts: Sequence[tuple[str, Chart]]) -> None:
    print("\nThe same charts with networkx: how many times as long, and the same two optima")
    for name, chart in charts:
        plan, answers = planned(chart), Answers()

        solvers = {"network simplex": by_flow, "largest matching": matched}
        ways = {way: partial(solved, way, solve, plan, answers) for way, solve in solvers.items()}
        told(name)
        found = ratios(rounds({"": timed(chart), **ways}, TIMES), "")
        print(f"{name:>22}:", end="")
        for way in solvers:
            same = answers[way] == (plan.total, plan.total_carry)
            print(f"  {way} {found[way]:.0f}x, {'the same' if same else 'NOT THE SAME'}", end="")
        print()


CHARTS = {
    "blobs": blobs,
    "fine": lambda rows: blobs(rows, size=1.5),
    "speckles": speckles,
    "wide": lambda rows: speckles(200, rows),
}


def memory() -> None:
    print("\nThe most memory of a program that does nothing else, in MB (200 x 2000 stitches)")
    for kind, chart in CHARTS.items():
        for reach in (REACH, 40):
            told(f"memory of {kind}, reach {reach}")
            with NamedTemporaryFile(suffix=".npy") as file:
                np.save(file, chart(2000).cells)
                file.flush()
                before, after = subprocess.run(
                    [sys.executable, __file__, file.name, str(reach)],
                    capture_output=True,
                    text=True,
                    check=True,
                ).stdout.split()
            print(f"{kind:>12}, reach {reach:2}: {after}, of which {before} before the supplies")


def megabytes() -> int:
    """The most memory so far; Linux only."""
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return int(status.split("VmHWM:")[1].split()[0]) // 1024


if __name__ == "__main__":
    if is_tiny():
        against_networkx([("blobs, 20 x 20", blobs(20, 20))])
    elif len(sys.argv) > 1:
        cells = np.load(sys.argv[1])
        before = megabytes()
        planned(Chart(cells), int(sys.argv[2]))
        print(before, megabytes())
    else:
        growth("Blobs", "blobs")
        growth("Fine blobs", "fine")
        growth("Speckles", "speckles")
        settings()
        against_networkx(
            [
                ("blobs, 100 x 200", blobs(200, 100)),
                ("fine blobs, 100 x 100", blobs(100, 100, 1.5)),
                ("speckles, 60 x 30", speckles(30, 60)),
            ]
        )
        memory()
