"""The knitter's own takes of each command, kept where only they can read them.

own-voice/next/take-1.wav    16,000 samples a second, 16 bits, mono
own-voice/next/take-2.wav
...
"""

import contextlib
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import Command
from caller.calling.enrolment.takes import ENOUGH
from caller.calling.listening.blocks import RATE
from caller.calling.ports import SoundBlock
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import encode, read_sound
from caller.errors import ListeningError, SoundError
from caller.files import make_folder, remove, write_all_whole

ENVIRONMENT = "CALLER_OWN_VOICE"
"""Names another folder, where several knitters share one computer's user."""

LARGEST_FILE = 2_000_000
_FOLDER_MODE, _FILE_MODE = 0o700, 0o600

Takes = dict[str, list[NDArray[np.int16]]]
"""By command name, its takes: int16, mono, 16,000 samples a second."""


@dataclass(frozen=True)
class KeptTakes:
    """What the store holds: `takes`, and a sentence for each file that cannot be read."""

    takes: Takes
    troubles: tuple[ListeningError, ...] = ()

    @property
    def taught(self) -> Takes:
        """The commands with takes enough to be listened for."""
        return {name: takes for name, takes in self.takes.items() if len(takes) >= ENOUGH}


def store_folder() -> Path:
    """Where the takes are: named by CALLER_OWN_VOICE, else in the user's folder for data."""
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    import platformdirs

    return platformdirs.user_data_path("caller") / "own-voice"


def kept() -> KeptTakes:
    """Read every take; what cannot be read is told in `troubles` and does not stop the others."""
    takes: Takes = {}
    troubles: list[ListeningError] = []
    for command in Command:
        try:
            files = list(_files(command))
        except OSError:
            troubles.append(_damaged(command, store_folder() / command.value))
            continue
        for path in files:
            try:
                takes.setdefault(command.value, []).append(_read(path))
            except (OSError, SoundError):
                troubles.append(_damaged(command, path))
    return KeptTakes(takes, tuple(troubles))


def _damaged(command: Command, path: Path) -> ListeningError:
    return ListeningError(
        f"Your take for {command.value} in {path} cannot be read",
        f"teach that command again with: row-caller teach --commands {command.value}",
    )


def keep(command: Command, takes: Sequence[NDArray[np.int16]]) -> None:
    """Keep these takes as all that there are of this command.

    ListeningError when they cannot be; what was kept before is then kept still.
    """
    folder = store_folder() / command.value
    files = {
        folder / f"take-{number}.wav": encode(SoundBlock(take, RATE), "wav")
        for number, take in enumerate(takes, 1)
    }
    try:
        for private in (folder.parent, folder):
            ours = private == folder or not private.exists() or not os.environ.get(ENVIRONMENT)
            make_folder(private, _FOLDER_MODE)
            if ours:  # a folder that the knitter named may be others' too
                private.chmod(_FOLDER_MODE)
        write_all_whole(files, _FILE_MODE)
        remove([path for path in _files(command) if path not in files])
        for other in Command:
            for path in _files(other):
                path.chmod(_FILE_MODE)
    except OSError as error:
        raise ListeningError(
            f"Your takes cannot be kept in {folder}: {error.strerror}.",
            f"Make room there, or name another folder in {ENVIRONMENT}.",
        ) from None


def commands_kept() -> tuple[Command, ...]:
    """The commands that have takes, whether or not they can be read."""
    return tuple(command for command in Command if any(_files(command)))


def forget(command: Command | None = None) -> tuple[Command, ...]:
    """Erase the takes of a command, or all of them; the commands that had any.

    Nothing else in the folder is touched. ListeningError when a take cannot be erased.
    """
    forgotten = []
    for each in Command if command is None else (command,):
        folder = store_folder() / each.value
        try:
            files = list(_files(each))
            remove([*files, *folder.glob(".take-*.wav.part")])
        except OSError as error:
            raise ListeningError(
                f"The takes in {folder} cannot be erased: {error.strerror}.",
                "Erase that folder yourself.",
            ) from None
        if files:
            forgotten.append(each)
        with contextlib.suppress(OSError):  # it holds something else, or was never there
            folder.rmdir()
    return tuple(forgotten)


def _files(command: Command) -> Iterator[Path]:
    folder = store_folder() / command.value
    if folder.is_dir():
        yield from sorted(path for path in folder.iterdir() if path.match("take-[1-9].wav"))


def _read(path: Path) -> NDArray[np.int16]:
    if path.stat().st_size > LARGEST_FILE:
        raise SoundError(f"{path} is too large to be a take", "delete it.")
    sound = read_sound(path)
    return resampled(sound.samples, sound.rate, RATE)
