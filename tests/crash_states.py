"""Every state that a disk may hold after a power cut, from the calls that a program made.

In the spirit of ALICE (Pillai et al., "All File Systems Are Not Created Equal", OSDI 2014): a file
system promises only what it was told to sync. Of the calls before the cut, those that were synced
are on the disk; of the others any may be, in any order; and a write that was not synced may be torn
at any byte, the rest missing or zeros.

- `Recorder` notes the calls that go through `os` in this process; `strace_log.py` reads those of
  any process, whatever makes them. Both give a log of the calls below.
- `crash_states` gives the states; `Disk.put` lays one out in a folder, where the program is run
  again.

A call to sync makes sure of what was called before it: `SyncFile` of a file's content, `SyncFolder`
of the names in a folder. A renaming happens whole or not at all.
"""

import itertools
import os
import random
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path, PurePosixPath
from typing import Any

import pytest

# A file is known by a number that it keeps when it is renamed; paths are relative to the folder
# that is watched.


@dataclass(frozen=True)
class Create:
    path: str
    file: int


@dataclass(frozen=True)
class Write:
    file: int
    offset: int
    content: bytes


@dataclass(frozen=True)
class Truncate:
    file: int
    size: int


@dataclass(frozen=True)
class Rename:
    path: str
    to: str
    file: int


@dataclass(frozen=True)
class Unlink:
    path: str


@dataclass(frozen=True)
class MakeFolder:
    path: str


@dataclass(frozen=True)
class SyncFile:
    file: int


@dataclass(frozen=True)
class SyncFolder:
    path: str


@dataclass(frozen=True)
class Said:
    """Something that others could see or hear from here on, so that it must be kept."""

    what: object


Call = Create | Write | Truncate | Rename | Unlink | MakeFolder | SyncFile | SyncFolder | Said
MOST_TOGETHER = 7
"""Of more calls than this that are not synced, some sets are chosen by chance."""
_SETS_BY_CHANCE = 64
_LONGEST_TORN_EVERYWHERE = 128  # bytes; a longer write is torn at so many places by chance


@dataclass
class Disk:
    """What a disk holds: files by their paths, by number, and folders."""

    names: dict[str, int] = field(default_factory=dict)
    contents: dict[int, bytes] = field(default_factory=dict)
    folders: set[str] = field(default_factory=set)

    @staticmethod
    def of(root: Path) -> "Disk":
        disk = Disk()
        for number, path in enumerate(sorted(root.rglob("*"))):
            name = path.relative_to(root).as_posix()
            if path.is_dir():
                disk.folders.add(name)
            else:
                disk.names[name] = -1 - number
                disk.contents[-1 - number] = path.read_bytes()
        return disk

    def after(self, calls: Sequence[Call]) -> "Disk":
        disk = Disk(dict(self.names), dict(self.contents), set(self.folders))
        for call in calls:
            disk._obey(call)
        return disk

    def _obey(self, call: Call) -> None:
        match call:
            case Create(path, file):
                self.names[path] = file
                self.contents.setdefault(file, b"")
            case Write(file, offset, content):
                old = self.contents.get(file, b"").ljust(offset, b"\0")
                self.contents[file] = old[:offset] + content + old[offset + len(content) :]
            case Truncate(file, size):
                self.contents[file] = self.contents.get(file, b"")[:size].ljust(size, b"\0")
            case Rename(path, to, file):
                if self.names.get(path) == file:
                    del self.names[path]
                self.names[to] = file
            case Unlink(path):
                self.names.pop(path, None)
            case MakeFolder(path):
                self.folders.add(path)

    def files(self) -> dict[str, bytes]:
        """What can be found: a file in a folder that is not there cannot."""
        return {
            path: self.contents.get(file, b"")
            for path, file in self.names.items()
            if all(folder in self.folders for folder in _folders_of(path))
        }

    @property
    def key(self) -> object:
        """Equal for disks on which the same can be found."""
        return frozenset(self.files().items()), frozenset(self.folders)

    def put(self, root: Path) -> None:
        """Lay it out in this folder, in place of what it holds."""
        for path in sorted(root.rglob("*"), reverse=True):
            if path.is_dir() and not path.is_symlink():
                path.rmdir()
            else:
                path.unlink()
        for folder in sorted(self.folders):
            if all(above in self.folders for above in _folders_of(folder)):
                (root / folder).mkdir()
        for path, content in self.files().items():
            (root / path).write_bytes(content)


