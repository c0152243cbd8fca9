"""A row's acts in words: one table for the three wordings.

short    "navy, to left two." "cream, waiting at right fourteen, as far as right three."
full     "navy, from left forty, as far as left five, over thirty-six stitches."
changes  "navy takes left four, as far as left two." or "Same as the row before."

The first word tells the hand what to do: a yarn goes on from where it hangs, which the eye finds
by itself; "waiting at" says where to take up an end that has to be looked for; "new" is hung. Runs
cover the work without a gap, so the last needles of the short wording settle every run, with the
edges that are told where the work is shaped: "First decrease one on each side, edges at left
twenty-nine and right twenty-nine." Needles
are reached with "to" after a name and with "as far as" after a number, for "two to" is heard as
a number; so also after a name that ends in one. Yarn names hold none of the words that begin a
needle or a new end.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from caller.calling.acts import Hang, Lay, RowActs, Step, TakeUp
from caller.calling.changes import Change
from caller.calling.words.ends import named
from caller.calling.words.numbers import plural
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Needle,
    Part,
    Utterance,
    capital,
    clause,
    written,
)
from caller.pattern.bed import Direction
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings, NumberStyle


class Text(NamedTuple):
    """What is said and what is shown; `number` tells that it may end in a number."""

    said: str
    shown: str
    number: bool = False


class RunParts(NamedTuple):
    """A run as the screen shows it in the short wording, in its parts: the yarn's name with what
    stands `before` and `after` it, "to" or "only", and the label of its last needle."""

    before: str
    name: str
    after: str
    to: str
    last: str


ENDS = {
    "goes on": Text("{yarn}", "{yarn}"),
    "taken up": Text("{yarn}, waiting at {hung}", "{yarn} waiting at {hung},", number=True),
    "taken up by name": Text(
        "{yarn}, bobbin {bobbin}, waiting at {hung}", "{yarn} {bobbin} waiting at {hung},", True
    ),
    "hung": Text("new {yarn}", "new {yarn}"),
    "hung by name": Text("new {yarn}, bobbin {bobbin}", "new {yarn} {bobbin}", number=True),
}
"""How an end comes to the hand."""
_TAIL = Text(", tail to the {side}", ", tail to the {side}")
_UNDER = Text(", from under {over}", " from under {over}")
_LAID = {
    # wording, single stitch, after a number
    ("short", False, False): Text(", to {last}", " to {last}"),
    ("short", False, True): Text(", as far as {last}", " to {last}"),
    ("short", True, False): Text(", only {last}", " only {last}"),
    ("short", True, True): Text(", only {last}", " only {last}"),
    # "over" parts the count from the needle, also where both are said digit by digit.
    ("full", False, False): Text(
        ", from {first}, as far as {last}, over {stitches} stitches",
        " {first} to {last}, {stitches} stitches",
    ),
    ("full", True, False): Text(", only {last}", " only {last}"),
    ("changes", False, False): Text(" takes {first}, as far as {last}", " takes {first} to {last}"),
    ("changes", False, True): Text(", takes {first}, as far as {last}", " takes {first} to {last}"),
    ("changes", True, False): Text(" takes {last}", " takes {last}"),
    ("changes", True, True): Text(", takes {last}", " takes {last}"),
}
for _single in (False, True):  # these have no "to"
    _LAID["full", _single, True] = _LAID["full", _single, False]
_ELSEWHERE = Text(", at {first}", " at {first}")
"""In the changes wording, where an end begins whose needles do not change."""
SAME = Clause("Same as the row before.", "same as the row before")
CROSSING = "Where two yarns meet, take up the next one from under the one just laid."
"""Neighbours cross at the joint, or a gap opens (D. J. Spencer, Knitting Technology); which goes
under is common practice, from memory."""


def way(direction: Direction) -> str:
    return f"going {direction}"


def run_clauses(pattern: Pattern, acts: RowActs, settings: CallSettings) -> Utterance:
    """The row's runs, a clause each, in the full or the short wording."""
    wording = "full" if settings.wording == "full" else "short"
    return tuple(
        _placed(pattern, step.lay, _laid(pattern, step, wording, settings), settings)
        for step in acts.steps
    )


def run_parts(pattern: Pattern, step: Step) -> RunParts:
    """The same run in its parts, for who shows each in another way."""
    parts, lay = _parts(pattern, step), step.lay
    before, name, after = ENDS[kind_of_take(step.take)].shown.partition("{yarn}")
    to, last, _ = _LAID["short", lay.first == lay.last, False].shown.partition("{last}")
    return RunParts(*(written(text, parts) for text in (before, name, after, to.strip(), last)))


