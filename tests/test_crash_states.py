"""The simulator of power cuts against protocols of known strength (computed by hand)."""

import os
from pathlib import Path

import pytest
from crash_states import (
    Create,
    Disk,
    MakeFolder,
    Recorder,
    Rename,
    Said,
    SyncFile,
    SyncFolder,
    Truncate,
    Unlink,
    Write,
    announced,
    crash_states,
)

OLD = Disk({"a": -1}, {-1: b"old"})


def found(before, *log, after=None):
    """What may stand in the file a; None where it is not there."""
    return {
        crash.disk.files().get("a")
        for crash in crash_states(before, log)
        if after is None or crash.calls >= after
    }


def test_a_write_may_be_lost_torn_or_zeros():
    log = (Write(-1, 3, b"er"),)
    assert found(OLD, *log) == {b"old", b"olde", b"older", b"old\0\0", b"olde\0"}
    assert found(OLD, *log, SyncFile(-1), after=2) == {b"older"}
    assert found(OLD, *log, SyncFile(-2), after=2) == found(OLD, *log)


def test_two_writes_may_be_kept_out_of_order():
    states = found(OLD, Write(-1, 3, b"1"), Write(-1, 4, b"2"))
    assert b"old\0002" in states
    assert b"old1" in states
    assert b"old12" in states


def test_overwriting_in_place_may_lose_both():
    assert b"" in found(OLD, Truncate(-1, 0), Write(-1, 0, b"new"))


NEW = (Create("p", 1), Write(1, 0, b"new"))
SWAP = (Rename("p", "a", 1),)


def test_the_whole_way_of_replacing_a_file():
    log = (*NEW, SyncFile(1), *SWAP, SyncFolder("."))
    assert found(OLD, *log) == {b"old", b"new"}
    assert found(OLD, *log, after=5) == {b"new"}


def test_a_file_renamed_before_it_is_synced_may_be_empty():
    assert {b"", b"n", b"new"} < found(OLD, *NEW, *SWAP, SyncFolder("."))


def test_a_name_that_is_not_synced_may_be_lost():
    assert found(OLD, *NEW, SyncFile(1), *SWAP, after=4) == {b"old", b"new"}
    assert found(Disk(), Create("a", 1), SyncFile(1), after=2) == {None, b""}


def test_an_erased_file_may_come_back():
    assert found(OLD, Unlink("a"), after=1) == {b"old", None}
    assert found(OLD, Unlink("a"), SyncFolder("."), after=2) == {None}


def test_a_file_in_a_folder_that_is_not_synced_is_lost_with_it():
    log = (MakeFolder("f"), Create("f/a", 1), SyncFolder("f"))
    kept = [crash.disk.files() for crash in crash_states(Disk(), log) if crash.calls == 3]
    assert kept == [{"f/a": b""}, {}]
    synced = (*log, SyncFolder("."))
    kept = [crash.disk.files() for crash in crash_states(Disk(), synced) if crash.calls == 4]
    assert kept == [{"f/a": b""}]


def test_many_calls_that_are_not_synced_are_tried_in_part():
    log = [Write(-1, 3 + index, b"x") for index in range(20)]
    states = found(OLD, *log)
    assert {b"old", b"old" + b"x" * 20, b"old" + b"x" * 19} < states
    assert len(states) < 10_000


def test_what_was_said_and_what_comes():
    log = [Said(1), Write(-1, 0, b"x"), Said(2)]
    assert announced(log, 0) == (None, 1)
    assert announced(log, 1) == announced(log, 2) == (1, 2)
    assert announced(log, 3) == (2, None)


def test_the_recorder_notes_every_call(tmp_path):
    (tmp_path / "a").write_bytes(b"old")
    recorder = Recorder(tmp_path)
    with recorder.watching():
        descriptor = os.open(tmp_path / "p", os.O_CREAT | os.O_WRONLY, 0o600)
        os.write(descriptor, b"ne")
        os.write(descriptor, b"w")
        os.fsync(descriptor)
        os.close(descriptor)
        (tmp_path / "p").replace(tmp_path / "b")
        folder = os.open(tmp_path, os.O_RDONLY)
        os.fsync(folder)
        os.close(folder)
        more = os.open(tmp_path / "a", os.O_WRONLY | os.O_APPEND)
        os.write(more, b"er")
        os.ftruncate(more, 4)
        os.close(more)
        (tmp_path / "f").mkdir()
        (tmp_path / "b").unlink()
        recorder.said("done")
    assert recorder.log == [
        Create("p", 1),
        Write(1, 0, b"ne"),
        Write(1, 2, b"w"),
        SyncFile(1),
        Rename("p", "b", 1),
        SyncFolder("."),
        Write(-1, 3, b"er"),
        Truncate(-1, 4),
        MakeFolder("f"),
        Unlink("b"),
        Said("done"),
    ]


def test_a_change_past_the_recorder_is_noticed(tmp_path):
    with pytest.raises(AssertionError), Recorder(tmp_path).watching():
        Path(tmp_path / "a").write_bytes(b"past it")


def test_a_disk_is_laid_out(tmp_path):
    (tmp_path / "left").mkdir()
    (tmp_path / "left" / "over").write_bytes(b"")
    disk = Disk({"a": 1, "f/b": 2, "gone/c": 3}, {1: b"1", 2: b"2", 3: b"3"}, {"f"})
    disk.put(tmp_path)
    assert Disk.of(tmp_path).files() == {"a": b"1", "f/b": b"2"}