def _folders_of(path: str) -> list[str]:
    return [parent.as_posix() for parent in PurePosixPath(path).parents if parent.as_posix() != "."]


@dataclass(frozen=True)
class Crash:
    """A disk after a power cut, and how many calls of the log had begun."""

    calls: int
    disk: Disk


def crash_states(before: Disk, log: Sequence[Call]) -> Iterator[Crash]:
    """Every disk that a power cut may leave, from before the first call to after the last."""
    chance = random.Random(len(log))
    for calls in range(len(log) + 1):
        sure = [_synced(call, log[index + 1 : calls]) for index, call in enumerate(log[:calls])]
        seen: set[object] = set()
        for kept in _kept(log[:calls], sure, chance):
            disk = before.after(kept)
            if disk.key not in seen:
                seen.add(disk.key)
                yield Crash(calls, disk)


def states_by_chance(before: Disk, log: Sequence[Call], a_call: int) -> Iterator[Crash]:
    """About so many of the disks that a power cut may leave after each call, chosen by chance.

    For a library that makes dozens of calls at a time; those with all and with none of what is not
    synced are always among them.
    """
    chance = random.Random(len(log))
    for calls in range(len(log) + 1):
        sure = [_synced(call, log[index + 1 : calls]) for index, call in enumerate(log[:calls])]
        unsure = [index for index, synced in enumerate(sure) if not synced]
        for turn in range(a_call if unsure else 1):
            share = (1.0, 0.0)[turn] if turn < 2 else chance.random()
            kept = [i for i in range(calls) if sure[i] or chance.random() < share]
            told: list[Call] = [log[i] for i in kept]
            writes = [n for n, i in enumerate(kept) if not sure[i] and isinstance(log[i], Write)]
            if turn >= 2 and writes:
                torn = chance.choice(writes)
                told[torn] = chance.choice(list(_torn(told[torn], chance)) or [told[torn]])
            yield Crash(calls, before.after(told))


def _synced(call: Call, later: Sequence[Call]) -> bool:
    """Whether a call is surely on the disk after these; a call that changes nothing is."""
    match call:
        case Write(file) | Truncate(file):
            return SyncFile(file) in later
        case Create(path) | Unlink(path) | MakeFolder(path):
            return SyncFolder(_folder(path)) in later
        case Rename(path, to):
            assert _folder(path) == _folder(to), "renamed within one folder"
            return SyncFolder(_folder(path)) in later
    return True


def _folder(path: str) -> str:
    return PurePosixPath(path).parent.as_posix()


def _kept(
    calls: Sequence[Call], sure: Sequence[bool], chance: random.Random
) -> Iterator[list[Call]]:
    """The calls that may be on the disk together, each write that is not synced torn too."""
    unsure = [index for index, synced in enumerate(sure) if not synced]
    for lost in _sets(unsure, chance):
        kept = [index for index in range(len(calls)) if index not in lost]
        yield [calls[index] for index in kept]
        for torn_at in kept:
            call = calls[torn_at]
            if not sure[torn_at] and isinstance(call, Write):
                for torn in _torn(call, chance):
                    yield [torn if index == torn_at else calls[index] for index in kept]


def _sets(unsure: Sequence[int], chance: random.Random) -> Iterator[frozenset[int]]:
    if len(unsure) <= MOST_TOGETHER:
        for size in range(len(unsure) + 1):
            yield from map(frozenset, itertools.combinations(unsure, size))
        return
    yield frozenset()
    for index, one in enumerate(unsure):
        yield frozenset((one,))
        yield frozenset(unsure[index:])
        yield frozenset(unsure) - {one}
    for _ in range(_SETS_BY_CHANCE):
        yield frozenset(one for one in unsure if chance.random() < 0.5)


def _torn(write: Write, chance: random.Random) -> Iterator[Write]:
    """Cut at any byte, and as long as it should be but with zeros from that byte on."""
    size = len(write.content)
    places: Sequence[int] = range(size)
    if size > _LONGEST_TORN_EVERYWHERE:
        places = [0, size - 1, *chance.sample(range(size), _LONGEST_TORN_EVERYWHERE - 2)]
    for length in places:
        beginning = write.content[:length]
        yield replace(write, content=beginning)
        yield replace(write, content=beginning.ljust(size, b"\0"))


