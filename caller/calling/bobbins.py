"""What is on each bobbin during the work: warnings a row ahead, and bobbins that were filled."""

from collections.abc import Iterator

from caller.calling.acts import run_at, start_side
from caller.calling.answers import needle_at
from caller.calling.place import Place
from caller.calling.words.ends import bobbin_clause
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Length,
    Needle,
    Utterance,
    clause,
    sentence,
)
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import SuppliedRun
from caller.pattern.winding import Refill, Shortage, winding_of
from caller.settings import CallSettings

Refills = tuple[Refill, ...]


def shortages(pattern: Pattern, row: int, refills: Refills) -> tuple[Shortage, ...]:
    """The bobbins that do not last through a row; none where the yarn is not known."""
    winding = winding_of(pattern)
    if winding is None or not 1 <= row <= pattern.script.rows:
        return ()
    return winding.shortages(row, refills)


def short_now(
    pattern: Pattern, settings: CallSettings, row: int, refills: Refills
) -> Iterator[Clause]:
    """Said before a row that a bobbin does not last through."""
    text = "has about {left} left; this row needs {needs}."
    for one in shortages(pattern, row, refills):
        yield _short(pattern, settings, one, text)


def short_ahead(
    pattern: Pattern, settings: CallSettings, row: int, refills: Refills
) -> Iterator[Clause]:
    """Said with a row when a bobbin does not last through the one after it."""
    text = "will have about {left} left; the row after this one needs {needs}."
    for one in shortages(pattern, row + 1, refills):
        yield _short(pattern, settings, one, text)


def _short(pattern: Pattern, settings: CallSettings, one: Shortage, text: str) -> Clause:
    parts = {"left": Length(one.left_m), "needs": Length(one.needs_m, up=True)}
    return bobbin_clause(pattern, one.yarn, one.bobbin, text, settings, **parts)


def yarn(pattern: Pattern, settings: CallSettings, place: Place, refills: Refills) -> Utterance:
    """What each bobbin of this row has, before the row, by the stitches knitted."""
    winding = winding_of(pattern)
    if winding is None:
        return sentence("Without a gauge the yarn cannot be worked out; measure a swatch.")
    text = "Worked out by the stitches, before row {row}."
    said = [clause(text, settings.numbers, RUN_PAUSE_S, row=Exact(place.row))]
    for number, bobbin in dict.fromkeys(_ends(pattern, place.row)):
        left = Length(winding.left_m(number, bobbin, place.row, refills))
        said.append(bobbin_clause(pattern, number, bobbin, "about {left}.", settings, left=left))
    return tuple(said)


def filled_at(
    pattern: Pattern, settings: CallSettings, place: Place, label: str
) -> tuple[Refill | None, Utterance]:
    """The bobbin that knits this needle in this row is filled anew there; what is said to it."""
    needle = needle_at(pattern, settings, label, place.row)
    if not isinstance(needle, int):
        return None, needle
    entry = run_at(pattern, place.row, needle)
    if entry is None:
        return None, sentence("No yarn is laid there in this row.")
    return _filled(pattern, settings, place.row, entry, needle)


def filled(
    pattern: Pattern, settings: CallSettings, place: Place, refills: Refills
) -> tuple[Refill, Utterance] | None:
    """The bobbin that was warned of is filled anew, before the first needle that it knits in this
    row; None where it is not just one."""
    short = [
        *shortages(pattern, place.row, refills),
        *shortages(pattern, place.row + 1, refills),
    ]
    warned = {(one.yarn, one.bobbin) for one in short}
    here = [
        entry
        for entry, end in zip(
            pattern.supply_plan.row(place.row), _ends(pattern, place.row), strict=True
        )
        if end in warned
    ]
    if len(warned) != 1 or not here:
        return None
    return _filled(pattern, settings, place.row, here[0], here[0].run.first)


def with_refill(refills: Refills, refill: Refill) -> Refills:
    """A bobbin is filled once in a row: what is told again corrects what was told before."""
    same = (refill.yarn, refill.bobbin, refill.row)
    kept = (one for one in refills if (one.yarn, one.bobbin, one.row) != same)
    return (*kept, refill)


def _ends(pattern: Pattern, row: int) -> list[tuple[int, int]]:
    """Yarn and bobbin of every run of a row, as they are laid."""
    bobbin = pattern.supply_plan.bobbins.bobbin
    return [
        (entry.run.yarn, int(bobbin[entry.supply - 1])) for entry in pattern.supply_plan.row(row)
    ]


def _filled(
    pattern: Pattern, settings: CallSettings, row: int, entry: SuppliedRun, needle: int
) -> tuple[Refill, Utterance]:
    bobbin = int(pattern.supply_plan.bobbins.bobbin[entry.supply - 1])
    side = start_side(pattern.script.direction(row))
    parts = {"needle": Needle(pattern.bed, needle), "last": Needle(pattern.bed, entry.run.last)}
    text = "is full again, from {needle}, as far as {last}."
    if needle == entry.run.last:
        text = "is full again, from {needle}."
    told = bobbin_clause(pattern, entry.run.yarn, bobbin, text, settings, **parts)
    tails = f"Its tail lies to the {side}. Two more tails to weave in."
    return Refill(entry.run.yarn, bobbin, row, needle), (told, Clause(tails, tails))
