"""Sound files, in and out."""

import io
from collections.abc import Iterable
from pathlib import Path

import numpy as np

from caller.calling.ports import SoundBlock
from caller.devices.resample import resampled
from caller.errors import SoundError
from caller.files import write_whole


def read_sound(path: Path) -> SoundBlock:
    """A sound file of any kind, rate and number of channels, mixed to mono.

    Raises SoundError when it is missing, no sound, or empty.
    """
    import soundfile

    if not path.is_file():
        raise SoundError(f"There is no sound file {path}; check the name.")
    try:
        samples, rate = soundfile.read(str(path), dtype="float32", always_2d=True)
    except (soundfile.SoundFileError, OSError, ValueError, MemoryError):
        raise SoundError(
            f"{path} is not a sound file that can be read; a WAV file will do."
        ) from None
    if len(samples) == 0:
        raise SoundError(f"The sound file {path} is empty.")
    mono = np.nan_to_num(samples.mean(axis=1))
    return SoundBlock((np.clip(mono, -1, 1) * 32767).astype(np.int16), int(rate))


def write_wav(path: Path, blocks: Iterable[SoundBlock]) -> None:
    """Write blocks of sound to a 16-bit WAV file, whole or not at all.

    The first block's rate is the file's. Raises SoundError when there is nothing to write or the
    file cannot be written.
    """
    import soundfile

    pieces = list(blocks)
    if not pieces:
        raise SoundError("There is nothing to say, so no sound was written.")
    rate = pieces[0].rate
    samples = np.concatenate([resampled(piece.samples, piece.rate, rate) for piece in pieces])
    encoded = io.BytesIO()
    soundfile.write(encoded, samples, rate, format="WAV", subtype="PCM_16")
    try:
        write_whole(path, encoded.getvalue())
    except OSError as error:
        raise SoundError(f"{path} cannot be written: {error.strerror}.") from None
