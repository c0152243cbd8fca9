"""Reading and checking a TOML file: known keys, their kinds, and the line where it goes wrong."""

import errno
import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

from caller.errors import BadInputError
from caller.files import read_whole
from caller.plain_text import shortened

_MOST_DOTS = 50  # in a line; a key here has no dot at all
_LONGEST_KEY = 40  # of one that is told of
LARGEST_FILE = 1_000_000
"""Bytes. Such a file is a page of text; anything larger is something else."""


@dataclass(frozen=True)
class Kind:
    """What a value may be: `says` completes "must be ..."."""

    says: str
    fits: Callable[[object], bool]


_MOST = 10**15  # what is larger is no number of anything, and too large to be written or divided


def _plain(*types: type) -> Callable[[object], bool]:
    """A check that a value is of one of these types: true and false are no numbers, and a number is
    not larger than `_MOST`."""

    def fits(value: object) -> bool:
        if isinstance(value, int) and not -_MOST <= value <= _MOST:
            return False
        return isinstance(value, types) and (bool in types or not isinstance(value, bool))

    return fits


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
class Fault:
    """Something wrong in a file: the error that tells of it, and where it stands.

    `section` is "" for the top of the file, and `key` "" for a whole section; `index` counts the
    tables of a list.
    """

    error: BadInputError
    section: str = ""
    index: int = 0
    key: str = ""


@dataclass(frozen=True)
class TomlFile:
    """A file at hand: its path, its text, and the error that tells what is wrong with it."""

    path: Path
    text: str
    error: type[BadInputError]

    def parsed(self) -> dict[str, Any]:
        """The file's keys and tables; raises the file's error where it is not valid TOML."""
        for number, line in enumerate(self.text.splitlines(), start=1):
            # tomllib takes time by the square of the parts of a dotted key.
            if line.count(".") > _MOST_DOTS and not line.lstrip().startswith("#"):
                where = f"{self.path}, line {number}"
                raise self.error(f"{where}: there are too many dots in it", "shorten it.")
        try:
            return tomllib.loads(self.text)
        except RecursionError:
            why = "its brackets are nested too deeply"
        except tomllib.TOMLDecodeError as error:
            why = str(error)
        except ValueError:
            why = "a number in it has too many digits"
        raise self.error(f"{self.path} is not valid TOML: {why}.", "Correct that line.")

    def check(
        self, table: Mapping[str, Any], top: Section, sections: Mapping[str, Section]
    ) -> None:
        """Raise the first fault, if there is one: every key must be known and of its kind, and none
        may be missing. The error names the line."""
        for fault in self.faults(table, top, sections):
            raise fault.error

    def faults(
        self, table: Mapping[str, Any], top: Section, sections: Mapping[str, Section]
    ) -> Iterator[Fault]:
        """All that `check` would refuse."""
        own = {name: value for name, value in table.items() if name not in sections}
        yield from self._faults(own, top, "", 0, tuple(sections))
        for name in top.needed:
            if name not in table:
                error = self.error(f"{self.path}: the file has no {name!r}.", "Add it.")
                yield Fault(error)
        for name, section in sections.items():
            whole = table.get(name, [] if section.listed else {})
            tables = whole if section.listed else [whole]
            if not isinstance(tables, list) or not all(isinstance(one, dict) for one in tables):
                written = f"must be written as {section.brackets(name)}."
                error = self.error(
                    f"{self.line_of(name)}: {name!r} {written}", "Correct that line."
                )
                yield Fault(error, name)
                continue
            for index, one in enumerate(tables):
                yield from self._faults(one, section, name, index)
                for key in section.needed if name in table else ():
                    if key not in one:
                        which = f"number {index + 1} of " if section.listed else ""
                        where = f"{which}{section.brackets(name)}"
                        error = self.error(f"{self.path}: {where} has no {key!r}.", "Add it.")
                        yield Fault(error, name, index, key)

    def _faults(
        self,
        table: Mapping[str, Any],
        section: Section,
        name: str,
        index: int,
        more: tuple[str, ...] = (),
    ) -> Iterator[Fault]:
        for key, value in table.items():
            kind = section.keys.get(key, section.other)
            if kind is not None and kind.fits(value):
                continue
            here, told = self.line_of(key, name, index), shortened(key, _LONGEST_KEY)
            if kind is None:
                known = ", ".join((*section.keys, *more))
                finding, remedy = f"{told!r} is not known here", f"the keys are {known}."
            else:
                finding, remedy = f"{told!r} must be {kind.says}.", "Correct that line."
            yield Fault(self.error(f"{here}: {finding}", remedy), name, index, key)

    def line_of(self, key: str, section: str = "", index: int = 0) -> str:
        """Where a key stands: "FILE, line 7", or just the file when it is written another way."""
        number = self._lines.get((section, index, key))
        return str(self.path) if number is None else f"{self.path}, line {number}"

    @cached_property
    def _lines(self) -> Mapping[tuple[str, int, str], int]:
        """The lines of the keys, by their section and its number; those of sections have none."""
        found: dict[tuple[str, int, str], int] = {}
        here, counts = "", {"": 0}
        # Possessive, so that no line however long takes time.
        heading, opening = r"\s*+\[\[?+([^\]]+)\]", r"""\s*+["']?+([^"'=\s]++)["']?+\s*+="""
        for number, line in enumerate(self.text.splitlines(), start=1):
            if header := re.match(heading, line):
                here = header[1].strip()
                counts[here] = counts.get(here, -1) + 1
                found.setdefault(("", 0, here), number)
            elif key := re.match(opening, line):
                found.setdefault((here, counts[here], key[1]), number)
        return found


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
