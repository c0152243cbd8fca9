"""At the machine: the row script, the call of one row, and the session."""

import dataclasses
import sys
from pathlib import Path
from typing import Any, get_args

import click
from click.core import ParameterSource

from caller.cli.base import (
    AS_JSON,
    CROSSINGS,
    FILE,
    LOUDSPEAKER,
    NOTES,
    NUMBERS,
    PATTERN,
    PAUSE,
    WORDING,
    listening_options,
    made_with_kept,
    main,
    voice_options,
)
from caller.cli.screen import show, show_drawing, show_json, tell
from caller.errors import SettingError, SoundError
from caller.settings import CallSettings, ListeningSettings, PageOn, SignalChoice, VoiceSettings


@main.command()
@PATTERN
@AS_JSON
def rows(pattern_path: Path, as_json: bool) -> None:
    """Print the row script: every run of every row, in knitting order."""
    from caller.pattern.storage.pattern_file import load
    from caller.sheets.scripts import row_script

    pattern = load(pattern_path)
    if as_json:
        show_json(row_script.as_json(pattern))
    else:
        for line in row_script.as_lines(pattern):
            show(line)


def _list_voices(context: click.Context, _option: click.Parameter, wanted: bool) -> None:
    if wanted:
        from caller.wiring import voices

        for line in voices.list_voices():
            show(line)
        context.exit()


@main.command()
@PATTERN
@click.option("--row", type=int, required=True, help="The row to call; 1 is the bottom row.")
@click.option("--text", is_flag=True, help="Print the words instead of speaking them.")
@click.option("--out", type=FILE, help="Write the sound to this new WAV file instead.")
@click.option("--replace", is_flag=True, help="Overwrite the file if it exists.")
@WORDING
@PAUSE
@NUMBERS
@CROSSINGS
@LOUDSPEAKER
@voice_options
@click.option(
    "--list-voices",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_list_voices,
    help="List the names for --voice-name; PATTERN and --row are not needed.",
)
def say(
    pattern_path: Path,
    row: int,
    text: bool,
    out: Path | None,
    replace: bool,
    loudspeaker: str | None,
    voice: VoiceSettings,
    **wishes: Any,
) -> None:
    """Speak, print or write one row's call."""
    from caller.calling.words.row_call import row_call
    from caller.calling.words.utterance import said
    from caller.pattern.storage.pattern_file import load
    from caller.wiring import voices

    if out is not None and out.suffix.lower() != ".wav":
        raise SettingError("The sound is a WAV file", f"write --out {out.stem}.wav.")
    if out is not None and out.exists() and not replace:
        raise SettingError(
            f"{out} exists already", "add --replace to overwrite it, or choose another name."
        )
    pattern = load(pattern_path)
    call = row_call(pattern, pattern.script.row(row), made_with_kept(CallSettings, wishes))
    if text:
        show(said(call))
    if out is not None:
        voices.write_sound(call, voice, tell, out)
        tell(f"Written: {out}")
    elif not text:
        try:
            voices.say(call, voice, tell, loudspeaker)
        except SoundError:
            show(said(call))
            raise


def _given(option: str) -> bool:
    """Whether an option stands on the command line, not in the settings file only."""
    source = click.get_current_context().get_parameter_source(option)
    return source is ParameterSource.COMMANDLINE


@main.command()
@PATTERN
@click.option("--row", type=int, help="Start at this row instead of the place that is kept.")
@click.option("--place", type=FILE, help="Keep the place in this file, not beside PATTERN.")
@WORDING
@click.option(
    "--runs",
    "runs_at_once",
    type=int,
    default=CallSettings.runs_at_once,
    show_default=True,
    help="The most yarns to call at a time; 0: always the whole row.",
)
@click.option(
    "--follow", is_flag=True, help="Call the rest of a long row by itself, at the pace you knit."
)
@PAUSE
@NUMBERS
@CROSSINGS
@click.option(
    "--check-rows",
    "check_every_rows",
    type=int,
    default=0,
    help="Every so many rows, tell the carriage's side and how many ends hang.",
)
@click.option(
    "--rest-minutes",
    type=int,
    default=CallSettings.rest_minutes,
    show_default=True,
    help="Minutes until you are told to rest hands and shoulders; 0: never.",
)
@click.option(
    "--signals",
    type=click.Choice(get_args(SignalChoice)),
    default="commands",
    show_default=True,
    help="The sounds without words; all adds the carriage's way in each new row.",
)
@click.option("--stereo", is_flag=True, help="Hear each yarn from where it lies, left to right.")
@click.option("--listen/--no-listen", default=True, help="Listen for spoken commands.")
@click.option(
    "--listen-while-speaking/--no-listen-while-speaking",
    default=False,
    show_default=True,
    help="Hear commands while the caller speaks, too.",
)
@click.option("--large", is_flag=True, help="Draw the needles as large as the terminal allows.")
@click.option("--page", is_flag=True, help="Show the row in the browser, too, in huge type.")
@click.option(
    "--page-on",
    type=click.Choice(get_args(PageOn)),
    default="computer",
    show_default=True,
    help="Who reaches the page: this computer alone, or all in your home's network.",
)
@click.option(
    "--page-open",
    is_flag=True,
    help="Show the page, and open it in this computer's browser.",
)
@listening_options
@LOUDSPEAKER
@voice_options
def knit(
    pattern_path: Path,
    row: int | None,
    place: Path | None,
    listen: bool,
    listen_while_speaking: bool,
    large: bool,
    page: bool,
    page_on: PageOn,
    page_open: bool,
    listening: ListeningSettings,
    loudspeaker: str | None,
    voice: VoiceSettings,
    **wishes: Any,
) -> None:
    """Call the rows, hands-free, from where you left off."""
    from caller.pattern.storage.pattern_file import load
    from caller.wiring import session
    from caller.wiring.page import PageWish

    page = page or page_open
    if page_on != "computer" and not page and _given("page_on"):
        raise SettingError(
            f"--page-on {page_on} says who reaches the page, and there is none", "add --page."
        )
    pattern = load(pattern_path)
    if row is not None:
        pattern.script.row(row)
    call_settings = made_with_kept(CallSettings, wishes)
    session.knit(
        pattern,
        pattern_path,
        call_settings,
        voice,
        dataclasses.replace(listening, listen=listen, listen_while_speaking=listen_while_speaking),
        loudspeaker,
        row,
        place,
        show,
        click.get_current_context().find_root().meta.get(NOTES, ()),
        PageWish(page_on, page_open, show_drawing if sys.stdout.isatty() else None)
        if page
        else None,
        show_drawing if large else None,
    )
