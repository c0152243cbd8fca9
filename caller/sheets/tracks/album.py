"""What the tracks of one pattern are called, so that two patterns never share any."""

import hashlib
import os
import re
from dataclasses import dataclass
from itertools import chain, count
from pathlib import Path

from caller.devices.sound.sound_files import FORMATS
from caller.sheets.file_names import stem
from caller.sheets.tracks.tags import read_mark


@dataclass(frozen=True)
class Album:
    """The title that players show, what every file's name begins with, and whose they are.

    `owner` is a sign for the file that the pattern came from; it stands in the mark of each track,
    after what the track was made from.
    """

    title: str
    stem: str
    owner: str


def album_for(title: str, folder: Path, origin: Path | None) -> Album:
    """The album of a pattern that came from the file `origin`.

    Where tracks of another file already have the name in the folder, a number is added to it. A
    pattern file that is changed keeps its album, and so does one that is moved with the folder.
    """
    owner = _owner(origin, folder)
    first = Album(title, stem(title), owner)
    others = (Album(f"{title} ({n})", f"{first.stem}-{n}", owner) for n in count(2))
    return next(
        album for album in chain((first,), others) if _owner_of(album.stem, folder) in (owner, None)
    )


def _owner(origin: Path | None, folder: Path) -> str:
    if origin is None:
        return "0" * 8
    try:
        where = os.path.relpath(origin.resolve(), folder.resolve())
    except ValueError:  # on another drive
        where = str(origin.resolve())
    return hashlib.sha256(where.encode("utf-8", "replace")).hexdigest()[:8]


def _owner_of(name: str, folder: Path) -> str | None:
    """Whose tracks have this name in the folder; None when nobody's."""
    track = re.compile(rf"{re.escape(name)}-[0-9]+\.({'|'.join(FORMATS)})")
    try:
        for path in sorted(path for path in folder.iterdir() if track.fullmatch(path.name)):
            mark = (read_mark(path.read_bytes()) or "").split()
            if len(mark) == 3:
                return mark[1]
    except OSError:
        return None  # what is wrong with the folder is told where it is written into
    return None
