"""The call to take along: one sound file a row for any player, with tags and a playlist.

Every file is whole or not there. What it was made from stands in a tag, together with a checksum
of its sound, so that a second run makes only what is missing, damaged or no longer right.
"""

import hashlib
import re
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from caller.calling.ports import SoundBlock, Voice
from caller.calling.speech import spoken
from caller.calling.words.clauses import way
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import Utterance
from caller.devices.sound.sound_files import FORMATS, decode, encode
from caller.errors import SettingError, SoundError
from caller.files import write_whole
from caller.pattern.pattern import Pattern
from caller.plain_text import plain
from caller.settings import CallSettings, VoiceSettings
from caller.sheets.tracks.album import Album, album_for
from caller.sheets.tracks.loudness import PEAK_DBTP, TARGET_LUFS, levelled
from caller.sheets.tracks.tags import TrackTags, read_mark, tagged

_MADE_SO = 2  # raised when tracks are made in another way, so that old ones are made again
_CODING_DB = {"ogg": 1.0, "mp3": 1.0}  # lossy coding raises peaks: by up to 0.6 dB (measured)
_ROWS = re.compile(r"([0-9]{1,6})(?:\s*[-–]\s*([0-9]{1,6}))?")


@dataclass(frozen=True)
class Track:
    """A track that is there: its row, title, file and length, and whether it was made just now."""

    row: int
    title: str
    path: Path
    seconds: float
    new: bool


@dataclass(frozen=True)
class Tracks:
    """The playlist and what it lists.

    `outdated` are files of this name that stand in the folder but are damaged, or were made from
    another version of the pattern or with another voice; the playlist leaves them out.
    """

    playlist: Path
    tracks: tuple[Track, ...]
    outdated: tuple[Path, ...]


def parse_rows(text: str, rows: int) -> tuple[int, int]:
    """The first and last row of "12-40", or of "12" alone; SettingError for anything else."""
    found = _ROWS.fullmatch(text.strip())
    if found is None:
        raise SettingError(
            f"{plain(text)[:20]!r} does not name rows", "write one like 12, or several like 12-40."
        )
    return _within(int(found[1]), int(found[2] or found[1]), rows)


def write_tracks(
    pattern: Pattern,
    folder: Path,
    voice: Voice,
    settings: VoiceSettings,
    rows: tuple[int, int] | None = None,
    ending: str = "ogg",
    progress: Callable[[Track], None] | None = None,
    calls: CallSettings | None = None,
    origin: Path | None = None,
) -> Tracks:
    """Write a track of every row, or from the first to the last of `rows`, and the playlist.

    The files are named by the pattern's title; where those of another pattern, which came from
    another file than `origin`, have that name in the folder, a number is added to it.

    Tracks are levelled to -16 LUFS. `ending` is one of sound_files.FORMATS; `settings` are those
    of the voice, `calls` how the rows are called. A track that is there and right is kept;
    `progress` hears of each, kept or new. However the work ends, the playlist lists every right
    track of the pattern in the folder.

    Raises SettingError for rows, an ending or a folder that cannot be used, SoundError when
    something cannot be written, and what the voice raises.
    """
    total = pattern.script.rows
    first, last = _within(*(rows or (1, total)), total)
    if ending not in FORMATS:
        raise SettingError(
            f"Tracks of the kind {ending!r} cannot be written", f"choose {', '.join(FORMATS)}."
        )
    calls = calls or CallSettings()
    album = album_for(pattern.title, folder, origin)
    wanted = [
        _wanted(pattern, row, folder, album, settings, calls, ending) for row in range(1, total + 1)
    ]
    chosen = wanted[first - 1 : last]
    playlist = folder / f"{album.stem}.m3u8"
    _prepare(folder, album.stem)
    states = {want.row: _state(want) for want in wanted}
    _refuse_strangers(want.path for want in chosen if states[want.row] == "strange")
    there = {row: state for row, state in states.items() if isinstance(state, Track)}
    # Room is kept for the playlist, so that it can be written when the disk is full.
    room = playlist.with_name(f".{playlist.name}.room")
    try:
        room.write_bytes(bytes(80 * total + _bytes_of_names(wanted)))
        for want in chosen:
            if want.row not in there:
                there[want.row] = _made(want, voice)
            if progress is not None:
                progress(there[want.row])
    except OSError as error:
        done = sum(want.row in there for want in chosen)
        raise SoundError(
            f"Nothing more can be written into {folder}: {error.strerror}. {done} of "
            f"{len(chosen)} tracks are there, whole and in the playlist",
            "make room, then give the same command again, and it carries on.",
        ) from None
    finally:
        listed = tuple(there[row] for row in sorted(there))
        _write_playlist(playlist, room, album.title, listed)
    outdated = (w.path for w in wanted if states[w.row] == "outdated" and w.row not in there)
    return Tracks(playlist, listed, tuple(outdated))


