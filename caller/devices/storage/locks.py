"""One session at a time: a lock between processes, which ends with the process that holds it."""

import hashlib
from pathlib import Path

from caller.files import make_folder


class Lock:
    """A lock in `folder` for what is at this resolved path. OSError where none can be made."""

    def __init__(self, folder: Path, path: Path) -> None:
        from filelock import FileLock

        make_folder(folder.parent, 0o700)
        make_folder(folder, 0o700)
        name = hashlib.sha256(str(path).encode(errors="surrogateescape")).hexdigest()[:24]
        self._lock = FileLock(folder / f"{name}.lock")

    def take(self) -> bool:
        """Whether it is held now; another session may have it."""
        from filelock import Timeout

        try:
            self._lock.acquire(blocking=False)
        except Timeout:
            return False
        return True

    def release(self) -> None:
        """Let go of it; harmless when done twice."""
        self._lock.release()
