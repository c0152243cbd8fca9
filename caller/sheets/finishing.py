"""The finishing sheet, as data and as lines to read."""

from collections.abc import Iterator
from typing import Any

from caller.calling.words.finishing import finishing_steps
from caller.calling.words.utterance import shown
from caller.pattern.amounts import finished_size_cm
from caller.pattern.finishing import cast_off, tails
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill
from caller.settings import CallSettings


def as_lines(pattern: Pattern, refills: tuple[Refill, ...] = ()) -> Iterator[str]:
    """The steps, a line each, as they are heard after the last row."""
    return map(shown, finishing_steps(pattern, CallSettings(), refills))


def as_json(pattern: Pattern, refills: tuple[Refill, ...] = ()) -> dict[str, Any]:
    """The same as plain data; lengths in m, sizes in cm."""
    how = cast_off(pattern)
    gauge, chart = pattern.gauge, pattern.chart
    size = None if gauge is None else finished_size_cm(chart.stitches, chart.rows, gauge)
    return {
        "cast_off": {
            "yarn": pattern.yarns[how.yarn].name,
            "supply": how.supply,
            "length_m": round(how.length_m, 2),
        },
        "tails": [
            {
                "yarn": pattern.yarns[one.yarn].name,
                "bobbin": one.bobbin,
                "row": one.row,
                "needle": pattern.bed.label(one.needle),
                "tail": "begins" if one.begins else "ends",
            }
            for one in tails(pattern, refills)
        ],
        "blocked_cm": None if size is None else [round(side, 1) for side in size],
        "seam_stitches": None if pattern.panel is None else pattern.panel.seam,
    }
