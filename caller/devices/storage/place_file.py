"""The place in a small file beside the pattern: one line of JSON, written whole at every move.

It goes where the pattern goes, on a stick or in a synced folder, and holds all that a session needs
to go on; the moves and their times are in the knitter's history. Older versions wrote a line a
move and one a mark; those are read, too. A line torn by a power cut is passed over.
"""

import json
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TypeGuard

from caller.calling.kept import Kept, Move
from caller.calling.place import Place
from caller.files import read_whole
from caller.pattern.chart import MOST_YARNS
from caller.pattern.laying import Laying
from caller.pattern.winding import Refill
from caller.plain_text import LONGEST_REMINDER, plain

LARGEST_FILE = 20_000_000
"""Bytes; older versions added a line of a hundred at every move."""
_MOST = 10**9  # rows and moves beyond this are no such number


def place_file(pattern_path: Path) -> Path:
    """Where the place of a pattern is kept unless the knitter says otherwise."""
    if pattern_path.suffix.lower() == ".toml":
        return pattern_path.with_suffix(".place")
    return pattern_path.with_name(f"{pattern_path.name}.place")  # a picture may have its namesake


@dataclass(frozen=True)
class Found:
    """What a place file holds: what was kept last, and the moves that older versions wrote there,
    with the whole content of such a file."""

    kept: Kept
    diary: tuple[Move, ...] = ()
    content: bytes = b""


def read(path: Path) -> Found | None:
    """The last line that is whole; None where none is.

    Raises OSError where the file is not there, or cannot be read.
    """
    # A power cut may leave zeros where something was about to be written, within a line too.
    content = read_whole(path, LARGEST_FILE).replace(b"\0", b"\n")
    lines = content.splitlines()
    tables = [table for line in lines if (table := _table(line)) is not None]
    found = [kept for table in tables if (kept := _kept(table)) is not None]
    if not found:
        return None
    last = found[-1]
    older = [table for table in tables if "work" not in table]
    diary = tuple(move for table in older if (move := _move(table)) is not None)
    if last.work:
        return Found(last, diary, _ended(content))
    marked: set[int] = set()
    for table in older:
        row, on = table.get("mark"), table.get("marked")
        same = _laying(table) == last.laying
        if same and _is_row(row, last.laying.rows) and isinstance(on, bool):
            (marked.add if on else marked.discard)(row)
    # The same file is read as the same piece of work for as long as it is not brought over.
    work = uuid.uuid5(uuid.NAMESPACE_URL, f"{path.as_uri()}#{last.laying.chart}").hex
    kept = replace(last, work=work, marked=frozenset(marked), moves=len(diary))
    return Found(kept, diary, _ended(content))


def _ended(content: bytes) -> bytes:
    return content if content.endswith(b"\n") else content + b"\n"


def line_of(kept: Kept, at: datetime) -> bytes:
    """What is kept, as a line of JSON that older versions read as well."""
    table = {
        "row": kept.place.row,
        "run": kept.place.run,
        "rows": kept.laying.rows,
        "chart": kept.laying.chart,
        "at": at.isoformat(timespec="milliseconds"),
        "work": kept.work,
        "moves": kept.moves,
        "below": kept.below,
        "first_needle": kept.laying.first_needle,
        "first_direction": kept.laying.first_direction,
        "pattern_first_needle": kept.of_pattern.first_needle,
        "pattern_first_direction": kept.of_pattern.first_direction,
        "marked_rows": sorted(kept.marked),
        "remarks": {str(row): kept.remarks[row] for row in sorted(kept.remarks)},
        "filled": [[one.yarn, one.bobbin, one.row, one.needle] for one in kept.refills],
    }
    return json.dumps(table).encode() + b"\n"


def kept_of(line: bytes) -> Kept | None:
    """What a line keeps; None for one that was torn or is not ours."""
    table = _table(line)
    return None if table is None else _kept(table)


def _table(line: bytes) -> dict[str, Any] | None:
    try:
        table = json.loads(line)
    except (ValueError, RecursionError):
        return None
    return table if isinstance(table, dict) else None


def _kept(table: dict[str, Any]) -> Kept | None:
    laying = _laying(table)
    place = None if laying is None else _place(table, laying.rows)
    if laying is None or place is None:
        return None
    work, moves = table.get("work", ""), table.get("moves", 0)
    if not isinstance(work, str) or not _is_row(moves, _MOST, 0):
        return None
    of_pattern = Laying(
        laying.rows,
        laying.chart,
        _text(table.get("pattern_first_needle")),
        _direction(table.get("pattern_first_direction")),
    )
    return Kept(
        place,
        laying,
        of_pattern,
        work,
        moves,
        _text(table.get("below")),
        frozenset(row for row in _list(table.get("marked_rows")) if _is_row(row, laying.rows)),
        dict(_remarks(table.get("remarks"), laying.rows)),
        tuple(_refills(table.get("filled"), laying.rows)),
    )


def _laying(table: dict[str, Any]) -> Laying | None:
    rows, chart = table.get("rows"), table.get("chart")
    if not _is_row(rows, _MOST) or not isinstance(chart, str):
        return None
    return Laying(
        rows, chart, _text(table.get("first_needle")), _direction(table.get("first_direction"))
    )


def _place(table: dict[str, Any], rows: int) -> Place | None:
    row, run = table.get("row"), table.get("run", 0)  # older lines know whole rows only
    return Place(row, run) if _is_row(row, rows + 1) and _is_row(run, _MOST, 0) else None


def _move(table: dict[str, Any]) -> Move | None:
    """A move in the diary of an older version."""
    place = _place(table, _MOST)
    try:
        at = datetime.fromisoformat(table["at"])
    except (KeyError, TypeError, ValueError):
        return None
    return None if place is None else Move(at if at.tzinfo else at.replace(tzinfo=UTC), place)


def _remarks(table: object, rows: int) -> list[tuple[int, str]]:
    if not isinstance(table, dict):
        return []
    return [
        (int(row), plain(text)[:LONGEST_REMINDER])
        for row, text in table.items()
        if row.isascii() and row.isdecimal() and len(row) < 10 and 1 <= int(row) <= rows
        if isinstance(text, str)
    ]


def _refills(table: object, rows: int) -> Iterator[Refill]:
    for entry in _list(table):
        numbers = _list(entry)
        if len(numbers) == 4 and all(_is_row(number, _MOST, 0) for number in numbers):
            refill = Refill(*numbers)
            if refill.yarn < MOST_YARNS and 1 <= refill.row <= rows:
                yield refill


def _is_row(value: object, most: int, least: int = 1) -> TypeGuard[int]:
    return type(value) is int and least <= value <= most


def _list(value: object) -> list[Any]:
    return value if isinstance(value, list) else []


def _text(value: object) -> str | None:
    return value if isinstance(value, str) else None


def _direction(value: object) -> Any:
    return value if value in ("left", "right") else None
