"""Files, written whole or not at all."""

import errno
import os
from collections.abc import Mapping
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file through a temporary one, so that it is never found half-written.

    Raises OSError when it cannot be written, or when a device or the like would be replaced.
    """
    write_all_whole({path: content})


def write_all_whole(contents: Mapping[Path, bytes], mode: int | None = None) -> None:
    """Write several files as `write_whole` does; none is replaced before all are on the disk.

    `mode` is who may read and write them, from their first byte on and whatever the umask; None is
    the system's usual. Raises OSError as `write_whole`; a full disk leaves every file as it was.
    """
    for path in contents:
        if path.exists() and not path.is_file() and not path.is_dir():
            raise OSError(errno.EINVAL, "it is not an ordinary file")
    parts = {path: path.with_name(f".{path.name}.part") for path in contents}
    try:
        for path, content in contents.items():
            if mode is None:
                parts[path].write_bytes(content)
            else:
                _write_private(parts[path], content, mode)
        for path, part in parts.items():
            part.replace(path)
    except BaseException:
        for part in parts.values():
            part.unlink(missing_ok=True)
        raise


def _write_private(path: Path, content: bytes, mode: int) -> None:
    path.unlink(missing_ok=True)  # one that a power cut left may be open to others
    with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, mode), "wb") as file:
        path.chmod(mode)  # the umask may have taken some of it away
        file.write(content)