def change_clauses(
    pattern: Pattern, changes: tuple[Change, ...], settings: CallSettings
) -> Utterance:
    """What differs from the row before, a clause each."""
    told = []
    for step, taken in changes:
        if taken:
            said = _laid(pattern, step, "changes", settings)
            told.append(_placed(pattern, step.lay, said, settings))
        else:
            told.append(_said(pattern, step, [*_head(step, settings), _ELSEWHERE], settings))
    return tuple(told) or (replace(SAME, pause_s=settings.pause_s),)


def plain_clause(
    pattern: Pattern, step: Step, rows: tuple[int, int], settings: CallSettings
) -> Clause:
    """The first of some rows in one yarn: how many there are, and how its end comes to the hand."""
    first, last = rows
    texts = [Text("{count} plain rows, ", "{count} plain rows, "), *_head(step, settings)]
    texts.append(Text(", through row {row}", ", through row {row}"))
    count, row = last - first + 1, Exact(last)
    return capital(_said(pattern, step, texts, settings, count=count, row=row))


def _parts(pattern: Pattern, step: Step) -> dict[str, Part]:
    """The parts of every text of a run."""
    take, lay, bed = step.take, step.lay, pattern.bed
    parts = named(pattern, lay.end)
    parts |= {"first": Needle(bed, lay.first), "last": Needle(bed, lay.last)}
    parts["stitches"] = lay.stitches
    if isinstance(take, Hang):
        parts["side"] = take.tail_side
    else:
        parts["hung"] = Needle(bed, take.hangs_at)
    if step.cross:
        parts["over"] = pattern.yarns[step.cross.over.yarn].name
    return parts


def reminder_clauses(acts: RowActs) -> Iterator[Clause]:
    for reminder in acts.reminders:
        text = f"Remember: {reminder.what}."
        yield Clause(text, text, RUN_PAUSE_S)


def place_check(
    pattern: Pattern, row: int, side: Direction, hanging: int, settings: CallSettings
) -> Clause:
    """On which side the carriage should be, and how many ends should hang, before a row; of a
    shaped piece, how many needles are in work then, too."""
    first, last = pattern.script.in_work(max(1, row - 1))
    needles = "{needles} needles in work, " if pattern.chart.shaped else ""
    return clause(
        f"Check: carriage on the {{side}}, {needles}{{count}} {plural(hanging, 'end')}.",
        settings.numbers,
        2 * RUN_PAUSE_S,
        side=side,
        needles=last - first + 1,
        count=hanging,
    )


def in_work_clause(pattern: Pattern, row: int, style: NumberStyle) -> Clause:
    """The needles in work when the row is knitted."""
    first, last = pattern.script.in_work(row)
    return capital(
        clause(
            "{count} needles in work, from {first}, as far as {last}.",
            style,
            RUN_PAUSE_S,
            "{count} needles in work, {first} to {last}.",
            count=last - first + 1,
            first=Needle(pattern.bed, first),
            last=Needle(pattern.bed, last),
        )
    )


def _laid(pattern: Pattern, step: Step, wording: str, settings: CallSettings) -> Clause:
    head, lay = _head(step, settings), step.lay
    number = head[-1].number or _name_before(pattern, step, head[-1]).ends_in_number
    texts = [*head, _LAID[wording, lay.first == lay.last, number]]
    return _said(pattern, step, texts, settings)


def _name_before(pattern: Pattern, step: Step, text: Text) -> Yarn:
    """The yarn whose name is the last that is said in a text."""
    if text is _UNDER and step.cross:
        return pattern.yarns[step.cross.over.yarn]
    return pattern.yarns[step.lay.end.yarn]


def _head(step: Step, settings: CallSettings) -> list[Text]:
    head = [ENDS[kind_of_take(step.take)]]
    if settings.wording == "full" and isinstance(step.take, Hang):
        head.append(_TAIL)
    if settings.crossings and step.cross:
        head.append(_UNDER)
    return head


def kind_of_take(take: Hang | TakeUp) -> str:
    """How an end comes to the hand, as a key of `ENDS`."""
    if isinstance(take, Hang):
        return "hung" if take.end.alone else "hung by name"
    if take.obvious:
        return "goes on"
    return "taken up by name" if take.shared else "taken up"


def _said(
    pattern: Pattern, step: Step, texts: list[Text], settings: CallSettings, **more: Part
) -> Clause:
    """Shown without an ending: a semicolon or a full stop follows when the call is put together."""
    said, shown = "".join(text.said for text in texts), "".join(text.shown for text in texts)
    parts = _parts(pattern, step) | more
    return clause(f"{said}.", settings.numbers, settings.pause_s, shown, **parts)


def _placed(pattern: Pattern, lay: Lay, told: Clause, settings: CallSettings) -> Clause:
    """Heard from where it lies in the work, -1 at its left edge and 1 at its right one."""
    if not settings.stereo:
        return told
    middle = lay.first + lay.last - 2 * pattern.script.first_needle + 1
    return replace(told, pan=middle / pattern.chart.stitches - 1)
