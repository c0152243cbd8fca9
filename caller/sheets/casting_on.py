"""The cast-on in the plan: as data, and as lines to read."""

from collections.abc import Iterator
from typing import Any

from caller.pattern.amounts import CAST_ON_WIDTHS
from caller.pattern.casting_on import PLAIN_ROWS, cast_on
from caller.pattern.pattern import Pattern


def as_json(pattern: Pattern) -> dict[str, Any]:
    """Lengths in m, the comb in cm; what is not known is null."""
    on = cast_on(pattern)
    told = vars(on) | {"yarn": pattern.yarns[on.yarn].name}
    return {name: round(one, 2) if isinstance(one, float) else one for name, one in told.items()}


def as_lines(pattern: Pattern) -> Iterator[str]:
    """The sentences of the plan, the manual first."""
    on = cast_on(pattern)
    yarn = pattern.yarns[on.yarn].name
    yield "To cast on: your machine's manual comes first; what follows is common practice."
    yield (
        f"A wrapped edge over {on.stitches} needles takes about {on.length_m:.1f} m of {yarn}, "
        f"{CAST_ON_WIDTHS} times the width and a tail."
    )
    if on.plain_rows >= PLAIN_ROWS:
        yield f"The first {on.plain_rows} rows are plain, which gives the new ends a firm edge."
    else:
        yield (
            f"The picture begins in row {on.plain_rows + 1}: knit {PLAIN_ROWS} plain rows or more "
            "before it, so that new ends hang in a firm edge (row-caller chart --plain-below)."
        )
    waste = "" if on.waste_m is None else f", about {on.waste_m:.1f} m"
    cord = "" if on.cord_m is None else f", about {on.cord_m:.1f} m"
    yield (
        f"Where you begin on waste yarn: {on.waste_rows} rows of it over the same needles{waste}, "
        f"then one row of ravel cord{cord}, then the edge. Pull the cord when the piece is done."
    )
    yield (
        f"The comb covers {on.comb_cm:.0f} cm of needles; {on.weights} weights, spread evenly with "
        "one near each edge. Move them up as the work grows."
    )
