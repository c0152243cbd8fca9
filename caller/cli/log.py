"""The diary of a work: its sittings, the time a row takes, and when it is finished."""

from io import BytesIO
from pathlib import Path

import click

from caller.cli.base import AS_JSON, FILE, LOUDSPEAKER, PATTERN, main, voice_options
from caller.cli.screen import show, show_json, tell
from caller.errors import SettingError
from caller.files import write_whole
from caller.settings import VoiceSettings


@main.command()
@PATTERN
@click.option("--place", type=FILE, help="The file the place is kept in, if not beside PATTERN.")
@AS_JSON
@click.option("--csv", "as_csv", is_flag=True, help="Print a table of the rows that were knitted.")
@click.option("--png", type=FILE, help="Draw the time that each row took into this new picture.")
@click.option("--replace", is_flag=True, help="Overwrite the picture if it exists.")
@click.option("--aloud", is_flag=True, help="Say it too.")
@LOUDSPEAKER
@voice_options
def log(
    pattern_path: Path,
    place: Path | None,
    as_json: bool,
    as_csv: bool,
    png: Path | None,
    replace: bool,
    aloud: bool,
    loudspeaker: str | None,
    voice: VoiceSettings,
) -> None:
    """Tell the sittings, the time a row takes, what was unravelled, and when it is finished."""
    from caller.calling.words.utterance import shown
    from caller.pattern.storage.pattern_file import load
    from caller.sheets import diary_sheet
    from caller.sheets.pictures.row_times import row_times_picture
    from caller.wiring import voices
    from caller.wiring.diary import read_diary

    if as_json and as_csv:
        raise SettingError("A log is JSON or a table", "leave --json or --csv away.")
    if png is not None and png.suffix.lower() != ".png":
        raise SettingError("The picture is a PNG file", f"write --png {png.stem}.png.")
    if png is not None and png.exists() and not replace:
        raise SettingError(
            f"{png} exists already", "add --replace to overwrite it, or choose another name."
        )
    pattern = load(pattern_path)
    diary = read_diary(pattern_path, place)
    if png is not None:
        drawn = BytesIO()
        row_times_picture(pattern, diary).save(drawn, "PNG")
        write_whole(png, drawn.getvalue())
        tell(f"Written: {png}")
    lines = list(diary_sheet.as_utterances(pattern, diary))
    if as_json:
        show_json(diary_sheet.as_json(pattern, diary))
    elif as_csv:
        for row in diary_sheet.as_csv(diary).splitlines():
            show(row, whole=True)
    else:
        for line in lines:
            show(shown(line))
    if aloud:
        told = tuple(clause for line in lines for clause in line)
        voices.say(told, voice, tell, loudspeaker)