# The calls of this process


class Recorder:
    """The calls of `os` that change a folder, in the order they are made."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self.before = Disk.of(root)
        self.log: list[Call] = []
        self._names = dict(self.before.names)
        self._open: dict[int, tuple[str, int | None, bool]] = {}
        self._fresh = itertools.count(1)

    def said(self, what: object) -> None:
        self.log.append(Said(what))

    def check(self) -> None:
        """The folder holds what the log leads to: no change went past the recorder."""
        found = Disk.of(self.root)
        assert self.before.after(self.log).files() == found.files()

    @contextmanager
    def watching(self) -> Iterator["Recorder"]:
        """Note the calls made within; the system makes them all the same."""
        with pytest.MonkeyPatch.context() as patch:
            for name, note in {
                "open": self._opened,
                "write": self._written,
                "ftruncate": self._truncated,
                "fsync": self._synced,
                "close": self._closed,
                "replace": self._renamed,
                "rename": self._renamed,
                "unlink": self._unlinked,
                "mkdir": self._made,
            }.items():
                patch.setattr(os, name, _noted(getattr(os, name), note))
            yield self
        self.check()

    def _inside(self, path: Any) -> str | None:
        whole = Path(os.fspath(path))
        inside = self.root in (whole, *whole.parents)
        return whole.relative_to(self.root).as_posix() if inside else None

    def _opened(self, descriptor: int, path: Any, flags: int, *_: Any) -> None:
        name = self._inside(path)
        if name is None:
            return
        if flags & os.O_CREAT and name not in self._names:
            self._names[name] = next(self._fresh)
            self.log.append(Create(name, self._names[name]))
        file = self._names.get(name)
        if file is not None and flags & os.O_TRUNC:
            self.log.append(Truncate(file, 0))
        self._open[descriptor] = (name, file, bool(flags & os.O_APPEND))

    def _written(self, count: int, descriptor: int, content: Any) -> None:
        if descriptor in self._open:
            _, file, _ = self._open[descriptor]
            assert file is not None
            # After the write: it began that much earlier in the file.
            offset = os.lseek(descriptor, 0, os.SEEK_CUR) - count
            self.log.append(Write(file, offset, bytes(content[:count])))

    def _truncated(self, _: None, descriptor: int, size: int) -> None:
        if descriptor in self._open:
            self.log.append(Truncate(self._open[descriptor][1] or 0, size))

    def _synced(self, _: None, descriptor: int) -> None:
        if descriptor in self._open:
            name, file, _appends = self._open[descriptor]
            self.log.append(SyncFolder(name) if file is None else SyncFile(file))

    def _closed(self, _: None, descriptor: int) -> None:
        self._open.pop(descriptor, None)

    def _renamed(self, _: None, path: Any, to: Any, **__: Any) -> None:
        old, new = self._inside(path), self._inside(to)
        if old is not None and new is not None:
            self._names[new] = self._names.pop(old)
            self.log.append(Rename(old, new, self._names[new]))

    def _unlinked(self, _: None, path: Any, **__: Any) -> None:
        name = self._inside(path)
        if name is not None:
            self._names.pop(name, None)
            self.log.append(Unlink(name))

    def _made(self, _: None, path: Any, *__: Any, **___: Any) -> None:
        name = self._inside(path)
        if name is not None:
            self.log.append(MakeFolder(name))


def _noted(call: Callable[..., Any], note: Callable[..., None]) -> Callable[..., Any]:
    def noted(*arguments: Any, **named: Any) -> Any:
        result = call(*arguments, **named)
        note(result, *arguments, **named)
        return result

    return noted


def announced(log: Sequence[Call], calls: int) -> tuple[object | None, object | None]:
    """What was said last before this call, and what is said next; None where there is nothing."""
    said = [call.what for call in log[:calls] if isinstance(call, Said)]
    coming = [call.what for call in log[calls:] if isinstance(call, Said)]
    return (said[-1] if said else None), (coming[0] if coming else None)
