"""The place in the work, kept twice: in the knitter's history and in a file beside the pattern.

One of the two is enough to go on. The history (`history.py`) has every move and its time; the place
file (`place_file.py`) goes where the pattern goes. What is kept is on the disk in at least one of
them when `write` returns, and where they differ the newer one counts.
"""

import contextlib
import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from caller.calling.diary import diary
from caller.calling.kept import Kept, Move, Source
from caller.calling.place import Place
from caller.devices.storage import place_file
from caller.devices.storage.history import History, Work, history_path
from caller.devices.storage.locks import Lock
from caller.errors import PlaceError
from caller.files import write_whole
from caller.pattern.laying import checksum, laying_of
from caller.pattern.pattern import Pattern
from caller.pattern.winding import Refill

_LATEST_ROWS = 9  # whose times tell the pace at the beginning of an evening
_NEW_SITTING = timedelta(minutes=30)  # between moves of a diary that knows no sittings


class FileJournal:
    """Fulfils `Journal` with files. One session at a time holds it.

    `path` is the place file; `history` is the history, None for the knitter's own. `report` is told
    once what is wrong with one of them while the other one serves. While another session holds it
    this one looks on, where it `may_look_on`. Raises PlaceError when it may not, there is no such
    folder, or the file is something else, which a place must not be written into.
    """

    def __init__(
        self,
        path: Path,
        pattern: Pattern,
        history: Path | None = None,
        pattern_path: Path | None = None,
        report: Callable[[str], None] = lambda _sentence: None,
        may_look_on: bool = False,
    ) -> None:
        if not path.parent.is_dir():
            raise PlaceError(
                f"There is no folder {path.parent} to keep the place in",
                "choose another file with --place.",
            )
        self._path = path.resolve()
        self._pattern = pattern
        self._pattern_path = (pattern_path or path).resolve()
        self._report = report
        self._told: set[str] = set()
        _refuse_another_kind(self._path)
        history = history or history_path()
        self._lock, held = _lock(self._path, history)
        self.looks_on = not held
        if self.looks_on and not may_look_on:
            raise PlaceError(
                f"Another session is calling from {self._path} already", "leave that one first."
            )
        self._history = self._opened(history)
        self._sitting = uuid.uuid4().hex
        self._laying = self._of_pattern = laying_of(pattern)
        self._kept = Kept(Place(1), self._laying, self._laying, uuid.uuid4().hex)
        self._unwritten: list[Move] = []  # not in the history yet
        self._older = b""  # the diary of an older version, while it is not in the history

    def _opened(self, path: Path) -> History | None:
        try:
            history = History(path)
        except PlaceError as error:
            self._tell("history", str(error))
            return None
        for note in history.notes:
            self._report(note)
        return history

    def _tell(self, what: str, sentence: str) -> None:
        if what not in self._told:
            self._told.add(what)
            self._report(sentence)

    def read(self) -> Kept | None:
        found, unreadable = None, ""
        try:
            found = place_file.read(self._path)
            unreadable = "" if found else "it holds no place"
        except FileNotFoundError:
            pass
        except OSError as error:
            unreadable = error.strerror or "the system refuses"
        past = self._past(found.kept if found else None)
        if found is not None:
            kept = found.kept
            if past is not None and past.place_file != self._path and _still_kept_in(past):
                kept = replace(kept, work=uuid.uuid4().hex)  # a copy, which goes its own way
            elif past is not None and past.kept.moves >= kept.moves:
                kept = past.kept
            if found.diary and past is None:
                self._unwritten, self._older = _with_sittings(found.diary), found.content
        elif past is not None:
            kept = past.kept
            if unreadable:
                self._tell("file", f"{self._path} cannot be read: {unreadable}.")
        elif unreadable:
            raise PlaceError(
                f"{self._path} cannot be read: {unreadable}.",
                "Say where you are with --row, and it will be kept again from there.",
            )
        else:
            return None
        self._kept = kept
        return kept

    def look(self) -> Place | None:
        """The place that the other session has called, while this one looks on; when that has ended
        this one goes on itself."""
        ended = self._lock.take()
        kept = None
        with contextlib.suppress(PlaceError):
            kept = self.read()
        self.looks_on = not ended
        return None if kept is None else kept.place

    def _past(self, kept: Kept | None) -> Work | None:
        """What the history has of this piece of work."""
        if self._history is None:
            return None
        try:
            if kept is None:
                return self._history.work_at(self._path)
            return self._history.work(kept.work)
        except PlaceError as error:
            self._tell("history", str(error))
            return None

    def elsewhere(self) -> list[Work]:
        """Works of this chart whose pattern is gone from where it was, the most moves first."""
        if self._history is None:
            return []
        try:
            works = self._history.works_of_chart(self._laying.chart)
        except PlaceError:
            return []
        gone = [
            work
            for work in works
            if work.kept.laying.same_chart(self._laying)
            if work.place_file != self._path and not work.pattern.exists()
        ]
        return sorted(gone, key=lambda work: -work.kept.moves)

    def take(self, pattern: Pattern, kept: Kept | None) -> None:
        self._pattern, self._laying = pattern, laying_of(pattern)
        if kept is not None:
            self._kept = kept

    def write(self, place: Place, command: str = "", source: Source = "") -> None:
        kept = replace(
            self._kept,
            place=place,
            marked=self.marked(),
            remarks=self.remarks(),
            refills=self.refills(),
        )
        self._keep(kept, command, source)

    def row_times_s(self) -> tuple[float, ...]:
        knitted = diary(self._kept, self._moves()).knitted[-_LATEST_ROWS:]
        return tuple(one.seconds for one in knitted)

    def days_away(self) -> float:
        if not (moves := self._moves()):
            return 0.0
        # A clock that was put back would make it less than nothing.
        return max(0.0, (datetime.now().astimezone() - moves[-1].at) / timedelta(days=1))

    def _moves(self) -> Sequence[Move]:
        """Those of this work, none where there is no history."""
        if self._history is not None:
            with contextlib.suppress(PlaceError):
                return self._history.moves(self._kept.work)
        return ()

    def marked(self) -> frozenset[int]:
        return self._kept.marked if self._kept.laying.same_chart(self._laying) else frozenset()

    def mark(self, row: int, marked: bool) -> None:
        rows = self.marked() | {row} if marked else self.marked() - {row}
        remarks = {one: text for one, text in self.remarks().items() if one in rows}
        self._keep(replace(self._kept, marked=rows, remarks=remarks), "mark", "")

    def remarks(self) -> Mapping[int, str]:
        return self._kept.remarks if self._kept.laying.same_chart(self._laying) else {}

    def remark(self, row: int, text: str) -> None:
        self._keep(replace(self._kept, remarks={**self.remarks(), row: text}), "remark", "")

    def refills(self) -> tuple[Refill, ...]:
        return self._kept.refills if self._kept.laying.same_chart(self._laying) else ()

    def refill(self, refills: tuple[Refill, ...]) -> None:
        self._keep(replace(self._kept, refills=refills), "bobbin", "")

    def _keep(self, kept: Kept, command: str, source: Source) -> None:
        """Write it in both places; one of them is enough."""
        if self.looks_on:
            raise PlaceError(
                "Another session calls this pattern, and this one looks on",
                "move there, or leave that one and go on here.",
            )
        row = kept.place.row
        below = checksum(self._pattern, row)
        kept = replace(
            kept,
            laying=self._laying,
            of_pattern=self._of_pattern,
            moves=self._kept.moves + 1,
            below=below,
        )
        now = datetime.now().astimezone()
        moves = [*self._unwritten, Move(now, kept.place, command, source, self._sitting)]
        older = self._older
        why = []
        try:
            self._write_history(kept, moves)
            older = b""
        except PlaceError as error:
            why.append(("history", error.finding))
        try:
            write_whole(self._path, older + place_file.line_of(kept, now))
        except OSError as error:
            said = f"The place cannot be kept in {self._path}: {error.strerror}."
            why.append(("file", said))
        if len(why) == 2:
            self._undo()
            raise PlaceError(
                f"Row {row} could not be kept. {why[1][1]}",
                "The place before it is still kept.",
            )
        for what, said in why:
            self._tell(what, f"{said} It is kept in the other one.")
        self._kept, self._older = kept, older
        self._unwritten = moves if why and why[0][0] == "history" else []

    def _write_history(self, kept: Kept, moves: Sequence[Move]) -> None:
        if self._history is None:
            raise PlaceError("There is no history that can be written.")
        title = self._pattern.title
        self._history.keep(kept, self._path, self._pattern_path, title, moves)

    def _undo(self) -> None:
        """A disk that fails while it writes may have taken some of it: what was kept counts."""
        if self._kept.moves == 0:
            return
        with contextlib.suppress(PlaceError):
            self._write_history(self._kept, ())
        with contextlib.suppress(OSError):
            line = place_file.line_of(self._kept, datetime.now().astimezone())
            write_whole(self._path, self._older + line)

    def close(self) -> None:
        self._lock.release()


