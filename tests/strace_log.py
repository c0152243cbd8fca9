"""The calls that any process makes in a folder, as strace sees them, for `crash_states`.

Whatever writes (Python, a library in C), its calls are seen. What it says is what it writes to its
standard output. That reading moves the place in a file is not followed, so what reads and writes by
one descriptor must seek, append, or write by `pwrite`, as SQLite does.
"""

import itertools
import os
import re
import subprocess
from collections.abc import Sequence
from functools import cache
from pathlib import Path

from crash_states import (
    Call,
    Create,
    Disk,
    MakeFolder,
    Rename,
    Said,
    SyncFile,
    SyncFolder,
    Truncate,
    Unlink,
    Write,
)

_TRACED = (
    "open,openat,creat,write,pwrite64,writev,pwritev,lseek,fsync,fdatasync,ftruncate,"
    "rename,renameat,renameat2,unlink,unlinkat,mkdir,mkdirat"
)
_CALL = re.compile(r"(?:\[pid +\d+\] |\d+ +)?(\w+)\((.*)\) += (-?\d+)")
_STRING = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(\.\.\.)?')
_DESCRIPTOR = re.compile(r"(AT_FDCWD|\d+)<((?:\\x[0-9a-f]{2})*)>")


def strace(command: Sequence[str], log: Path) -> list[str]:
    """The command under strace, which writes to `log`."""
    options = ["-f", "-y", "-xx", "-s", "100000", "-e", f"trace={_TRACED}", "-o", str(log)]
    return ["strace", *options, *command]


@cache
def why_not() -> str | None:
    """Why strace cannot be used here; None when it can."""
    try:
        tried = subprocess.run(["strace", "-o", os.devnull, "true"], capture_output=True)
    except OSError:
        return "needs strace"
    return None if tried.returncode == 0 else "strace may not watch a process here"


def calls_in(log: str, root: Path, before: Disk) -> list[Call]:
    """The calls that change what is in `root`, and what was written to the standard output."""
    return _Reader(root, before).read(_joined(log.splitlines()))


def _joined(lines: Sequence[str]) -> list[str]:
    """A call that was interrupted by another thread's, in one line again, where it ended."""
    begun: dict[str, str] = {}
    found = []
    for line in lines:
        process = line.split(maxsplit=1)[0]
        if line.endswith("<unfinished ...>"):
            begun[process] = line.removesuffix("<unfinished ...>").rstrip()
        elif resumed := re.match(r"\d+ +<\.\.\. \w+ resumed>(.*)", line):
            found.append(begun.pop(process, "") + resumed[1])
        else:
            found.append(line)
    return found


class _Reader:
    def __init__(self, root: Path, before: Disk) -> None:
        self._root = root
        self._names = dict(before.names)
        self._size = {file: len(content) for file, content in before.contents.items()}
        self._position: dict[int, int] = {}
        self._appends: dict[int, bool] = {}
        self._fresh = itertools.count(1)

    def read(self, lines: Sequence[str]) -> list[Call]:
        log: list[Call] = []
        for line in lines:
            found = _CALL.match(line)
            if found is not None and int(found[3]) >= 0:
                log.extend(self._call(found[1], found[2], int(found[3])))
        return log

    def _call(self, name: str, arguments: str, result: int) -> list[Call]:
        strings = [bytes.fromhex(text.replace("\\x", "")) for text, _ in _STRING.findall(arguments)]
        held = _DESCRIPTOR.match(arguments)
        descriptor = int(held[1]) if held and held[1].isdigit() else None
        inside = self._inside(_plain(held[2])) if held and descriptor is not None else None
        match name:
            case "open" | "openat" | "creat":
                return self._opened(strings[0], arguments, result)
            case "write" | "writev" | "pwrite64" | "pwritev" if descriptor == 1:
                return [Said(b"".join(strings)[:result].decode())]
            case "write" | "writev" if inside in self._names and descriptor is not None:
                return [self._written(descriptor, inside, None, b"".join(strings)[:result])]
            case "pwrite64" | "pwritev" if inside in self._names and descriptor is not None:
                offset = int(arguments.rsplit(", ", 1)[1])
                return [self._written(descriptor, inside, offset, b"".join(strings)[:result])]
            case "lseek" if descriptor is not None:
                self._position[descriptor] = result
            case "ftruncate" if inside in self._names:
                size = int(arguments.rsplit(", ", 1)[1])
                self._size[self._names[inside]] = size
                return [Truncate(self._names[inside], size)]
            case "fsync" | "fdatasync" if inside is not None:
                if inside in self._names:
                    return [SyncFile(self._names[inside])]
                return [SyncFolder(inside)]
            case "rename" | "renameat" | "renameat2":
                old, new = self._inside(strings[0].decode()), self._inside(strings[1].decode())
                if old in self._names and new is not None:
                    self._names[new] = self._names.pop(old)
                    return [Rename(old, new, self._names[new])]
            case "unlink" | "unlinkat":
                path = self._inside(strings[0].decode())
                if self._names.pop(path or "", None) is not None and path is not None:
                    return [Unlink(path)]
            case "mkdir" | "mkdirat":
                path = self._inside(strings[0].decode())
                return [] if path is None else [MakeFolder(path)]
        return []

    def _opened(self, path: bytes, arguments: str, descriptor: int) -> list[Call]:
        self._position[descriptor] = 0
        self._appends[descriptor] = "O_APPEND" in arguments
        name = self._inside(path.decode())
        found: list[Call] = []
        if name is None:
            return found
        if "O_CREAT" in arguments and name not in self._names:
            self._names[name] = next(self._fresh)
            self._size[self._names[name]] = 0
            found.append(Create(name, self._names[name]))
        if "O_TRUNC" in arguments and name in self._names:
            self._size[self._names[name]] = 0
            found.append(Truncate(self._names[name], 0))
        return found

    def _written(self, descriptor: int, name: str | None, at: int | None, content: bytes) -> Write:
        file = self._names[name or ""]
        offset = at
        if offset is None:
            appends = self._appends.get(descriptor, False)
            offset = self._size[file] if appends else self._position.get(descriptor, 0)
            self._position[descriptor] = offset + len(content)
        self._size[file] = max(self._size[file], offset + len(content))
        return Write(file, offset, content)

    def _inside(self, path: str) -> str | None:
        """The path within the folder, when it is in it; relative ones are not looked at."""
        whole = Path(path)
        inside = self._root in (whole, *whole.parents)
        return whole.relative_to(self._root).as_posix() if inside else None


def _plain(text: str) -> str:
    return bytes.fromhex(text.replace("\\x", "")).decode(errors="replace")
