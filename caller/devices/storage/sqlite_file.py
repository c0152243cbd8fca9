"""An SQLite file that is ours: looked through before it is used, copied, and mended from the copy.

A file is opened for each use and closed after it, so that one that was moved, mended or put on
another disk is found again. What has been committed is on the disk (`synchronous = extra`).
"""

import contextlib
import os
import sqlite3
import stat
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from caller.errors import PlaceError
from caller.files import make_folder, read_whole, sync_folder, write_all_whole

LARGEST_FILE = 100_000_000
"""Bytes. A move takes about a hundred."""
_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
_WHY = {
    sqlite3.SQLITE_FULL: "the disk is full",
    sqlite3.SQLITE_READONLY: "it can only be read",
    sqlite3.SQLITE_CANTOPEN: "it cannot be opened",
    sqlite3.SQLITE_BUSY: "another program holds it",
    sqlite3.SQLITE_LOCKED: "another program holds it",
    sqlite3.SQLITE_IOERR: "the disk does not take it",
    sqlite3.SQLITE_CORRUPT: "it is damaged",
    sqlite3.SQLITE_NOTADB: "it is damaged",
}
_MODE = 0o600  # when somebody knits is their own affair
_WAIT_S = 2.0  # for another session's writing, which takes a tenth of that


class SqliteFailure(Exception):  # noqa: N818 (never shown; a PlaceError is made of it)
    """What SQLite raised: its primary code, and why in words."""

    def __init__(self, error: sqlite3.Error) -> None:
        super().__init__(str(error))
        self.code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_CORRUPT) & 0xFF
        self.why = _WHY.get(self.code, str(error))


@dataclass(frozen=True)
class SqliteFile:
    """One file: its path, its schema, and the numbers that tell its kind and version.

    `environment` names the variable that chooses another file, for the remedies.
    """

    path: Path
    schema: str
    application: int
    version: int
    environment: str
    notes: list[str] = field(default_factory=list)

    @property
    def copy(self) -> Path:
        """The file as it was when it was last looked through, from which it is mended."""
        return self.path.with_name(f"{self.path.stem}.copy{self.path.suffix}")

    def look_through(self) -> None:
        """Check the whole file, keep a copy of it, and put a damaged one aside.

        `notes` then has a sentence for the knitter. Raises PlaceError where there is a file that
        cannot serve.
        """
        if not self.path.exists():
            return
        found = self.path.stat()
        if not stat.S_ISREG(found.st_mode) or found.st_size > LARGEST_FILE:
            raise PlaceError(
                f"{self.path} is no history of knitting: it is no ordinary file, or too large.",
                f"Name another file with the environment variable {self.environment}.",
            )
        try:
            with self._opened() as file:
                sound = _is_sound(file)
                if sound and not is_empty(file):
                    self._check_kind(file)
                    self._keep_copy(file)
        except SqliteFailure as failed:
            if failed.code not in _DAMAGED:
                raise self._cannot("read", failed.why) from None
            sound = False
        if not sound:
            self._put_aside()

    def _check_kind(self, file: sqlite3.Connection) -> None:
        if _number(file, "application_id") != self.application:
            raise PlaceError(
                f"{self.path} is another program's file, and no history is written into it.",
                f"Name another file with the environment variable {self.environment}.",
            )
        if _number(file, "user_version") > self.version:
            raise PlaceError(
                f"The history {self.path} was written by a newer version of this program.",
                "Update this program to go on with it.",
            )

    def _keep_copy(self, file: sqlite3.Connection) -> None:
        """Keep a copy of a file that is whole; where there is no room for one it goes on."""
        with contextlib.suppress(OSError, sqlite3.Error):
            whole = file.serialize()
            if not self.copy.exists() or read_whole(self.copy, LARGEST_FILE) != whole:
                write_all_whole({self.copy: whole}, _MODE)

    def _put_aside(self) -> None:
        now = datetime.now().strftime("%Y-%m-%d-%H%M%S")
        aside = self.path.with_name(f"{self.path.stem}.damaged-{now}{self.path.suffix}")
        try:
            self.path.replace(aside)
            with contextlib.suppress(FileNotFoundError):  # it belongs to the damaged file
                Path(f"{self.path}-journal").replace(f"{aside}-journal")
            sync_folder(self.path.parent)
            mended = self._mend()
        except OSError as error:
            raise self._cannot("read", f"it is damaged, and {error.strerror}") from None
        told = "as it was when the last session began" if mended else "but empty"
        self.notes.append(
            f"The history of your knitting was damaged and is put aside as {aside.name}. "
            f"It goes on {told}; your place is kept beside the pattern too."
        )

    def _mend(self) -> bool:
        """Put the copy in the place of the damaged file, when there is one that is whole."""
        try:
            whole = read_whole(self.copy, LARGEST_FILE)
            with closing(sqlite3.connect(":memory:")) as tried:
                tried.deserialize(whole)
                if not _is_sound(tried):
                    return False
        except (OSError, sqlite3.Error):
            return False
        write_all_whole({self.path: whole}, _MODE)
        return True

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """A transaction, made whole or not at all, and on the disk at its end.

        The file is made where there is none. PlaceError when it cannot be written.
        """
        try:
            make_folder(self.path.parent, 0o700)
            if not self.path.exists():
                os.close(os.open(self.path, os.O_CREAT | os.O_WRONLY, _MODE))
                sync_folder(self.path.parent)
            with self._opened() as file, file:
                file.execute("begin immediate")
                if is_empty(file):
                    for statement in self.schema.split(";"):
                        file.execute(statement)
                    file.execute(f"pragma application_id = {self.application}")
                    file.execute(f"pragma user_version = {self.version}")
                yield file
        except SqliteFailure as failed:
            raise self._cannot("written", failed.why) from None
        except OSError as error:
            raise self._cannot("written", error.strerror or "the system refuses") from None

    def select(self, query: str, *values: str) -> list[Any]:
        """The rows of a query; none where there is no file. PlaceError when it cannot be read."""
        if not self.path.exists():
            return []
        try:
            with self._opened() as file:
                return [] if is_empty(file) else file.execute(query, values).fetchall()
        except SqliteFailure as failed:
            raise self._cannot("read", failed.why) from None

    @contextmanager
    def _opened(self) -> Iterator[sqlite3.Connection]:
        """The file, opened; what SQLite raises becomes SqliteFailure."""
        try:
            connected = sqlite3.connect(self.path, timeout=_WAIT_S, isolation_level=None)
            with closing(connected) as file:
                file.execute("pragma synchronous = extra")
                if sys.platform == "darwin":  # fsync leaves the content in the drive's cache there
                    file.execute("pragma fullfsync = on")
                yield file
        except sqlite3.Error as error:
            raise SqliteFailure(error) from None

    def _cannot(self, done: str, why: str) -> PlaceError:
        return PlaceError(
            f"The history {self.path} cannot be {done}: {why}.",
            f"Mend that, or name another file with the environment variable {self.environment}.",
        )


def is_empty(file: sqlite3.Connection) -> bool:
    return bool(file.execute("select count(*) from sqlite_master").fetchone() == (0,))


def _is_sound(file: sqlite3.Connection) -> bool:
    return bool(file.execute("pragma integrity_check(1)").fetchone() == ("ok",))


def _number(file: sqlite3.Connection, pragma: str) -> int:
    return int(file.execute(f"pragma {pragma}").fetchone()[0])
