"""A folder of the user's cache where sounds that took long to make wait for the next run."""

import hashlib
import sqlite3
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import platformdirs
from numpy.typing import NDArray
from sounds import Sound


def folder() -> Path:
    return platformdirs.user_cache_path("caller-bench", ensure_exists=True)


def digest(*parts: object) -> str:
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:24]


def kept_sounds(name: str, make: Callable[[], Sequence[Sound]]) -> list[Sound]:
    """The sounds that `make` made the first time this name was asked for."""
    path = folder() / "sounds" / f"{name}.npz"
    if not path.exists():
        made = make()
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_suffix(".part.npz")
        np.savez_compressed(part, **{str(index): sound for index, sound in enumerate(made)})
        part.replace(path)
    with np.load(path) as found:
        return [found[str(index)] for index in range(len(found.files))]


class KeptNumbers:
    """Rows of numbers 0 to 1 under a name, kept in a byte each."""

    def __init__(self, name: str) -> None:
        self._rows = sqlite3.connect(folder() / f"{name}.sqlite", timeout=60)
        self._rows.execute("pragma journal_mode = wal")
        self._rows.execute("pragma synchronous = off")  # it can be worked out again
        self._rows.execute("create table if not exists kept (name text primary key, bytes blob)")

    def get(self, name: str) -> NDArray[np.float64] | None:
        row = self._rows.execute("select bytes from kept where name = ?", (name,)).fetchone()
        if row is None:
            return None
        return np.frombuffer(zlib.decompress(row[0]), dtype=np.uint8) / 255

    def put(self, name: str, values: NDArray[np.float64]) -> NDArray[np.float64]:
        coded = np.rint(values * 255).astype(np.uint8)
        with self._rows:
            self._rows.execute(
                "insert or replace into kept values (?, ?)", (name, zlib.compress(coded.tobytes()))
            )
        return coded / 255
