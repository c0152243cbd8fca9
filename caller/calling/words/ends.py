"""Ends in words, by their names: what hangs where, what is hung, cut and kept, and bobbins."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from caller.calling.acts import End, Hang, RowActs
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Part,
    Utterance,
    clause,
)
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings

_BY_NAME = ("{yarn}, bobbin {bobbin},", "{yarn} {bobbin}")


def hang_clauses(
    pattern: Pattern, hangs: tuple[Hang, ...], settings: CallSettings
) -> Iterator[Clause]:
    """Ends to hang before row 1: how many, tails to which side, then each with its needle, shown
    without an ending."""
    side = hangs[0].tail_side
    if len(hangs) == 1:
        tail = f", tail to the {side}"
        yield _at_needle(pattern, "Hang ", hangs[0].end, hangs[0].needle, settings, tail, stop="")
        return
    head = f"Hang {{count}} ends, tails to the {side}."
    yield clause(head, settings.numbers, settings.pause_s, f"{head[:-1]}:", count=len(hangs))
    yield from end_clauses(pattern, [(hang.end, hang.needle) for hang in hangs], settings)


def end_clauses(
    pattern: Pattern, ends: Iterable[tuple[End, int]], settings: CallSettings
) -> Utterance:
    """Ends, each with the needle where it hangs."""
    return tuple(_at_needle(pattern, "", end, needle, settings, stop="") for end, needle in ends)


def cut_clauses(pattern: Pattern, acts: RowActs, settings: CallSettings) -> Iterator[Clause]:
    """The ends that are cut when the carriage has passed, and the one that is kept to bind off."""
    cuts, kept = acts.cuts, acts.kept
    if acts.cuts_all and len(cuts) > 1 and settings.wording != "full":
        text = f"After the pass, cut {{count}} ends, {'all but one' if kept else 'all of them'}."
        yield clause(text, settings.numbers, settings.pause_s, count=len(cuts))
        cuts = ()
    for index, cut in enumerate(cuts):
        begin = "Cut " if index else "After the pass, cut "
        end = replace(cut.end, alone=not cut.shared)
        yield _at_needle(pattern, begin, end, cut.needle, settings)
    if kept:
        begin = "Keep " if acts.cuts else "After the pass, keep "
        end = replace(kept.end, alone=not kept.shared)
        yield _at_needle(pattern, begin, end, kept.needle, settings, ", which binds off")


def names_clause(pattern: Pattern, ends: list[End], text: str, settings: CallSettings) -> Clause:
    """A sentence about ends by their names: "cream, and navy, bobbin two, come off"."""
    said, shown = [], []
    parts: dict[str, Part] = {}
    for index, end in enumerate(ends):
        name, number = f"{{yarn{index}}}", f"{{bobbin{index}}}"
        said.append(name if end.alone else f"{name}, bobbin {number}")
        shown.append(name if end.alone else f"{name} {number}")
        parts[f"yarn{index}"] = pattern.yarns[end.yarn].name
        parts[f"bobbin{index}"] = Exact(end.bobbin)
    last = len(ends) > 1
    return clause(
        f"{'; '.join(said[:-1])}{'; and ' if last else ''}{said[-1]}, {text}",
        settings.numbers,
        2 * RUN_PAUSE_S,
        f"{'; '.join(shown)} {text}",
        **parts,
    )


def bobbin_clause(
    pattern: Pattern, yarn: int, bobbin: int, text: str, settings: CallSettings, **parts: Part
) -> Clause:
    """A sentence about a bobbin: "cream, bobbin two, has about one metre left"."""
    on, yarns = pattern.supply_plan.bobbins, pattern.supply_plan.supplies.yarn
    alone = bool(on.alone[yarns == yarn].all())
    said, shown = ("{yarn}", "{yarn}") if alone else _BY_NAME
    named: dict[str, Part] = {"yarn": pattern.yarns[yarn].name, "bobbin": Exact(bobbin)}
    named |= parts
    return clause(f"{said} {text}", settings.numbers, 2 * RUN_PAUSE_S, f"{shown} {text}", **named)


def named(pattern: Pattern, end: End) -> dict[str, Part]:
    """The parts of a text that names an end: {yarn} and {bobbin}."""
    return {"yarn": pattern.yarns[end.yarn].name, "bobbin": Exact(end.bobbin)}


def _at_needle(
    pattern: Pattern,
    begin: str,
    end: End,
    needle: int,
    settings: CallSettings,
    ending: str = "",
    stop: str = ".",
) -> Clause:
    """An end by its name at a needle: "cream, at left five", "cream, bobbin two, at left five".

    The comma keeps a name from running into "at". `stop` is how it ends where it is shown.
    """
    said, shown = ("{yarn},", "{yarn}") if end.alone else _BY_NAME
    parts = named(pattern, end) | {"needle": Needle(pattern.bed, needle)}
    said = f"{begin}{said} at {{needle}}{ending}."
    shown = f"{begin}{shown} at {{needle}}{ending}{stop}"
    return clause(said, settings.numbers, settings.pause_s, shown, **parts)
