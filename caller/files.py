"""Files, written whole or not at all."""

import errno
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file through a temporary one, so that it is never found half-written.

    Raises OSError when it cannot be written, or when a device or the like would be replaced.
    """
    if path.exists() and not path.is_file() and not path.is_dir():
        raise OSError(errno.EINVAL, "it is not an ordinary file")
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
