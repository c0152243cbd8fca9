"""What all commands share: the group, its way with errors, and common options."""

import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

import click

from caller import __version__
from caller.errors import CallerError
from caller.settings import (
    FASTEST_WPM,
    FULL_VOLUME,
    HIGHEST_PITCH,
    LOUDEST,
    SLOWEST_WPM,
    VoiceKind,
    VoiceSettings,
)


class SentenceGroup(click.Group):
    """Says what went wrong in one sentence, without a traceback, and ends with exit code 2."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except CallerError as error:
            click.echo(f"caller: {error}", err=True)
            ctx.exit(2)
        except KeyboardInterrupt:
            click.echo("caller: Stopped. Nothing is lost; the same command begins again.", err=True)
            ctx.exit(130)


class NamedFile(click.Path):
    """A file's name; an empty one is refused before it is taken for the current folder."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        if value == "":
            self.fail("the file's name is empty.", param, ctx)
        return super().convert(value, param, ctx)


FILE = NamedFile(path_type=Path)
PATTERN = click.argument("pattern_path", metavar="PATTERN", type=FILE)
AS_JSON = click.option("--json", "as_json", is_flag=True, help="Print JSON.")
_VOICE_OPTIONS = {
    "kind": click.option(
        "--voice",
        "voice_kind",
        type=click.Choice(get_args(VoiceKind)),
        default="espeak",
        show_default=True,
        help="espeak comes with the program; system is the computer's own voice; piper speaks "
        "with the voice in --voice-file.",
    ),
    "name": click.option(
        "--voice-name",
        help="espeak: a language code, like en (British) or de; system: a name. "
        "The words stay English.",
    ),
    "file": click.option(
        "--voice-file",
        type=FILE,
        help="The .onnx file of a piper voice, with its .onnx.json beside it.",
    ),
    "rate_wpm": click.option(
        "--rate",
        "voice_rate_wpm",
        type=int,
        default=VoiceSettings.rate_wpm,
        show_default=True,
        help=f"Words a minute, {SLOWEST_WPM} to {FASTEST_WPM}.",
    ),
    "pitch": click.option(
        "--pitch",
        "voice_pitch",
        type=int,
        default=VoiceSettings.pitch,
        show_default=True,
        help=f"How high espeak speaks, 0 to {HIGHEST_PITCH}.",
    ),
    "volume": click.option(
        "--volume",
        "voice_volume",
        type=int,
        default=VoiceSettings.volume,
        show_default=True,
        help=f"Percent, 0 to {LOUDEST}; other voices than espeak 1 to {FULL_VOLUME}.",
    ),
}


def voice_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options of the voice; the command is given them as its argument `voice`."""

    @functools.wraps(command)
    def with_voice(**given: Any) -> Any:
        chosen = {field: given.pop(f"voice_{field}") for field in _VOICE_OPTIONS}
        return command(voice=VoiceSettings(**chosen), **given)

    optional: Callable[..., Any] = with_voice
    for option in reversed(_VOICE_OPTIONS.values()):
        optional = option(optional)
    return optional


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
