"""Pattern files as they are written and told of: one, or one a panel."""

from pathlib import Path
from typing import TYPE_CHECKING

from caller.cli.screen import show

if TYPE_CHECKING:
    from caller.pattern.pattern import Pattern


def write_all(made: "tuple[Pattern, ...]", path: Path, overwrite: bool) -> None:
    """Write a pattern at this path, or the panels of one at NAME-1.toml, NAME-2.toml and so on.

    Raises PatternFileError, and nothing is written, where one of them exists.
    """
    from caller.calling.words.numbers import counted
    from caller.pattern.storage import pattern_file

    paths = [path]
    if len(made) > 1:
        paths = [path.with_stem(f"{path.stem}-{number}") for number in range(1, len(made) + 1)]
    for target in paths:
        pattern_file.refuse_existing(target, overwrite)
    for pattern, target in zip(made, paths, strict=True):
        written, chart_path = pattern_file.save(pattern, target, overwrite)
        script, label = pattern.script, pattern.bed.label
        names = ", ".join(yarn.name for yarn in pattern.yarns)
        show(
            f"{pattern.chart.stitches} stitches, {label(script.first_needle)} to "
            f"{label(script.last_needle)}, {pattern.chart.rows} rows; {len(pattern.yarns)} yarns: "
            f"{names}."
        )
        show(f"Written: {written} and its chart {chart_path}.")
    panel = made[0].panel
    if panel is not None:
        show(
            "The panels are sewn edge to edge from left to right as they hang, row by row; each "
            f"seam takes {counted(panel.seam, 'stitch', 'stitches')} of either edge. row-caller "
            "plan with all of them tells the yarn of the piece."
        )
