"""The finishing sheet in words: one step an utterance, so that it can be heard step by step."""

from collections.abc import Iterator

from caller.calling.portions import split
from caller.calling.words.numbers import plural
from caller.calling.words.utterance import (
    RUN_PAUSE_S,
    Clause,
    Exact,
    Length,
    Needle,
    Utterance,
    capital,
    clause,
    ended,
    sentence,
)
from caller.pattern.amounts import CAST_OFF_WIDTHS, finished_size_cm
from caller.pattern.finishing import Tail, cast_off, tails
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill
from caller.settings import CallSettings

TAILS_AT_ONCE = 4
GO_ON = Clause("Go on when that is done.", "Go on when that is done.")

OFF_THE_BED = (
    "Take the weights off as the last stitch leaves its needle, and let the piece rest for a day "
    "before you measure it."
)
WEAVE_IN = (
    "Weave each one in on the purl side, into stitches of its own colour, along the joint, so that "
    "it closes the gap there."
)
WASHING = (
    "Wash it as the labels of its yarns say, and all of it as gently as the most delicate one asks."
)
"""All of these are common practice, from memory."""


def finishing_steps(
    pattern: Pattern, settings: CallSettings, refills: tuple[Refill, ...] = ()
) -> tuple[Utterance, ...]:
    """What is to be done after the last row, in order, a step each."""
    return tuple(_steps(pattern, settings, tails(pattern, refills)))


def _steps(pattern: Pattern, settings: CallSettings, ends: tuple[Tail, ...]) -> Iterator[Utterance]:
    yield (*_cast_off(pattern, settings), GO_ON)
    yield sentence(OFF_THE_BED)
    yield (
        capital(
            clause("{count} tails to weave in.", settings.numbers, RUN_PAUSE_S, count=len(ends))
        ),
        Clause(WEAVE_IN, WEAVE_IN),
    )
    for number in sorted({one.yarn for one in ends}):
        mine = [one for one in ends if one.yarn == number]
        begins = split(len(mine), TAILS_AT_ONCE)
        for begin, end in zip(begins, (*begins[1:], len(mine)), strict=True):
            yield tuple(_tails(pattern, settings, mine[begin:end], begin, len(mine)))
    yield _blocking(pattern, settings)
    yield from _seams(pattern, settings)
    yield sentence(WASHING)


def _cast_off(pattern: Pattern, settings: CallSettings) -> Utterance:
    script, how = pattern.script, cast_off(pattern)
    text = (
        "Bind off {count} stitches from the {side}, where the carriage stands, with the {yarn} "
        "that hangs there. It takes about {length}: {widths} times the width, and a tail."
    )
    return (
        clause(
            text,
            settings.numbers,
            count=how.stitches,
            side=script.direction(script.rows),
            length=Length(how.length_m, up=True),
            yarn=pattern.yarns[how.yarn].name,
            widths=CAST_OFF_WIDTHS,
        ),
    )


def _tails(
    pattern: Pattern, settings: CallSettings, mine: list[Tail], begin: int, count: int
) -> Iterator[Clause]:
    name = pattern.yarns[mine[0].yarn].name
    if begin == 0:
        text = f"{{yarn}}, {{count}} {plural(count, 'tail')}:"
    else:
        text = "{yarn}, from tail {nth} of {count}:"
    yield clause(text, settings.numbers, RUN_PAUSE_S, yarn=name, count=count, nth=begin + 1)
    places = dict.fromkeys((one.row, one.needle) for one in mine)
    told = []
    for row, needle in places:
        both = sum((one.row, one.needle) == (row, needle) for one in mine) > 1
        text = ", both ends" if both else ""
        told.append(
            clause(
                f"Row {{row}}, at {{needle}}{text}.",
                settings.numbers,
                RUN_PAUSE_S,
                f"row {{row}} at {{needle}}{text}",
                row=Exact(row),
                needle=Needle(pattern.bed, needle),
            )
        )
    yield from ended(tuple(told))


def _blocking(pattern: Pattern, settings: CallSettings) -> Utterance:
    if pattern.gauge is None:
        return sentence("Block it: wet it, pin it to its shape without a pull, and let it dry.")
    sides = finished_size_cm(pattern.chart.stitches, pattern.chart.rows, pattern.gauge)
    width, height = (max(1, round(side)) for side in sides)
    widest = " at the widest" if pattern.chart.shaped else ""
    text = (
        f"Block it: wet it, pin it out {{width}} centimetres wide{widest} and {{height}} "
        "centimetres high, as the swatch measured, and let it dry."
    )
    return (clause(text, settings.numbers, width=width, height=height),)


def _seams(pattern: Pattern, settings: CallSettings) -> Iterator[Utterance]:
    panel = pattern.panel
    if panel is None:
        return
    stitches = f"{{seam}} {plural(panel.seam, 'stitch', 'stitches')}"
    text = (
        "This is panel {panel} of {panels}, counted from the left as they hang. Sew it to its "
        "neighbours edge to edge, row by row, for the rows are in line; "
        f"the seam takes {stitches} of each edge."
    )
    yield (
        clause(
            text,
            settings.numbers,
            panel=panel.number,
            panels=panel.of,
            seam=panel.seam,
        ),
    )
