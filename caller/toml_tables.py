"""Reading and checking a TOML file: known keys, their kinds, and the line where it goes wrong."""

import errno
import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from caller.errors import BadInputError
from caller.files import read_whole

LARGEST_FILE = 1_000_000
"""Bytes. Such a file is a page of text; anything larger is something else."""


@dataclass(frozen=True)
class Kind:
    """What a value may be: `says` completes "must be ..."."""

    says: str
    fits: Callable[[object], bool]


def _plain(*types: type) -> Callable[[object], bool]:
    """Of one of these types, where true and false are no numbers."""
    return lambda value: isinstance(value, types) and (bool in types or not isinstance(value, bool))


TEXT = Kind("text in quotes", _plain(str))
WHOLE = Kind("a whole number", _plain(int))
NUMBER = Kind("a number", _plain(int, float))
FLAG = Kind("true or false", _plain(bool))
SECONDS = Kind("a number of seconds", _plain(int, float))
OPTION = Kind("text in quotes, a number, true or false", _plain(str, int, float, bool))
TEXTS = Kind(
    'a list of texts, like ["next row"]',
    lambda value: isinstance(value, list) and value != [] and all(map(_plain(str), value)),
)


@dataclass(frozen=True)
class Section:
    """A table of the file, or each table of a list of them.

    `keys` are those that it may hold and `needed` those that it must; `other` is the kind of keys
    by any other name, where they are allowed. `listed` is written [[name]], else [name].
    """

    keys: Mapping[str, Kind] = field(default_factory=dict)
    needed: tuple[str, ...] = ()
    other: Kind | None = None
    listed: bool = False

    def brackets(self, name: str) -> str:
        return f"[[{name}]]" if self.listed else f"[{name}]"


@dataclass(frozen=True)
class TomlFile:
    """A file at hand: its path, its text, and the error that tells what is wrong with it."""

    path: Path
    text: str
    error: type[BadInputError]

    def parsed(self) -> dict[str, Any]:
        try:
            return tomllib.loads(self.text)
        except (tomllib.TOMLDecodeError, RecursionError) as error:
            raise self.error(
                f"{self.path} is not valid TOML: {error}.", "Correct that line and try again."
            ) from None

    def check(
        self, table: Mapping[str, Any], top: Section, sections: Mapping[str, Section]
    ) -> None:
        """Every key known, of its kind, and none missing; the error names the line."""
        own = {name: value for name, value in table.items() if name not in sections}
        self._check_table(own, top, "", 0, tuple(sections))
        for name in top.needed:
            if name not in table:
                raise self.error(f"{self.path}: the file has no {name!r}.", "Add it.")
        for name, section in sections.items():
            whole = table.get(name, [] if section.listed else {})
            tables = whole if section.listed else [whole]
            if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
                raise self.error(
                    f"{self.line_of(name)}: {name!r} must be written as {section.brackets(name)}.",
                    "Correct that line.",
                )
            for index, one in enumerate(tables):
                self._check_table(one, section, name, index)
                for key in section.needed if name in table else ():
                    if key not in one:
                        which = f"number {index + 1} of " if section.listed else ""
                        where = f"{which}{section.brackets(name)}"
                        raise self.error(f"{self.path}: {where} has no {key!r}.", "Add it.")

    def _check_table(
        self,
        table: Mapping[str, Any],
        section: Section,
        name: str,
        index: int,
        more: tuple[str, ...] = (),
    ) -> None:
        for key, value in table.items():
            kind = section.keys.get(key, section.other)
            here = self.line_of(key, name, index)
            if kind is None:
                known = ", ".join((*section.keys, *more))
                raise self.error(f"{here}: {key!r} is not known here", f"the keys are {known}.")
            if not kind.fits(value):
                raise self.error(f"{here}: {key!r} must be {kind.says}.", "Correct that line.")

    def line_of(self, key: str, section: str = "", index: int = 0) -> str:
        """Where a key stands: "FILE, line 7", or just the file when it is written another way."""
        here, counts = "", {"": 0}
        opening = re.compile(r"""\s*["']?([^"'=\s]+)["']?\s*=""")
        for number, line in enumerate(self.text.splitlines(), start=1):
            header = re.match(r"\s*\[\[?\s*([^\]]+?)\s*\]", line)
            if header:
                here = header[1]
                counts[here] = counts.get(here, -1) + 1
                if section == "" and here == key:
                    return f"{self.path}, line {number}"
            elif (here, counts.get(here, 0)) == (section, index):
                found = opening.match(line)
                if found and found[1] == key:
                    return f"{self.path}, line {number}"
        return str(self.path)


def read(path: Path, what: str, error: type[BadInputError]) -> TomlFile | None:
    """The file's text; None where there is no file. `what` is "pattern file" or the like."""
    try:
        content = read_whole(path, LARGEST_FILE)
        return TomlFile(path, content.decode("utf-8").replace("\r\n", "\n"), error)
    except FileNotFoundError:
        return None
    except UnicodeDecodeError:
        raise error(f"The {what} {path} is not text in UTF-8.", "Save it as such.") from None
    except ValueError:  # a name that no system has
        raise error(f"The name {str(path)!r} cannot be a {what}'s", "check it.") from None
    except OSError as failure:
        if failure.errno == errno.EFBIG:
            raise error(
                f"{path} is too large for a {what}, which has {LARGEST_FILE:,} bytes at most",
                "is it another file?",
            ) from None
        raise error(
            f"The {what} {path} cannot be read: {failure.strerror}.", "Check what it is."
        ) from None
