"""The knitter's history: one SQLite file for all pieces of work, with every move and its time.

    works      a piece of work: where its place file and pattern are, and what is kept of it
    sittings   a session at the machine, from its first move to its last
    moves      each move: when, to which row and run, by which command, from what

What is kept of a piece, its marks and remarks among it, is the same line of JSON as in its place
file. The schema's version is in `user_version`.
"""

import os
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from caller.calling.kept import Kept, Move
from caller.calling.place import Place
from caller.devices.storage import place_file
from caller.devices.storage.sqlite_file import SqliteFile

ENVIRONMENT = "CALLER_HISTORY"
"""Names another file."""

APPLICATION = 0x526F7743
"""SQLite's `application_id` of such a file: "RowC"."""
VERSION = 1
_SCHEMA = """
create table works (
    work text primary key, place_file text not null, pattern text not null, title text not null,
    moves integer not null, chart text not null, kept text not null
) without rowid;
create table sittings (
    sitting text primary key, work text not null, began text not null, ended text not null
) without rowid;
create table moves (
    work text not null, number integer not null, sitting text not null, at text not null,
    row integer not null, run integer not null, command text not null, source text not null,
    primary key (work, number)
) without rowid
"""


def history_path() -> Path:
    """Where the history is: named by CALLER_HISTORY, else in the user's folder for state."""
    if named := os.environ.get(ENVIRONMENT):
        return Path(named)
    import platformdirs

    return platformdirs.user_state_path("caller") / "history.sqlite"


@dataclass(frozen=True)
class Work:
    """A piece of work in the history; `place_file` and `pattern` are where these files were."""

    kept: Kept
    place_file: Path
    pattern: Path
    title: str


class History:
    """One history file, looked through when it is made; PlaceError where it cannot serve.

    `notes` are sentences for the knitter.
    """

    def __init__(self, path: Path) -> None:
        self._file = SqliteFile(path, _SCHEMA, APPLICATION, VERSION, ENVIRONMENT)
        self._file.look_through()
        self.notes = self._file.notes

    def keep(
        self, kept: Kept, place_path: Path, pattern: Path, title: str, moves: Sequence[Move]
    ) -> None:
        """Write what is kept now and the moves that led there, all or nothing, and on the disk.

        The last of the moves gets the number `kept.moves`, and those before it the numbers before.
        PlaceError when it cannot be written; all is then as it was.
        """
        now = moves[-1].at if moves else datetime.now().astimezone()
        line = place_file.line_of(kept, now).decode()
        with self._file.writing() as file:
            file.execute(
                "insert or replace into works values (?, ?, ?, ?, ?, ?, ?)",
                (
                    *(kept.work, str(place_path), str(pattern), title),
                    *(kept.moves, kept.laying.chart, line),
                ),
            )
            for number, move in enumerate(moves, kept.moves - len(moves) + 1):
                _write_move(file, kept.work, number, move)

    def work(self, name: str) -> Work | None:
        """The piece of work of this name."""
        return next(self._works("where work = ?", name), None)

    def work_at(self, place_path: Path) -> Work | None:
        """The piece of work whose place is kept in this file, the newest where there are more."""
        found = self._works("where place_file = ?", str(place_path))
        return max(found, key=lambda work: work.kept.moves, default=None)

    def works_of_chart(self, chart: str) -> list[Work]:
        """The pieces of work that were called from this chart last."""
        return list(self._works("where chart = ?", chart))

    def moves(self, name: str) -> list[Move]:
        """Every move of a piece of work, in order."""
        columns = "at, row, run, command, source, sitting"
        found = self._file.select(
            f"select {columns} from moves where work = ? order by number", name
        )
        return [
            Move(datetime.fromisoformat(at), Place(row, run), command, source, sitting)
            for at, row, run, command, source, sitting in found
        ]

    def _works(self, where: str, value: str) -> Iterator[Work]:
        columns = "kept, place_file, pattern, title"
        for line, place_path, pattern, title in self._file.select(
            f"select {columns} from works {where}", value
        ):
            kept = place_file.kept_of(line.encode())
            if kept is not None:
                yield Work(kept, Path(place_path), Path(pattern), title)


def _write_move(file: sqlite3.Connection, work: str, number: int, move: Move) -> None:
    at = move.at.isoformat(timespec="milliseconds")
    file.execute(
        "insert into sittings values (?, ?, ?, ?) on conflict do update set ended = ?",
        (move.sitting, work, at, at, at),
    )
    file.execute(
        "insert or replace into moves values (?, ?, ?, ?, ?, ?, ?, ?)",
        (
            *(work, number, move.sitting, at, move.place.row, move.place.run),
            *(move.command, move.source),
        ),
    )
