"""Before the first stitch: a garment's outline, cut out of a chart."""

from dataclasses import replace
from pathlib import Path
from typing import get_args

import click

from caller.cli import again
from caller.cli.base import FILE, PATTERN, main
from caller.cli.screen import show
from caller.pattern.bed import Side


@main.command("shape")
@PATTERN
@click.option(
    "--outline",
    required=True,
    help="Widths at heights from the bottom up, like '50cm@0cm, 50cm@38cm, 36cm@54cm'; without a "
    "unit they are stitches and rows.",
)
@click.option("--side", type=click.Choice(get_args(Side)), help="Shape only this side of the bed.")
@click.option("--simple", is_flag=True, help="Move single stitches; otherwise fully fashioned.")
@click.option("--output", type=FILE, help="The pattern file to write; otherwise NAME-shaped.toml.")
@click.option("--replace", "overwrite", is_flag=True, help="Overwrite files that exist.")
def shape_command(
    pattern_path: Path,
    outline: str,
    side: Side | None,
    simple: bool,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Shape a piece by its measurements: cut its outline out of the chart.

    The chart must be as large as the piece at its widest and tallest.
    """
    from caller.pattern.outline import cut_out, parse_outline
    from caller.pattern.picture.again import changed_since
    from caller.pattern.picture.recipe import only_used
    from caller.pattern.picture.source import fingerprint
    from caller.pattern.storage import pattern_file
    from caller.sheets import shaping

    pattern = pattern_file.load(pattern_path)
    path = output or Path(f"{pattern_path.stem}-shaped.toml")
    pattern_file.refuse_existing(path, overwrite)
    points = parse_outline(outline, pattern.gauge)
    chart, from_left = cut_out(pattern.chart, points, pattern.first_direction, side)
    cells, yarns = only_used(chart, pattern.yarns)
    first = pattern.first_needle
    if first is not None:
        first = pattern.bed.label(pattern.script.first_needle + from_left)
    source = pattern.source
    if source is not None:
        made = source.made if changed_since(pattern) else fingerprint(cells)
        kept = replace(source, outline=outline, outline_side=side or "", made=made)
        # Of two outlines, one cut out of the other, none is remembered.
        source = None if source.outline else again.moved(kept, pattern_path, path)
    shaped = replace(
        pattern,
        source=source,
        chart=cells,
        yarns=yarns,
        first_needle=first,
        shaping="simple" if simple else "fully fashioned",
        reminders=tuple(one for one in pattern.reminders if one.row <= cells.rows),
    )
    for line in shaping.as_lines(shaped):
        show(line)
    if not cells.shaped:
        show("The outline is a rectangle, so nothing is shaped.")
    for yarn in pattern.yarns:
        if yarn not in yarns:
            show(f"Take note: {yarn.name} lies outside the outline and is not used any more.")
    if source is None and pattern.source is not None:
        show(
            "Take note: this is its second outline, so the chart is not made anew from its picture "
            "any more."
        )
    if pattern.seen_from == "knit" and side is not None:
        show(f"Take note: the {side} of the bed is the other side of what will show.")
    written, chart_path = pattern_file.save(shaped, path, overwrite)
    show(f"Written: {written} and its chart {chart_path}.")
