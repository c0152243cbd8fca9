"""Before the first stitch: fewer ends with as little change as possible."""

from dataclasses import replace
from pathlib import Path

import click

from caller.cli import again
from caller.cli.base import AS_JSON, FILE, PATTERN, main
from caller.cli.screen import ask, asks, progress, show, show_json
from caller.errors import SettingError
from caller.files import write_whole


@main.command("tidy")
@PATTERN
@click.option("--shortest-run", type=int, default=1, show_default=True, help="Stitches.")
@click.option("--specks", type=int, default=0, help="Blocks of so many stitches or fewer go.")
@click.option("--at-once", type=int, help="The most ends that hang in a row.")
@click.option("--in-all", type=int, help="The most ends to hang in the whole work.")
@click.option("--keep-thin-lines", is_flag=True, help="Thin lines stay just as they are.")
@click.option(
    "--protect", type=FILE, help="A mask, one pixel a stitch: what is black stays as it is."
)
@click.option("--output", type=FILE, help="The pattern file to write; otherwise NAME-tidy.toml.")
@click.option("--replace", "overwrite", is_flag=True, help="Overwrite files that exist.")
@click.option(
    "--yes", is_flag=True, help="Write without asking, even where thin lines or letters go."
)
@AS_JSON
def tidy_command(
    pattern_path: Path,
    shortest_run: int,
    specks: int,
    at_once: int | None,
    in_all: int | None,
    keep_thin_lines: bool,
    protect: Path | None,
    output: Path | None,
    overwrite: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Change as few stitches as it takes to need fewer ends.

    Thin lines are widened where there is room. What must go is told before anything is written.
    """
    from caller.pattern.picture.recipe import with_chart
    from caller.pattern.storage import pattern_file
    from caller.pattern.tidy.mask import read_mask
    from caller.pattern.tidy.settings import TidySettings
    from caller.pattern.tidy.trial import remedied, tried
    from caller.sheets import tidy_report
    from caller.sheets.in_words import changed_patches, changes_in_words
    from caller.sheets.pictures.changes import changes_png

    wish = TidySettings(shortest_run, specks, at_once, in_all, keep_thin_lines=keep_thin_lines)
    if wish.asks_for_nothing:
        raise SettingError(
            "Nothing is to be tidied.",
            "Say what should become simpler: --shortest-run 3, --specks 4, --at-once 10 or "
            "--in-all 40.",
        )
    pattern = pattern_file.load(pattern_path)
    path = output or Path(f"{pattern_path.stem}-tidy.toml")
    changes = path.with_name(f"{path.stem}.changes.png")
    pattern_file.refuse_existing(path, overwrite)
    kept = None if protect is None else read_mask(protect, pattern.chart)
    made_from = again.original_of(pattern_path, pattern)
    with progress(1000, "Tidying") as bar:
        trial = tried(
            pattern,
            wish,
            lambda done: bar.update(round(done * 1000) - bar.pos),
            kept,
            made_from,
        )
    remedy = None
    if trial.worse:
        with progress(1000, "Trying what would help") as bar:
            remedy = remedied(trial, lambda done: bar.update(round(done * 1000) - bar.pos), kept)
    patches = changed_patches(pattern, trial.result.chart.cells)
    if as_json:
        told = tidy_report.as_json(trial, remedy)
        show_json(told | {"changes": [vars(patch) for patch in patches]})
    else:
        for line in (*tidy_report.as_lines(trial, remedy), *changes_in_words(patches)):
            show(line)
        if (
            (trial.lost or trial.shapes)
            and not yes
            and asks()
            and ask("Write it?", ("no", "yes")) == "no"
        ):
            show("Nothing was written.")
            return
    picture = changes_png(pattern, trial.result)
    tidied = with_chart(pattern, trial.result.chart)
    if tidied.source is not None:
        tidied = replace(tidied, source=again.moved(tidied.source, pattern_path, path))
    written, chart_path = pattern_file.save(tidied, path, overwrite)
    write_whole(changes, picture)
    if not as_json:
        show(
            f"Written: {written} and its chart {chart_path}; before, after and what changed: "
            f"{changes}."
        )
