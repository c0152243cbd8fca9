"""Files, written whole or not at all."""

import errno
from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file through a temporary one, so that it is never found half-written.

    Raises OSError when it cannot be written, or when something other than a file is in its place.
    """
    if path.exists() and not path.is_file():
        raise OSError(errno.EINVAL, "something that is not a file has this name")
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
