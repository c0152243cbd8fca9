"""The whole piece: several pictures on one, and what is left to do after the last row."""

from pathlib import Path
from typing import TYPE_CHECKING, get_args

import click

from caller.cli.base import AS_JSON, FILE, PATTERN, main
from caller.cli.screen import progress, show, show_json
from caller.cli.written import write_all
from caller.settings import PaperSize

if TYPE_CHECKING:
    from caller.pattern.pattern import Pattern
    from caller.pattern.winding import Refill


@main.command()
@PATTERN
@AS_JSON
def finish(pattern_path: Path, as_json: bool) -> None:
    """Say how to finish: bind-off, tails to weave in by yarn and place, blocking, washing."""
    from caller.pattern.storage.pattern_file import load
    from caller.sheets import finishing

    pattern = load(pattern_path)
    refills = _filled(pattern_path, pattern)
    if as_json:
        show_json(finishing.as_json(pattern, refills))
    else:
        for line in finishing.as_lines(pattern, refills):
            show(line)


def _filled(path: Path, pattern: "Pattern") -> "tuple[Refill, ...]":
    """The bobbins that were filled during the work, where its place is beside the pattern."""
    from caller.devices.storage import place_file
    from caller.pattern.laying import laying_of

    try:
        found = place_file.read(place_file.place_file(path))
    except OSError:
        return ()
    if found is None or not found.kept.laying.same_chart(laying_of(pattern)):
        return ()
    return found.kept.refills


@main.command()
@click.argument("pattern_paths", metavar="PATTERN...", nargs=-1, required=True, type=FILE)
@click.option("--across", type=int, help="Pictures side by side; otherwise each of them once.")
@click.option("--up", type=int, default=1, show_default=True, help="Bands above each other.")
@click.option("--between", type=int, default=0, help="Plain stitches between pictures.")
@click.option("--between-rows", type=int, default=0, help="Plain rows between bands.")
@click.option("--border", type=int, default=0, help="Plain stitches at each side.")
@click.option("--plain-below", type=int, default=0, help="Plain rows before the first row.")
@click.option("--plain-above", type=int, default=0, help="Plain rows after the last row.")
@click.option("--background", help="The yarn of what is plain, by its name.")
@click.option("--border-pattern", type=FILE, help="A pattern that is repeated all around.")
@click.option("--panels", is_flag=True, help="Divide what is too wide into panels to be sewn.")
@click.option("--seam", type=int, default=1, show_default=True, help="Seam stitches of a panel.")
@click.option("--title", help="What the piece is called aloud.")
@click.option("--output", type=FILE, help="The pattern file to write; otherwise NAME-joined.toml.")
@click.option("--replace", "overwrite", is_flag=True, help="Overwrite files that exist.")
def join(
    pattern_paths: tuple[Path, ...],
    across: int | None,
    up: int,
    between: int,
    between_rows: int,
    border: int,
    plain_below: int,
    plain_above: int,
    background: str | None,
    border_pattern: Path | None,
    panels: bool,
    seam: int,
    title: str | None,
    output: Path | None,
    overwrite: bool,
) -> None:
    """Lay several pictures on one piece, in turn, from left to right and from the bottom up."""
    from caller.pattern.joining import Layout, differences, joined, joined_in_panels
    from caller.pattern.picture.recipe import Margins
    from caller.pattern.storage import pattern_file

    path = output or Path(f"{pattern_paths[0].stem}-joined.toml")
    if not panels:
        pattern_file.refuse_existing(path, overwrite)
    margins = Margins(border, plain_below, plain_above)
    layout = Layout(across or 0, up, between, between_rows, margins)
    patterns = [pattern_file.load(one) for one in pattern_paths]
    edge = pattern_file.load(border_pattern) if border_pattern else None
    called = title or patterns[0].title
    if panels:
        made = joined_in_panels(patterns, layout, called, seam, background, edge)
    else:
        made = (joined(patterns, layout, called, background, edge),)
    write_all(made, path, overwrite)
    for note in differences(patterns):
        show(f"Take note: {note}")


@main.command("print")
@PATTERN
@click.option("--output", type=FILE, help="A .pdf, or a .png a page; otherwise PATTERN's .pdf.")
@click.option(
    "--paper", type=click.Choice(get_args(PaperSize)), default="a4", show_default=True, help="Size."
)
@click.option("--replace", "overwrite", is_flag=True, help="Overwrite files that exist.")
def print_command(
    pattern_path: Path, output: Path | None, paper: PaperSize, overwrite: bool
) -> None:
    """Make pages to print: the chart at true size, the plan and the bobbins."""
    from caller.calling.words.numbers import plural
    from caller.pattern.storage.pattern_file import load
    from caller.sheets.printing.chart_pages import key_lines
    from caller.sheets.printing.printing import chart_count, paper_of, write_pages

    pattern, sheet = load(pattern_path), paper_of(paper)
    count = chart_count(pattern, sheet)
    path = output or Path(f"{pattern_path.stem}.pdf")
    with progress(count, "Drawing") as bar:
        written = write_pages(pattern, path, sheet, overwrite, lambda: bar.update(1))
    shown = str(written[0]) if len(written) == 1 else f"{written[0]} to {written[-1]}"
    show(f"Written: {shown}; the chart takes {count} {plural(count, 'page')}, the plan follows.")
    for line in key_lines(pattern):
        show(line)
