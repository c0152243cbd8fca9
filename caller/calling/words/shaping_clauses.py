"""What is done at the edges of a shaped piece before a row, in words: one table for all wordings.

short    "First decrease one on each side, edges at left twenty-nine and right twenty-nine."
         "First bind off four on the right, with navy, edge at right twenty-six, then cut it."
full     the same, and how many stitches move together or which needles are worked

The edge is the outermost needle in work afterwards. Stitches are cast on with the end that is laid
first in the row, told as every end is, and bound off with the one that hangs at the edge.
"""

from dataclasses import replace

from caller.calling.acts import RowActs, Shape, TakeUp
from caller.calling.words.clauses import ENDS, Text, kind_of_take
from caller.calling.words.ends import named
from caller.calling.words.utterance import Clause, Exact, Needle, Part, Utterance, clause
from caller.pattern.pattern import Pattern
from caller.settings import CallSettings

_SHAPED = {
    kind: Text(f"{kind} {{count}}", f"{kind} {{count}}")
    for kind in ("increase", "decrease", "cast on", "bind off")
}
"""What is done at an edge before a row."""
_ONE_SIDE = Text(" on the {side}", " on the {side}")
_EACH_SIDE = Text(" on each side", " on each side")
_EDGE = Text(", edge at {edge}", ", edge {edge}")
_EDGES = Text(", edges at {edge} and {other}", ", edges {edge} and {other}")
_CUT_THEN = Text(", edge at {edge}, then cut it", ", edge {edge}, then cut it")
_BY_NAME = Text("{yarn}, bobbin {bobbin}", "{yarn} {bobbin}")
_WITH = Text(", with ", " with ")
_FASHIONED = Text(", fully fashioned, {moved} stitches moved", " (move {moved})")
_SIMPLE = Text(", simple", " (simple)")
_NEEDLES = Text(", from {first}, as far as {last}", " ({first} to {last})")


def shape_clauses(pattern: Pattern, acts: RowActs, settings: CallSettings) -> Utterance:
    """What is done at the edges before the row, a clause each, or one for both sides alike."""
    told, shapes = [], list(acts.shapes)
    if len(shapes) == 2 and _alike(*shapes):
        left, right = sorted(shapes, key=lambda shape: shape.shaping.side)
        texts = [_SHAPED[left.shaping.kind], _EACH_SIDE, *_how(left, settings), _EDGES]
        edges = {"edge": left.shaping.edge, "other": right.shaping.edge}
        told.append(_shaped(pattern, left, texts, settings, edges))
        shapes = []
    for shape in shapes:
        kind = shape.shaping.kind
        texts = [_SHAPED[kind], _ONE_SIDE, *_how(shape, settings)]
        if shape.take:
            texts += [_WITH, ENDS[kind_of_take(shape.take)]]
        elif shape.binds:
            texts += [_WITH, _BY_NAME if shape.shared else ENDS["goes on"]]
        texts.append(_CUT_THEN if shape.cut else _EDGE)
        told.append(_shaped(pattern, shape, texts, settings, {"edge": shape.shaping.edge}))
    first = [replace(one, said=f"First {one.said}") for one in told[:1]]
    return (*first, *(replace(one, said=f"Then {one.said}") for one in told[1:]))


def _alike(one: Shape, other: Shape) -> bool:
    """Whether the same is done on both sides, with the tool alone."""
    tool = one.shaping.kind in ("increase", "decrease")
    same = (one.shaping.kind, one.shaping.stitches) == (other.shaping.kind, other.shaping.stitches)
    return tool and same


def _how(shape: Shape, settings: CallSettings) -> list[Text]:
    """In the full wording: how many stitches move together, or which needles are worked."""
    if settings.wording != "full":
        return []
    if shape.shaping.kind in ("increase", "decrease"):
        return [_FASHIONED if shape.shaping.moved > 1 else _SIMPLE]
    return [_NEEDLES]


def _shaped(
    pattern: Pattern,
    shape: Shape,
    texts: list[Text],
    settings: CallSettings,
    edges: dict[str, int],
) -> Clause:
    shaping, bed, end = shape.shaping, pattern.bed, shape.take.end if shape.take else shape.binds
    parts: dict[str, Part] = {name: Needle(bed, needle) for name, needle in edges.items()}
    parts |= {"count": Exact(shaping.stitches), "side": shaping.side, "moved": shaping.moved}
    parts |= {"first": Needle(bed, shaping.first), "last": Needle(bed, shaping.last)}
    if end:
        parts |= named(pattern, end)
    if isinstance(shape.take, TakeUp):
        parts["hung"] = Needle(bed, shape.take.hangs_at)
    said, shown = "".join(text.said for text in texts), "".join(text.shown for text in texts)
    return clause(f"{said}.", settings.numbers, settings.pause_s, shown, **parts)
