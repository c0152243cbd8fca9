"""Sound files, in and out."""

import io
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import numpy as np

from caller.calling.ports import SoundBlock
from caller.devices.sound.resample import resampled
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import SettingError, SoundError
from caller.files import not_written, write_whole
from caller.settings import SoundFormat

FORMATS: dict[SoundFormat, tuple[str, str]] = {
    "ogg": ("OGG", "VORBIS"),
    "flac": ("FLAC", "PCM_16"),
    "mp3": ("MP3", "MPEG_LAYER_III"),
    "wav": ("WAV", "PCM_16"),
}
"""The kinds of sound file that can be written, by the ending of their names."""

_AT_ONCE = 65_536  # samples; libsndfile crashes when it gets minutes of sound for Vorbis at once

LONGEST_S = 600.0
"""Of sound that is read as a whole: takes, and texts that a voice has spoken."""
SLOWEST_RATE, FASTEST_RATE = 4_000, 384_000
"""Samples a second. A file that claims a lower rate would grow without end when it is brought to
16,000."""
_READ_AT_ONCE = 1 << 18  # samples of all channels

Progress = Callable[[int, int], None]
"""Takes how many samples have been taken, and how many there are."""


def read_sound(path: Path, longest_s: float = LONGEST_S) -> SoundBlock:
    """A sound file of any kind, rate and number of channels, mixed to mono.

    Raises SoundError when it is missing, no sound, empty, or longer than `longest_s`.
    """
    blocks: list[SoundBlock] = []
    seconds = 0.0
    for block in sound_blocks(path):
        blocks.append(block)
        seconds += block.seconds
        if seconds > longest_s:
            raise SoundError(
                f"The sound file {path} is longer than {longest_s / 60:g} minutes",
                "cut out the part that is wanted.",
            )
    return SoundBlock(np.concatenate([block.samples for block in blocks]), blocks[0].rate)


def sound_blocks(path: Path, progress: Progress | None = None) -> Iterator[SoundBlock]:
    """The same, piece by piece, however long it is; never empty. Raises as `read_sound`.

    `progress` is told of each piece when the next one is asked for.
    """
    import soundfile

    if not path.is_file():
        raise SoundError(f"There is no sound file {path}", "check the name.")
    empty = True
    try:
        # Silenced, for the decoder of MP3 complains.
        with stderr_silenced(), soundfile.SoundFile(str(path)) as file:
            if not SLOWEST_RATE <= file.samplerate <= FASTEST_RATE:
                raise SoundError(
                    f"{path} claims to have {file.samplerate} samples a second",
                    f"{SLOWEST_RATE} to {FASTEST_RATE} can be heard; a WAV file will do.",
                )
            frames = max(1, _READ_AT_ONCE // file.channels)
            while len(samples := file.read(frames, dtype="float32", always_2d=True)):
                empty = False
                yield _mono(samples, file.samplerate)
                if progress is not None:
                    progress(file.tell(), file.frames)
    # TypeError: a file whose name ends in .raw is asked for its rate.
    except (soundfile.SoundFileError, OSError, ValueError, TypeError, MemoryError):
        raise SoundError(
            f"{path} is not a sound file that can be read", "a WAV file will do."
        ) from None
    if empty:
        raise SoundError(f"The sound file {path} is empty.", "Choose another one.")


def decode(content: bytes) -> SoundBlock:
    """The sound in a file's content, mixed to mono; SoundError when it is damaged or no sound."""
    import soundfile

    try:
        with stderr_silenced():  # the decoder of MP3 complains there about files cut short
            samples, rate = soundfile.read(io.BytesIO(content), dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, OSError, ValueError, MemoryError):
        raise SoundError("This is not sound that can be read.", "A WAV file will do.") from None
    return _mono(samples, rate)


def encode(block: SoundBlock, ending: str) -> bytes:
    """The content of a sound file of the kind with this ending, one of `FORMATS`.

    Raises SettingError for another ending, SoundError when this kind cannot be made here.
    """
    import soundfile

    if ending not in FORMATS:
        raise SettingError(
            f"Sound files of the kind {ending!r} cannot be written", f"choose {', '.join(FORMATS)}."
        )
    kind, coding = FORMATS[ending]
    content = io.BytesIO()
    try:
        with soundfile.SoundFile(content, "w", block.rate, 1, coding, format=kind) as file:
            for start in range(0, len(block.samples), _AT_ONCE):
                file.write(block.samples[start : start + _AT_ONCE])
    except (soundfile.SoundFileError, ValueError):  # an older libsndfile has no MP3
        raise SoundError(
            f"The sound library of this computer cannot write {ending} files", "choose wav or flac."
        ) from None
    return content.getvalue()


def _mono(samples: Any, rate: int) -> SoundBlock:
    mono = np.clip(np.nan_to_num(samples), -1, 1).mean(axis=1) if len(samples) else np.zeros(0)
    return SoundBlock(np.minimum(np.rint(mono * 32768), 32767).astype(np.int16), int(rate))


def write_wav(path: Path, blocks: Iterable[SoundBlock]) -> None:
    """Write blocks of sound to a 16-bit WAV file, whole or not at all.

    The first block's rate is the file's. Raises SoundError when there is nothing to write or the
    file cannot be written.
    """
    pieces = list(blocks)
    if not pieces:
        raise SoundError("There is nothing to say, so no sound was written.")
    rate = pieces[0].rate
    samples = np.concatenate([resampled(piece.samples, piece.rate, rate) for piece in pieces])
    try:
        write_whole(path, encode(SoundBlock(samples, rate), "wav"))
    except OSError as error:
        raise not_written(path, error, SoundError) from None
