"""What all commands share: the group, its way with errors, and common options."""

from pathlib import Path
from typing import Any

import click

from caller import __version__
from caller.errors import CallerError
from caller.settings import FASTEST_WPM, SLOWEST_WPM, VoiceSettings


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

WORDING = click.option(
    "--wording",
    type=click.Choice(["short", "full", "changes"]),
    default="short",
    show_default=True,
    help="short: each yarn and its last needle; full: both needles, stitches and supplies; "
    "changes: what differs from the row before.",
)
NUMBERS = click.option(
    "--numbers",
    type=click.Choice(["words", "digits", "checked"]),
    default="words",
    show_default=True,
    help="checked adds the digits to numbers that are easily misheard, like thirteen and thirty.",
)
EVENTS = click.option("--events", is_flag=True, help="Call where supplies join, carry and are cut.")
CROSSINGS = click.option("--crossings", is_flag=True, help="Call how many yarns cross in the row.")


@click.group(cls=SentenceGroup)
@click.version_option(__version__, prog_name="caller")
def main() -> None:
    """Call the rows of a colour-block picture aloud to a knitter at a flat bed.

    PATTERN is a pattern file (.toml), or a picture taken as one pixel a stitch.
    """
