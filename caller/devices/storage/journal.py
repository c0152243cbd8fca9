"""The place in the work, kept in a file beside the pattern.

One line of JSON a move, appended and on the disk before anything is said. A line torn by a power
cut is passed over, so the place is then the one before it. Nothing is ever erased: the file is
also the diary of the work.
"""

import json
import os
import zlib
from datetime import datetime
from pathlib import Path

from caller.calling.place import Place
from caller.errors import PlaceError
from caller.files import append, write_whole
from caller.pattern.pattern import Pattern


def place_file(pattern_path: Path) -> Path:
    """Where the place of a pattern is kept unless the knitter says otherwise."""
    if pattern_path.suffix.lower() == ".toml":
        return pattern_path.with_suffix(".place")
    return pattern_path.with_name(f"{pattern_path.name}.place")  # a picture may have its namesake


class FileJournal:
    """Fulfils `Journal` with a file. One session at a time holds it.

    Raises PlaceError when another session holds it, the folder cannot be written, or the file is
    something else, which a place must not be written into.
    """

    def __init__(self, path: Path, pattern: Pattern) -> None:
        from filelock import FileLock, Timeout

        self._path = path
        self._rows = pattern.script.rows
        self._chart = f"{zlib.crc32(pattern.chart.cells.tobytes()):08x}"
        if not path.parent.is_dir():
            raise PlaceError(
                f"There is no folder {path.parent} to keep the place in",
                "choose another file with --place.",
            )
        if path.suffix != ".place" and path.exists() and not _has_a_place(path):
            raise PlaceError(
                f"{path} is another kind of file, and the place is not written into it",
                "choose a name that ends in .place.",
            )
        self._lock = FileLock(f"{path}.lock")
        try:
            self._lock.acquire(blocking=False)
        except Timeout:
            raise PlaceError(
                f"Another session is calling from {path} already", "leave that one first."
            ) from None
        except OSError as error:
            raise PlaceError(
                f"The place cannot be kept in {path}: {error.strerror}.",
                "Choose another file with --place.",
            ) from None

    def read(self) -> Place | None:
        try:
            lines = _lines(self._path)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise PlaceError(
                f"The place in {self._path} cannot be read: {error.strerror}.",
                "Choose another file with --place.",
            ) from None
        for line in reversed(lines):
            entry = _entry(line)
            if entry is not None:
                return self._checked(*entry)
        raise PlaceError(
            f"{self._path} holds no place that can be read.",
            "Say where you are with --row, and it will be kept again from there.",
        )

    def _checked(self, place: Place, rows: int, chart: str) -> Place:
        if (rows, chart) != (self._rows, self._chart):
            raise PlaceError(
                f"The chart has changed since row {place.row} of {rows} was called (kept in "
                f"{self._path}).",
                "Say where you are in the new chart with --row.",
            )
        return place

    def write(self, place: Place) -> None:
        self._add({"row": place.row, "run": place.run}, place.row)

    def marked(self) -> frozenset[int]:
        try:
            lines = _lines(self._path)
        except OSError:
            return frozenset()  # what is wrong with the file is told by `read`
        rows: set[int] = set()
        for line in lines:
            entry = _mark(line)
            if entry is not None and entry[2:] == (self._rows, self._chart):
                (rows.add if entry[1] else rows.discard)(entry[0])
        return frozenset(rows)

    def mark(self, row: int, marked: bool) -> None:
        self._add({"mark": row, "marked": marked}, row)

    def _add(self, entry: dict[str, int | bool], row: int) -> None:
        """Add a line: what is kept, the chart that it is of, and the time."""
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        whole = {**entry, "rows": self._rows, "chart": self._chart, "at": now}
        line = json.dumps(whole).encode() + b"\n"
        try:
            if not self._path.exists():
                write_whole(self._path, line)  # so it is never found empty
            else:
                append(self._path, line if self._ends_whole() else b"\n" + line)
        except OSError as error:
            raise PlaceError(
                f"Row {row} could not be kept in {self._path}: {error.strerror}.",
                "The place before it is still kept.",
            ) from None

    def _ends_whole(self) -> bool:
        """Whether the last line is whole; a power cut may have torn it."""
        with self._path.open("rb") as file:
            if file.seek(0, os.SEEK_END) == 0:
                return True
            file.seek(-1, os.SEEK_END)
            return file.read(1) == b"\n"

    def close(self) -> None:
        self._lock.release()


def _has_a_place(path: Path) -> bool:
    try:
        return any(_entry(line) is not None for line in _lines(path))
    except OSError:
        return False


def _lines(path: Path) -> list[bytes]:
    """A power cut may leave zeros where something was about to be written, within a line too."""
    return path.read_bytes().replace(b"\0", b"\n").splitlines()


def _entry(line: bytes) -> tuple[Place, int, str] | None:
    """Place, rows and chart of one line; None for a line that was torn or is not ours."""
    try:
        entry = json.loads(line)
        row, rows, chart = entry["row"], entry["rows"], entry["chart"]
        run = entry.get("run", 0)  # older lines know whole rows only
    except (ValueError, KeyError, TypeError):
        return None
    whole = all(type(number) is int for number in (row, run, rows)) and isinstance(chart, str)
    return (Place(row, run), rows, chart) if whole and 1 <= row <= rows + 1 and run >= 0 else None


def _mark(line: bytes) -> tuple[int, bool, int, str] | None:
    """Row, whether it is marked, rows and chart of one line; None for a line of another kind."""
    try:
        entry = json.loads(line)
        row, marked, rows, chart = entry["mark"], entry["marked"], entry["rows"], entry["chart"]
    except (ValueError, KeyError, TypeError):
        return None
    whole = type(row) is int and type(rows) is int and type(marked) is bool
    return (row, marked, rows, chart) if whole and isinstance(chart, str) else None
