"""A disk that is full: a small file system in memory, or a process that may write no further.

Mounting needs root; the limit needs Linux only, and is one for each file (`setrlimit(2)`: a write
beyond RLIMIT_FSIZE fails with EFBIG).
"""

import contextlib
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SIZE = 512 * 1024
PAGE = 4096


class SmallDisk:
    """A file system of SIZE at `folder`; the process that writes there is not asked."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._filler = folder / "filler"

    def fill(self, but: int = 0) -> None:
        """Fill it but for so many bytes."""
        self.free()
        left = shutil.disk_usage(self.folder).free - but
        with contextlib.suppress(OSError), self._filler.open("wb") as file:
            file.write(b"x" * max(0, left))

    def free(self) -> None:
        self._filler.unlink(missing_ok=True)


class Limit:
    """A process whose files grow no further than so many bytes."""

    def __init__(self, pid: int) -> None:
        self._pid = pid

    def fill(self, but: int = 0) -> None:
        self._set(but)

    def free(self) -> None:
        import resource

        self._set(resource.RLIM_INFINITY)

    def _set(self, most: int) -> None:
        import resource

        with contextlib.suppress(ProcessLookupError):  # it has ended
            _, hard = resource.prlimit(self._pid, resource.RLIMIT_FSIZE)
            resource.prlimit(self._pid, resource.RLIMIT_FSIZE, (most, hard))


def why_no_limit() -> str | None:
    return None if sys.platform == "linux" else "needs prlimit(2) of Linux"


def why_no_disk() -> str | None:
    """Why no file system can be mounted here; None where it can."""
    if sys.platform != "linux" or os.geteuid() != 0:
        return "mounting a file system in memory needs root on Linux"
    with tempfile.TemporaryDirectory() as name:
        if _mount(Path(name)).returncode:
            return "no file system may be mounted here"
        _unmount(Path(name))
    return None


@contextmanager
def small_disk() -> Iterator[SmallDisk]:
    with tempfile.TemporaryDirectory(prefix="caller-disk-") as name:
        assert _mount(Path(name)).returncode == 0
        try:
            yield SmallDisk(Path(name))
        finally:
            _unmount(Path(name))


def _mount(folder: Path) -> subprocess.CompletedProcess[bytes]:
    how = ("mount", "-t", "tmpfs", "-o", f"size={SIZE}", "none", str(folder))
    return subprocess.run(how, capture_output=True, check=False)


def _unmount(folder: Path) -> None:
    subprocess.run(("umount", "-l", str(folder)), check=False, capture_output=True)
