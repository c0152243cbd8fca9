"""What a pattern file may hold: its keys, their kinds, and the line where one goes wrong."""

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from caller.errors import PatternFileError

VERSION = 1

_NUMBER = (int, float)
_KEYS: dict[str, dict[str, tuple[type, ...]]] = {
    "": {
        "version": (int,),
        "title": (str,),
        "chart": (str,),
        "first_direction": (str,),
        "seen_from": (str,),
        "gauge": (dict,),
        "bed": (dict,),
        "fabric": (dict,),
        "supplies": (dict,),
        "yarns": (list,),
        "reminders": (list,),
    },
    "gauge": {"stitches": _NUMBER, "rows": _NUMBER, "over": _NUMBER, "unit": (str,)},
    "bed": {
        "needles": (int,),
        "pitch_mm": _NUMBER,
        "numbering": (str,),
        "first_needle": (str,),
    },
    "fabric": {
        "loop_mm": _NUMBER,
        "relaxation": (str,),
        "tail_cm": _NUMBER,
        "allowance": _NUMBER,
    },
    "supplies": {"max_carry": (int,), "max_rest_rows": (int,)},
    "yarns": {"name": (str,), "colour": (str,), "count": (str,), "ball_g": _NUMBER},
    "reminders": {"row": (int,), "say": (str,)},
}
_NEEDED = {
    "": ("version", "title", "chart", "yarns"),
    "gauge": ("stitches", "rows"),
    "yarns": ("name", "colour"),
    "reminders": ("row", "say"),
}
_TABLES = ("gauge", "bed", "fabric", "supplies")
_LISTS = ("yarns", "reminders")
_KINDS = {int: "a whole number", float: "a number", str: "text in quotes", dict: "a table"}


def check(path: Path, text: str, table: Mapping[str, Any]) -> None:
    """Every key known, of its kind, and none missing; the error names the line."""
    _check_table(path, text, table, "", 0)
    if table["version"] != VERSION:
        raise PatternFileError(
            f"{line_of(path, text, 'version', '', 0)} is version {table['version']} of the "
            "pattern file",
            f"this program reads version {VERSION}.",
        )
    for name in _TABLES:
        if name in table:
            _check_table(path, text, table[name], name, 0)
    for name in _LISTS:
        for index, entry in enumerate(table.get(name, ())):
            if not isinstance(entry, dict):
                raise PatternFileError(
                    f"{line_of(path, text, name, '', 0)} must be written as tables [[{name}]]."
                )
            _check_table(path, text, entry, name, index)


def _check_table(path: Path, text: str, table: Mapping[str, Any], section: str, index: int) -> None:
    known = _KEYS[section]
    for key, value in table.items():
        here = line_of(path, text, key, section, index)
        if key not in known:
            raise PatternFileError(
                f"{here}: {key!r} is not known here", f"the keys are {', '.join(known)}."
            )
        if isinstance(value, bool) or not isinstance(value, known[key]):
            kind = _KINDS.get(known[key][-1], f"a list of tables [[{key}]]")
            raise PatternFileError(f"{here}: {key!r} must be {kind}.")
    for key in _NEEDED.get(section, ()):
        if key not in table:
            where = f"number {index + 1} of [[{section}]]" if section in _LISTS else f"[{section}]"
            raise PatternFileError(f"{path}: {where if section else 'the file'} has no {key!r}.")


def line_of(path: Path, text: str, key: str, section: str, index: int) -> str:
    """Where the key stands: "FILE, line 7", or just the file when it is written in another way."""
    here, counts = "", {"": 0}
    opening = re.compile(r"""\s*["']?([^"'=\s]+)["']?\s*=""")
    for number, line in enumerate(text.splitlines(), start=1):
        header = re.match(r"\s*\[\[?\s*([^\]]+?)\s*\]", line)
        if header:
            here = header[1]
            counts[here] = counts.get(here, -1) + 1
            if section == "" and here == key:
                return f"{path}, line {number}"
        elif (here, counts.get(here, 0)) == (section, index):
            found = opening.match(line)
            if found and found[1] == key:
                return f"{path}, line {number}"
    return str(path)
