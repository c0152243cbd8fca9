"""What the page and the large print tell of a pattern, of what hangs before row 1, and of each run.

They say what the call says: both come from the acts of the hands.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from caller.calling.acts import Lay, row_acts
from caller.calling.words.clauses import RunParts, run_parts
from caller.calling.words.numbers import counted
from caller.calling.words.row_call import AS_USUAL, setting_up_call
from caller.calling.words.shaping_clauses import shape_clauses
from caller.pattern.pattern import Pattern
from caller.plain_text import capitalised


@dataclass(frozen=True)
class RunLine:
    """A run to read: its yarn's number; how its end comes to the hand and where it ends, in parts;
    and the rest of it."""

    yarn: int
    parts: RunParts
    more: str

    @property
    def end(self) -> str:
        """How its end comes to the hand, like "new cream 2"."""
        return f"{self.parts.before}{self.parts.name}{self.parts.after}"


def facts(pattern: Pattern) -> list[str]:
    """How large the work is and where it lies, how many rows it has and how many ends."""
    script, bed, plan = pattern.script, pattern.bed, pattern.supply_plan
    first, last = bed.label(script.first_needle), bed.label(script.last_needle)
    shaped = "Shaped, at the widest " if pattern.chart.shaped else ""
    return [
        f"{shaped}{pattern.chart.stitches} stitches, from {first} to {last}.",
        f"{script.rows} rows, from the bottom up.",
        f"{counted(plan.total, 'end')} to hang in all, at most {plan.at_once} at once.",
    ]


def before_row_1(pattern: Pattern) -> list[str]:
    """What hangs, and where the carriage stands, a sentence or an end a line."""
    return [told.shown for told in setting_up_call(pattern, AS_USUAL)]


def shape_lines(pattern: Pattern, number: int) -> list[str]:
    """What is done at the edges before a row, a sentence each."""
    told = shape_clauses(pattern, row_acts(pattern, number), AS_USUAL)
    return [f"{capitalised(clause.shown)}." for clause in told]


def run_lines(pattern: Pattern, number: int) -> Iterator[RunLine]:
    """The runs of a row in the order in which they are laid."""
    acts = row_acts(pattern, number)
    cut = {cut.end.supply for cut in acts.cuts}
    for step in acts.steps:
        lay = step.lay
        more = _more(pattern, lay, lay.end.supply in cut)
        if acts.kept and acts.kept.end == lay.end:
            more += "; keep it to bind off"
        yield RunLine(lay.end.yarn, run_parts(pattern, step), more)


def _more(pattern: Pattern, lay: Lay, cut: bool) -> str:
    """ "from L40, 29 stitches, bobbin 2; cut after the pass"."""
    parts = [
        f"from {pattern.bed.label(lay.first)}",
        f"{counted(lay.stitches, 'stitch', 'stitches')}",
    ]
    if not lay.end.alone:
        parts.append(f"bobbin {lay.end.bobbin}")
    return ", ".join(parts) + ("; cut after the pass" if cut else "")
