"""Before the first stitch: from a picture to a pattern."""

from pathlib import Path
from typing import Any

import click

from caller.cli.base import FILE, main
from caller.errors import PatternFileError


@main.command()
@click.argument("picture", type=FILE)
@click.option("--width", type=int, required=True, help="Stitches across.")
@click.option(
    "--gauge", required=True, help="Stitches x rows / length, like 31x44/10cm or 7.75x11/in."
)
@click.option("--colours", type=int, default=4, show_default=True, help="How many yarns.")
@click.option("--needles", type=int, default=200, show_default=True, help="Needles of the bed.")
@click.option("--pitch", type=float, default=4.5, show_default=True, help="Needle pitch in mm.")
@click.option(
    "--first-direction",
    type=click.Choice(["right", "left"]),
    default="right",
    show_default=True,
    help="Where the carriage goes in row 1.",
)
@click.option("--title", help="What the pattern is called aloud.")
@click.option(
    "--output", type=FILE, help="The pattern file to write; otherwise PICTURE's name with .toml."
)
@click.option("--replace", is_flag=True, help="Overwrite files that exist.")
def chart(
    picture: Path,
    width: int,
    gauge: str,
    colours: int,
    needles: int,
    pitch: float,
    first_direction: Any,
    title: str | None,
    output: Path | None,
    replace: bool,
) -> None:
    """Make a chart and a pattern file from PICTURE."""
    from caller.pattern import pattern_file
    from caller.pattern.bed import Bed
    from caller.pattern.gauge import parse_gauge
    from caller.pattern.pattern import Pattern
    from caller.pattern.picture import make_chart, read_picture

    measured, bed = parse_gauge(gauge), Bed(needles, pitch)
    bed.centred(width)
    source = read_picture(picture)
    rows = measured.rows_for(width, source.rgb.shape[0] / source.rgb.shape[1])
    cells, yarns = make_chart(source, width, rows, colours)
    made = Pattern(
        title or pattern_file.title_of(picture), cells, yarns, bed, measured, first_direction
    )
    path = output or Path(f"{picture.stem}.toml")
    if path.suffix.lower() != ".toml":
        raise PatternFileError(f"A pattern file's name ends in .toml; write --output {path}.toml.")
    written, chart_path = pattern_file.save(made, path, replace)
    names = ", ".join(yarn.name for yarn in yarns)
    click.echo(
        f"{made.chart.stitches} stitches, {made.chart.rows} rows; {len(yarns)} yarns: {names}."
    )
    click.echo(f"Written: {written} and its chart {chart_path}.")
