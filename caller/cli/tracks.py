"""The call to take along: tracks for any player, and the script to read."""

from pathlib import Path
from typing import Any, get_args

import click

from caller.cli.base import (
    CROSSINGS,
    FILE,
    NUMBERS,
    PATTERN,
    PAUSE,
    WORDING,
    made_with_kept,
    main,
    voice_options,
)
from caller.cli.screen import progress, show, tell
from caller.settings import CallSettings, SoundFormat, VoiceSettings


@main.command()
@PATTERN
@click.option("-o", "--output", "folder", type=FILE, required=True, help="The folder to write in.")
@click.option("--rows", "row_range", help="Rows to write, like 12-40; otherwise all.")
@click.option(
    "--format",
    "ending",
    type=click.Choice(get_args(SoundFormat)),
    default="ogg",
    show_default=True,
)
@WORDING
@NUMBERS
@PAUSE
@CROSSINGS
@voice_options
def tracks(
    pattern_path: Path,
    folder: Path,
    row_range: str | None,
    ending: SoundFormat,
    voice: VoiceSettings,
    **wishes: Any,
) -> None:
    """Write a sound file for every row and a playlist, for a phone or any other player.

    The whole script to read is written beside them: a page for screen readers and large print.
    """
    from caller.pattern.storage.pattern_file import load
    from caller.sheets.file_names import stem
    from caller.sheets.scripts.reading import write_reading
    from caller.sheets.tracks.tracks import parse_rows, write_tracks
    from caller.wiring.voices import open_chosen

    pattern = load(pattern_path)
    rows = None if row_range is None else parse_rows(row_range, pattern.script.rows)
    speaker, choice = open_chosen(voice, tell)
    count = pattern.script.rows if rows is None else rows[1] - rows[0] + 1
    try:
        with progress(count, "Speaking") as bar:
            made = write_tracks(
                pattern,
                folder,
                speaker,
                choice.settings,
                rows,
                ending,
                lambda _track: bar.update(1),
                made_with_kept(CallSettings, wishes),
                pattern_path,
            )
    finally:
        speaker.close()
    for path in made.outdated:
        show(f"Take note: {path} is of another version, and not in the playlist.")
    if made.playlist.stem != stem(pattern.title):
        show(
            f"Take note: another pattern of this title has its tracks in {folder}; the names of "
            f"these begin with {made.playlist.stem}."
        )
    sounds = {track.row: track.path.name for track in made.tracks}
    for kind in (".html", ".txt"):
        write_reading(pattern, made.playlist.with_suffix(kind), sounds)
    new = sum(track.new for track in made.tracks)
    show(f"{new} tracks written, {len(made.tracks)} in the playlist {made.playlist}.")
