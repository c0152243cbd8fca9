"""Files, written whole or not at all."""

from pathlib import Path


def write_whole(path: Path, content: bytes) -> None:
    """Write a file through a temporary one, so that it is never found half-written."""
    part = path.with_name(f".{path.name}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    except BaseException:
        part.unlink(missing_ok=True)
        raise
