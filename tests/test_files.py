"""Reading a file of text that may be anything at all."""

import errno
import os
import sys
from pathlib import Path

import pytest

from caller.errors import PatternFileError
from caller.files import make_folder, read_whole, write_all_whole, write_whole
from caller.pattern.storage.pattern_file import load
from caller.toml_tables import LARGEST_FILE

NO_DEVICES = pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX files")


@pytest.mark.parametrize("size", [0, 1, 99, 100])
def test_a_file_up_to_the_limit_is_read(tmp_path, size):
    (tmp_path / "file").write_bytes(b"x" * size)
    assert read_whole(tmp_path / "file", 100) == b"x" * size


def test_one_byte_more_is_refused(tmp_path):
    (tmp_path / "file").write_bytes(b"x" * 101)
    with pytest.raises(OSError, match="larger than 100 bytes") as told:
        read_whole(tmp_path / "file", 100)
    assert told.value.errno == errno.EFBIG


@NO_DEVICES
def test_what_never_ends_is_not_read(tmp_path):
    """A device that tells a size of nothing, a pipe into which nobody writes, a folder."""
    (tmp_path / "zero.toml").symlink_to("/dev/zero")
    os.mkfifo(tmp_path / "pipe.toml")
    (tmp_path / "folder.toml").mkdir()
    for name in ("zero.toml", "pipe.toml", "folder.toml"):
        with pytest.raises(PatternFileError, match="ordinary file"):
            load(tmp_path / name)


def test_a_large_file_is_told_the_limit(tmp_path):
    (tmp_path / "large.toml").write_bytes(b"#" * (LARGEST_FILE + 1))
    with pytest.raises(PatternFileError, match="1,000,000 bytes at most"):
        load(tmp_path / "large.toml")


@NO_DEVICES
@pytest.mark.parametrize("name", ["zero.png", "pipe.png"])
def test_a_picture_that_never_ends(tmp_path, name):
    (tmp_path / "zero.png").symlink_to("/dev/zero")
    os.mkfifo(tmp_path / "pipe.png")
    with pytest.raises(PatternFileError.__base__, match="not a file"):
        load(tmp_path / name)


@NO_DEVICES
def test_the_rights_of_what_is_made(tmp_path):
    umask = os.umask(0o027)
    try:
        write_whole(tmp_path / "usual", b"a")
        write_all_whole({tmp_path / "own": b"b"}, 0o600)
        make_folder(tmp_path / "outer" / "inner", 0o700)
    finally:
        os.umask(umask)
    rights = {path.name: path.stat().st_mode & 0o777 for path in tmp_path.rglob("*")}
    assert rights == {"usual": 0o640, "own": 0o600, "outer": 0o750, "inner": 0o700}


@NO_DEVICES
def test_a_device_is_never_replaced(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(OSError, match="it is not an ordinary file") as told:
        write_whole(tmp_path / "pipe", b"a")
    assert told.value.errno == errno.EINVAL
    assert [path.name for path in tmp_path.iterdir()] == ["pipe"]


def test_a_folder_that_another_program_makes_meanwhile_is_no_error(tmp_path, monkeypatch):
    answers = iter([False])  # it is not there yet; then it is
    is_dir = Path.is_dir
    monkeypatch.setattr(
        Path, "is_dir", lambda path: next(answers, True) if path.name == "there" else is_dir(path)
    )
    (tmp_path / "there").mkdir()
    make_folder(tmp_path / "there")
    assert list(tmp_path.iterdir()) == [tmp_path / "there"]


def test_a_full_disk_leaves_every_file_as_it_was(tmp_path, monkeypatch):
    (tmp_path / "one").write_bytes(b"before")

    def full(descriptor, content):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    with pytest.raises(OSError, match="No space") as told:
        write_all_whole({tmp_path / "one": b"after", tmp_path / "two": b"new"})
    assert told.value.errno == errno.ENOSPC
    assert [path.name for path in tmp_path.iterdir()] == ["one"]
    assert (tmp_path / "one").read_bytes() == b"before"


@NO_DEVICES
@pytest.mark.parametrize("knows", [True, False])
def test_a_mac_empties_the_cache_of_the_drive(tmp_path, monkeypatch, knows):
    """Apple's fcntl(2): fsync alone "may not" write it; F_FULLFSYNC, 51, asks the drive to."""
    import fcntl

    asked, synced = [], []

    def answer(descriptor, command):
        asked.append((os.fstat(descriptor).st_size, command))
        if not knows:
            raise OSError(errno.ENOTSUP, "Operation not supported")

    monkeypatch.setattr(sys, "platform", "darwin")
    monkeypatch.setattr(fcntl, "F_FULLFSYNC", 51, raising=False)
    monkeypatch.setattr(fcntl, "fcntl", answer)
    monkeypatch.setattr(os, "fsync", lambda descriptor: synced.append(os.fstat(descriptor).st_size))
    write_whole(tmp_path / "file", b"abc")
    assert asked == [(3, 51)]
    assert (3 in synced) is not knows
