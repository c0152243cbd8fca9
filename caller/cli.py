"""The commands. The only module that prints."""

import json
import sys
from pathlib import Path
from typing import Any

import click

from caller import __version__
from caller.errors import CallerError, PatternFileError
from caller.settings import FASTEST_WPM, SLOWEST_WPM, EarSettings, VoiceSettings


class SentenceGroup(click.Group):
    """Says what went wrong in one sentence, without a traceback, and ends with exit code 2."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CallerError as error:
            click.echo(f"caller: {error}", err=True)
            ctx.exit(2)


FILE = click.Path(path_type=Path)
PATTERN = click.argument("pattern_path", metavar="PATTERN", type=FILE)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
VOICE = click.option(
    "--voice",
    "voice_kind",
    type=click.Choice(["espeak", "system"]),
    default="espeak",
    show_default=True,
    help="espeak comes with the program; system is the computer's own voice.",
)
RATE = click.option(
    "--rate",
    "rate_wpm",
    type=int,
    default=VoiceSettings.rate_wpm,
    show_default=True,
    help=f"Words a minute, {SLOWEST_WPM} to {FASTEST_WPM}.",
)
MODEL = click.option(
    "--model",
    "model_folder",
    type=FILE,
    help="Folder of a Vosk model; models/README.md says where to get one.",
)


@click.group(cls=SentenceGroup)
@click.version_option(__version__, prog_name="caller")
def main() -> None:
    """Call the rows of a colour-block picture aloud to a knitter at a flat bed.

    PATTERN is a pattern file (.toml), or a picture taken as one pixel a stitch.
    """


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


@main.command()
@PATTERN
@AS_JSON
def rows(pattern_path: Path, as_json: bool) -> None:
    """Print the row script: every run of every row, in knitting order."""
    from caller.pattern.pattern_file import load
    from caller.sheets import row_script

    pattern = load(pattern_path)
    if as_json:
        click.echo(json.dumps(row_script.as_json(pattern), ensure_ascii=False))
    else:
        for line in row_script.as_lines(pattern):
            click.echo(line)


@main.command()
@PATTERN
@click.option("--row", type=int, required=True, help="The row to call; 1 is the bottom row.")
@click.option("--text", is_flag=True, help="Print the words instead of speaking them.")
@click.option("--out", type=FILE, help="Write the sound to this WAV file instead.")
@VOICE
@RATE
def say(
    pattern_path: Path, row: int, text: bool, out: Path | None, voice_kind: Any, rate_wpm: int
) -> None:
    """Speak, print or write one row's call."""
    from caller import wiring
    from caller.calling.wording import said
    from caller.pattern.pattern_file import load

    settings = VoiceSettings(voice_kind, rate_wpm)
    call = wiring.row_call(load(pattern_path), row)
    if text:
        click.echo(said(call))
    if out is not None:
        wiring.write_sound(call, settings, out)
        click.echo(f"Written: {out}", err=True)
    elif not text:
        wiring.say(call, settings)


@main.command()
@PATTERN
@click.option("--row", type=int, help="Start at this row instead of the place that is kept.")
@click.option("--place", type=FILE, help="Keep the place in this file, not beside PATTERN.")
@click.option("--listen/--no-listen", default=True, help="Listen for spoken commands.")
@MODEL
@VOICE
@RATE
def knit(
    pattern_path: Path,
    row: int | None,
    place: Path | None,
    listen: bool,
    model_folder: Path | None,
    voice_kind: Any,
    rate_wpm: int,
) -> None:
    """Call the rows, hands-free, from where you left off."""
    from caller import wiring
    from caller.pattern.pattern_file import load

    pattern = load(pattern_path)
    if row is not None:
        pattern.script.row(row)
    voice_settings = VoiceSettings(voice_kind, rate_wpm)
    ear_settings = EarSettings(listen, model_folder)
    wiring.knit(pattern, pattern_path, voice_settings, ear_settings, row, place, click.echo)


@main.command()
@click.argument("recording", metavar="[FILE.wav]", type=FILE, required=False)
@AS_JSON
@MODEL
def hear(recording: Path | None, as_json: bool, model_folder: Path | None) -> None:
    """Show which commands are heard, in a sound file or by the microphone (Ctrl-C ends)."""
    from caller import wiring

    settings = EarSettings(model_folder=model_folder)
    if recording is not None:
        heard = wiring.hear_file(recording, settings)
        if as_json:
            click.echo(json.dumps([_heard(phrase) for phrase in heard]))
            return
        for phrase in heard:
            click.echo(f"{phrase.at_s:8.2f} s  {phrase.command.value}  ({phrase.engine})")
        if not heard:
            click.echo("No command was heard.")
        return
    click.echo("Listening; Ctrl-C ends.", err=True)
    for phrase in wiring.hear_microphone(settings):
        click.echo(json.dumps(_heard(phrase)) if as_json else phrase.command.value)
        sys.stdout.flush()


def _heard(phrase: Any) -> dict[str, Any]:
    return {
        "at_s": round(phrase.at_s, 2),
        "command": phrase.command.value,
        "engine": phrase.engine,
    }