def _lock(path: Path, history: Path) -> tuple[Lock, bool]:
    """The lock of a place, and whether it is held: with the history, where it is the same whatever
    a folder is called."""
    for folder in (history.parent / "locks", path.parent):
        with contextlib.suppress(OSError):
            lock = Lock(folder, path)
            return lock, lock.take()
    raise PlaceError(
        f"The place cannot be kept: neither {history.parent} nor {path.parent} can be written.",
        "Choose another file with --place.",
    )


def _refuse_another_kind(path: Path) -> None:
    if path.suffix == ".place" or not path.exists():
        return
    with contextlib.suppress(OSError):
        if place_file.read(path) is not None:
            return
    raise PlaceError(
        f"{path} is another kind of file, and the place is not written into it",
        "choose a name that ends in .place.",
    )


def _still_kept_in(work: Work) -> bool:
    """Whether the place file that the history knows is there still."""
    with contextlib.suppress(OSError):
        found = place_file.read(work.place_file)
        return found is not None and found.kept.work == work.kept.work
    return False


def _with_sittings(diary: Iterable[Move]) -> list[Move]:
    """The moves of an older version, which knew no sittings."""
    told: list[Move] = []
    sitting = ""
    for move in diary:
        if not told or move.at - told[-1].at > _NEW_SITTING:
            sitting = uuid.uuid4().hex
        told.append(replace(move, sitting=sitting))
    return told
