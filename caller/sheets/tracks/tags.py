"""What a track says of itself, kept in the tags that every player shows.

Vorbis comments in OGG and FLAC files, ID3 in MP3 and WAV files, both by mutagen.
"""

import io
from dataclasses import dataclass

from caller.errors import SoundError

_MARK = "CALLER_TRACK"


@dataclass(frozen=True)
class TrackTags:
    """A track's number in its album, how many the album has, titles, and the program's own mark."""

    number: int
    total: int
    title: str
    album: str
    mark: str


def tagged(content: bytes, tags: TrackTags) -> bytes:
    """The content of a sound file with these tags, in place of any that it had."""
    import mutagen
    from mutagen import id3

    file = io.BytesIO(content)
    sound = mutagen.File(file)
    if sound is None:
        raise SoundError("This kind of sound file takes no tags", "choose ogg, flac, mp3 or wav.")
    if sound.tags is None:
        sound.add_tags()
    if isinstance(sound.tags, id3.ID3):
        for frame in (
            id3.TRCK(text=[f"{tags.number}/{tags.total}"]),
            id3.TIT2(text=[tags.title]),
            id3.TALB(text=[tags.album]),
            id3.TXXX(desc=_MARK, text=[tags.mark]),
        ):
            sound.tags.add(frame)
    else:
        sound.tags["tracknumber"] = str(tags.number)
        sound.tags["tracktotal"] = str(tags.total)
        sound.tags["title"] = tags.title
        sound.tags["album"] = tags.album
        sound.tags[_MARK] = tags.mark
    file.seek(0)
    sound.save(file)
    return file.getvalue()


def read_mark(content: bytes) -> str | None:
    """The program's mark; empty when there is none, None when this is no whole sound file."""
    import mutagen
    from mutagen import id3

    if content[:4] == b"RIFF" and int.from_bytes(content[4:8], "little") + 8 > len(content):
        return None  # the tags of a WAV file lie at its end, so that half a file has none
    try:
        sound = mutagen.File(io.BytesIO(content))
    except (mutagen.MutagenError, ValueError, EOFError):
        return None
    if sound is None:
        return None
    if isinstance(sound.tags, id3.ID3):
        return "".join(str(frame) for frame in sound.tags.getall(f"TXXX:{_MARK}"))
    return "".join((sound.tags or {}).get(_MARK, []))
