"""The three wordings: a row's runs in words, in knitting order.

short    "navy, to left five."
full     "navy, from left forty, to left five, over thirty-six stitches."
changes  "navy takes left four, to left two." or "As the last row."

Runs cover the work without a gap, so the last needles of the short wording settle every run. What
the changes wording does not name is knitted as in the row before. Yarn names hold none of the
words left, right and needle, so that a name never runs into a needle.
"""

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from caller.calling.words.utterance import Clause, Needle, Utterance, clause
from caller.pattern.pattern import Pattern
from caller.pattern.rows import Direction, Row, Run
from caller.pattern.supplies.plan import SuppliedRun
from caller.settings import CallSettings

Parts = dict[str, int | str | Needle]

SHORTEST_TOLD_CARRY = 2
"""Needles. From one needle to its neighbour the yarn does not float."""


def way(direction: Direction) -> str:
    return f"to the {direction}"


def start_side(direction: Direction) -> Direction:
    """Where the carriage stands before it goes that way; a joined yarn's tail lies there too."""
    return "left" if direction == "right" else "right"


def run_clauses(pattern: Pattern, row: Row, settings: CallSettings) -> Utterance:
    """The row's runs, a clause each; in the changes wording what differs, or the short wording
    where that has fewer words."""
    runs = tuple(_runs(pattern, row, settings))
    if settings.stereo:
        runs = tuple(
            replace(told, pan=_pan(pattern, run)) for told, run in zip(runs, row.runs, strict=True)
        )
    if settings.wording == "changes" and row.number > 1:
        changes = tuple(_changes(pattern, row, settings))
        if word_count(changes) <= word_count(runs):
            return changes
    return runs


def _pan(pattern: Pattern, run: Run) -> float:
    """Where the run's middle lies in the work: -1 at its left edge, 1 at its right one."""
    script = pattern.script
    return (run.first + run.last - 2 * script.first_needle + 1) / pattern.chart.stitches - 1


def word_count(utterance: Utterance) -> int:
    return sum(len(clause.said.replace("-", " ").split()) for clause in utterance)


def cut_clauses(pattern: Pattern, row: Row, settings: CallSettings) -> Iterator[Clause]:
    """The supplies that are cut when the carriage has passed."""
    for supplied in pattern.supply_plan.row(row.number):
        if supplied.end == "cut":
            yield clause(
                "After the pass, cut {yarn} at {last}.",
                settings.numbers,
                settings.pause_s,
                yarn=pattern.yarns[supplied.run.yarn].name,
                last=Needle(pattern.bed, supplied.run.last),
            )


def event_clauses(pattern: Pattern, row: Row, settings: CallSettings) -> Iterator[Clause]:
    """What the supplies do at the beginnings of runs that are not called themselves."""
    for supplied in pattern.supply_plan.row(row.number):
        event, parts = _event(pattern, row, supplied)
        if event:
            parts |= _named(pattern, supplied.run)
            yield _clause("{yarn} at {first}", "{yarn} at {first}", event, parts, settings)


def _runs(pattern: Pattern, row: Row, settings: CallSettings) -> Iterator[Clause]:
    """Every run, in the full or the short wording."""
    full = settings.wording == "full"
    for run, event, event_parts in _with_events(pattern, row, settings):
        parts = _named(pattern, run) | event_parts
        if full:
            # "over" parts the count from the needle, also where both are said digit by digit.
            stitches = "{stitches} " + ("stitch" if run.stitches == 1 else "stitches")
            said = f"{{yarn}}, from {{first}}, to {{last}}, over {stitches}"
            shown = f"{{yarn}} {{first}} to {{last}}, {stitches}"
        else:
            said, shown = "{yarn}, to {last}", "{yarn} to {last}"
        yield _clause(said, shown, event, parts, settings)


def _changes(pattern: Pattern, row: Row, settings: CallSettings) -> Iterator[Clause]:
    """The needles that another yarn takes, and what supplies do elsewhere."""
    changed = False
    others = []
    for run, event, event_parts in _with_events(pattern, row, settings):
        for first, last in _taken(pattern, row, run):
            changed = True
            parts = _named(pattern, Run(run.yarn, first, last)) | event_parts
            said = "{yarn} takes {first}" + ("" if first == last else ", to {last}")
            yield _clause(said, said.replace(",", ""), event, parts, settings)
            event, event_parts = "", {}
        if event:
            parts = _named(pattern, run) | event_parts
            others.append(_clause("{yarn} at {first}", "{yarn} at {first}", event, parts, settings))
    if not changed:
        yield Clause("As the last row.", "as the last row", settings.pause_s)
    yield from others


def _taken(pattern: Pattern, row: Row, run: Run) -> Iterator[tuple[int, int]]:
    """The stretches of a run, first and last needle as knitted, that had another yarn before."""
    before, offset = pattern.chart.cells[row.number - 2], pattern.script.first_needle
    step = 1 if run.last >= run.first else -1
    needles = range(run.first, run.last + step, step)
    for other, stretch in groupby(needles, key=lambda needle: before[needle - offset] != run.yarn):
        if other:
            taken = list(stretch)
            yield taken[0], taken[-1]


def _with_events(
    pattern: Pattern, row: Row, settings: CallSettings
) -> Iterator[tuple[Run, str, Parts]]:
    """Each run with what its supply does at its beginning, "" where that is not to be told."""
    if not (settings.events or settings.wording == "full"):
        yield from ((run, "", {}) for run in row.runs)
        return
    for supplied in pattern.supply_plan.row(row.number):
        yield supplied.run, *_event(pattern, row, supplied)


def _event(pattern: Pattern, row: Row, supplied: SuppliedRun) -> tuple[str, Parts]:
    if supplied.start == "join":
        return ", new supply, tail to the {side}", {"side": start_side(row.direction)}
    if supplied.carried_from is not None and supplied.carry >= SHORTEST_TOLD_CARRY:
        return ", carried from {hung}", {"hung": Needle(pattern.bed, supplied.carried_from)}
    return "", {}


def _named(pattern: Pattern, run: Run) -> Parts:
    return {
        "yarn": pattern.yarns[run.yarn].name,
        "first": Needle(pattern.bed, run.first),
        "last": Needle(pattern.bed, run.last),
        "stitches": run.stitches,
    }


def _clause(said: str, shown: str, event: str, parts: Parts, settings: CallSettings) -> Clause:
    """Shown without an ending: a semicolon or a full stop follows when the call is put together."""
    return clause(f"{said}{event}.", settings.numbers, settings.pause_s, f"{shown}{event}", **parts)