@dataclass(frozen=True)
class _Wanted:
    """A track as it should be; the mark in its tags has no checksum yet."""

    row: int
    path: Path
    call: Utterance
    tags: TrackTags

    @property
    def ending(self) -> str:
        return self.path.suffix[1:]

    def mark(self, content: bytes) -> str:
        """The whole mark of a file: what it was made from, and the sound that is heard of it."""
        return f"{self.tags.mark} {zlib.crc32(decode(content).samples.tobytes()):08x}"


def _wanted(
    pattern: Pattern,
    number: int,
    folder: Path,
    album: Album,
    settings: VoiceSettings,
    calls: CallSettings,
    ending: str,
) -> _Wanted:
    row, total = pattern.script.row(number), pattern.script.rows
    call = row_call(pattern, row, calls)
    title = f"Row {number}, {way(row.direction)}"
    # A voice is known by its file's name alone: the folder may be moved.
    voice = replace(settings, file=settings.file and Path(settings.file.name))
    made_from = (_MADE_SO, call, total, title, album.title, voice, TARGET_LUFS, PEAK_DBTP)
    mark = hashlib.sha256(repr(made_from).encode("utf-8", "replace")).hexdigest()[:32]
    digits = max(3, len(str(total)))
    path = folder / f"{album.stem}-{number:0{digits}}.{ending}"
    tags = TrackTags(number, total, title, album.title, f"{mark} {album.owner}")
    return _Wanted(number, path, call, tags)


def _prepare(folder: Path, name: str) -> None:
    """Make the folder and clear away what an interrupted run left half-written."""
    half = re.compile(rf"\.{re.escape(name)}(-[0-9]+)?\.[a-z0-9]+\.(part|room)")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path in folder.iterdir():
            if half.fullmatch(path.name):
                path.unlink()
    except OSError as error:
        raise SettingError(
            f"The folder {folder} cannot be used: {error.strerror}.", "Choose another one."
        ) from None


def _state(want: _Wanted) -> Track | Literal["missing", "outdated", "strange"]:
    """What stands at the track's place; "strange" is sound that the program did not make."""
    if not want.path.exists():
        return "missing"
    try:
        content = want.path.read_bytes()
    except OSError:
        return "strange"
    mark = read_mark(content)
    if mark is None:
        return "outdated"
    if not mark:
        return "strange"
    try:
        if mark != want.mark(content):
            return "outdated"
        return _track(want, decode(content), new=False)
    except SoundError:
        return "outdated"


def _refuse_strangers(paths: Iterable[Path]) -> None:
    for path in paths:
        raise SettingError(
            f"{path} is in the way and is no track of this program",
            "move it, or choose another folder.",
        )


def _made(want: _Wanted, voice: Voice) -> Track:
    pieces = [block.samples for block in spoken(voice, want.call)]
    sound = SoundBlock(np.concatenate(pieces), voice.rate)
    peak_dbtp = PEAK_DBTP - _CODING_DB.get(want.ending, 0.0)
    content = encode(levelled(sound, peak_dbtp=peak_dbtp), want.ending)
    tags = replace(want.tags, mark=want.mark(content))
    write_whole(want.path, tagged(content, tags))
    return _track(want, sound, new=True)


def _track(want: _Wanted, sound: SoundBlock, new: bool) -> Track:
    return Track(want.row, want.tags.title, want.path, sound.seconds, new)


def _bytes_of_names(wanted: list[_Wanted]) -> int:
    return sum(len(f"{want.tags.title}{want.path.name}".encode()) for want in wanted)


def _write_playlist(path: Path, room: Path, title: str, tracks: tuple[Track, ...]) -> None:
    """Write the playlist (M3U, in UTF-8) of these tracks in the room that was kept for it."""
    lines = ["#EXTM3U", f"#PLAYLIST:{title}"]
    for track in tracks:
        lines += [f"#EXTINF:{max(1, round(track.seconds))},{track.title}", track.path.name]
    content = "\n".join([*lines, ""]).encode("utf-8", "replace")
    try:
        room.unlink(missing_ok=True)
        if not (path.is_file() and path.read_bytes() == content):  # a full disk has no room for it
            write_whole(path, content)
    except OSError as error:
        raise SoundError(
            f"The playlist {path} cannot be written: {error.strerror}. The tracks are there",
            "make room, then give the same command again.",
        ) from None


def _within(first: int, last: int, rows: int) -> tuple[int, int]:
    if first > last:
        raise SettingError(f"Rows {first}-{last} run backwards", f"write {last}-{first}.")
    if first < 1 or last > rows:
        asked = f"There is no row {first}" if first == last else f"Rows {first}-{last} are not all"
        raise SettingError(f"{asked} in this pattern", f"its rows are 1 to {rows}.")
    return first, last
