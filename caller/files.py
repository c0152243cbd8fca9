"""Files, whole or not at all, and on the disk.

A function that has returned keeps its promise through a power cut: the content is synced before a
file gets its name, and the folder is synced after, so that the name is kept too. Every change goes
through the calls of `os`, one a step, and `tests/crash_states.py` replays what a disk may hold when
the power is cut between or within them.
"""

import contextlib
import errno
import os
import stat
import sys
from collections.abc import Iterable, Mapping
from pathlib import Path

from caller.errors import BadInputError, CallerError

_USUAL_MODE = 0o666  # less what the umask takes away
_BINARY = getattr(os, "O_BINARY", 0)  # on Windows
_NO_LINK = getattr(os, "O_NOFOLLOW", 0)


def write_whole(path: Path, content: bytes) -> None:
    """Write a file through a temporary one, so that it is never found half-written.

    Raises OSError when it cannot be written, or when a device or the like would be replaced.
    """
    write_all_whole({path: content})


def write_all_whole(contents: Mapping[Path, bytes], mode: int | None = None) -> None:
    """Write several files as `write_whole` does; none is replaced before all are on the disk.

    They get their names in the order given: after a power cut a later file is there only with those
    before it. `mode` is who may read and write them, from their first byte on and whatever the
    umask; None is the system's usual. Raises OSError as `write_whole`; a full disk leaves every
    file as it was.
    """
    for path in contents:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise OSError(errno.EINVAL, "it is not an ordinary file")
    parts = {path: path.with_name(f".{path.name}.part") for path in contents}
    try:
        for path, content in contents.items():
            _write_new(parts[path], content, mode)
        for path, part in parts.items():
            part.replace(path)
            sync_folder(path.parent)
    except BaseException:
        for part in parts.values():
            part.unlink(missing_ok=True)
        raise


def refuse_to_replace(path: Path, replace: bool, error: type[BadInputError]) -> None:
    """Raise the error where there is such a file and `replace` is not given."""
    if path.exists() and not replace:
        raise error(
            f"{path} exists already",
            "add --replace to overwrite it, or choose another name with --output.",
        )


def not_written(path: Path, failure: OSError, error: type[CallerError]) -> CallerError:
    """The error that tells why a file the knitter named cannot be written."""
    return error(f"{path} cannot be written: {failure.strerror}.", "Choose another name or folder.")


def read_whole(path: Path, most: int) -> bytes:
    """The content of an ordinary file of at most so many bytes, however large it claims to be.

    Raises OSError when it cannot be read: with EFBIG where it is larger, and with EINVAL for a
    folder, a device or a pipe, which is not waited for.
    """
    flags = os.O_RDONLY | _BINARY | getattr(os, "O_NONBLOCK", 0)
    descriptor = os.open(path, flags)
    try:
        if not stat.S_ISREG(os.fstat(descriptor).st_mode):
            raise OSError(errno.EINVAL, "it is not an ordinary file")
        content = bytearray()
        while len(content) <= most and (more := os.read(descriptor, most + 1 - len(content))):
            content += more
    finally:
        os.close(descriptor)
    if len(content) > most:
        raise OSError(errno.EFBIG, f"it is larger than {most:,} bytes")
    return bytes(content)


def remove(paths: Iterable[Path]) -> None:
    """Erase these files; OSError when one cannot be erased."""
    folders = set()
    for path in paths:
        path.unlink()
        folders.add(path.parent)
    for folder in folders:
        sync_folder(folder)


def make_folder(folder: Path, mode: int = 0o777) -> None:
    """Make a folder, and those that it lies in, where they are not there yet.

    `mode` is who may use it, less what the umask takes away; the folders that it lies in get the
    system's usual. OSError when it cannot be made.
    """
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(mode, exist_ok=True)
    sync_folder(folder.parent)


def sync_folder(folder: Path) -> None:
    """Put the names in a folder on the disk, where the system can: Windows keeps them by itself."""
    if os.name != "posix":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some network drives have no sync
            raise
    finally:
        os.close(descriptor)


def _write_new(path: Path, content: bytes, mode: int | None) -> None:
    path.unlink(missing_ok=True)  # what a power cut left, or somebody's link to another file
    flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | _BINARY | _NO_LINK
    descriptor = os.open(path, flags, _USUAL_MODE if mode is None else mode)
    try:
        if mode is not None:
            path.chmod(mode)  # the umask may have taken some of it away
        _write(descriptor, content)
        _sync(descriptor)
    finally:
        os.close(descriptor)


def _write(descriptor: int, content: bytes) -> None:
    left = memoryview(content)
    while left:
        left = left[os.write(descriptor, left) :]


def _sync(descriptor: int) -> None:
    if sys.platform == "darwin":  # fsync leaves the content in the drive's cache there
        import fcntl

        with contextlib.suppress(OSError):  # a drive that does not know this
            fcntl.fcntl(descriptor, fcntl.F_FULLFSYNC)
            return
    os.fsync(descriptor)
