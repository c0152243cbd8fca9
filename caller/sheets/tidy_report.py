"""What tidying did: before and after, and a picture of the stitches that changed."""

import io
from collections.abc import Iterator
from typing import Any

import numpy as np

from caller.pattern.pattern import Pattern
from caller.pattern.tidy.tidying import Effort, TidyReport

_PIXELS = 6  # a stitch
_CHANGED, _KEPT = (0, 0, 0), (255, 255, 255)


def as_json(pattern: Pattern, report: TidyReport) -> dict[str, Any]:
    """The report as plain data."""
    changed = int(report.changed.sum())
    return {
        "stitches_changed": changed,
        "stitches": report.changed.size,
        "price": round(float(report.price), 3),
        "lost_yarns": [pattern.yarns[yarn].name for yarn in report.lost_yarns],
        "before": vars(report.before).copy(),
        "after": vars(report.after).copy(),
    }


def as_lines(pattern: Pattern, report: TidyReport) -> Iterator[str]:
    """The report as sentences."""
    changed = int(report.changed.sum())
    share = changed / report.changed.size
    yield f"{changed} of {report.changed.size} stitches were changed ({share:.1%})."
    for what, value in (
        ("Colour changes", "colour_changes"),
        ("Ends to hang in all", "supplies"),
        ("Ends at once", "at_once"),
        ("Longest carry", "longest_carry"),
        ("Single stitches", "single_stitches"),
    ):
        yield f"{what}: {_part(report.before, value)} before, {_part(report.after, value)} after."
    for yarn in report.lost_yarns:
        yield f"Take note: {pattern.yarns[yarn].name} is not used any more."


def _part(effort: Effort, name: str) -> int:
    return int(getattr(effort, name))


def changes_png(pattern: Pattern, report: TidyReport) -> bytes:
    """The old chart paled, with every changed stitch in black; PNG."""
    from PIL import Image

    colours = np.array([yarn.rgb for yarn in pattern.yarns], dtype=float)
    paled = 0.35 * colours[pattern.chart.cells] + 0.65 * np.array(_KEPT)
    paled[report.changed] = _CHANGED
    large = np.kron(paled[::-1], np.ones((_PIXELS, _PIXELS, 1))).astype(np.uint8)
    encoded = io.BytesIO()
    Image.fromarray(large).save(encoded, "PNG")
    return encoded.getvalue()
