"""The store of takes: private, whole or not at all, and never a traceback."""

import os
import stat
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller import files
from caller.calling.commands import Command
from caller.calling.enrolment.takes import MOST
from caller.devices.storage import take_store
from caller.errors import ListeningError

posix = pytest.mark.skipif(sys.platform == "win32", reason="Windows has no such modes")


@pytest.fixture(autouse=True)
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("CALLER_OWN_VOICE", str(tmp_path / "data" / "own"))
    return tmp_path / "data" / "own"


@pytest.fixture
def umask():
    """Sets the umask for the test alone."""
    before = os.umask(0o022)
    yield os.umask
    os.umask(before)


def take(number: int, seconds: float = 0.5) -> np.ndarray:
    random = np.random.default_rng(number)
    return random.integers(-9000, 9000, round(seconds * 16_000)).astype(np.int16)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_nothing_is_taught_at_first(folder):
    assert take_store.kept().taught == {}
    assert take_store.kept() == take_store.KeptTakes({}, ())
    assert not folder.exists(), "reading makes nothing"


def test_what_is_kept_is_read_back_sample_by_sample(folder):
    said = [take(1), take(2), take(3)]
    take_store.keep(Command.NEXT, said)
    assert names(folder / "next") == ["take-1.wav", "take-2.wav", "take-3.wav"]
    (name, back), *others = take_store.kept().taught.items()
    assert name == "next"
    assert others == []
    for one, other in zip(said, back, strict=True):
        assert other.dtype == np.int16
        assert np.array_equal(one, other)


@settings(max_examples=30, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(list(Command)),
        st.lists(st.binary(min_size=2, max_size=400), min_size=1, max_size=MOST),
    )
)
def test_any_takes_come_back_and_three_make_a_command_taught(said):
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setenv("CALLER_OWN_VOICE", folder)
        for command, contents in said.items():
            sounds = [np.frombuffer(c[: len(c) // 2 * 2], dtype="<i2") for c in contents]
            take_store.keep(command, sounds)
        kept = take_store.kept()
        assert kept.troubles == ()
        assert {name: len(takes) for name, takes in kept.takes.items()} == {
            command.value: len(contents) for command, contents in said.items()
        }
        for command, contents in said.items():
            for content, back in zip(contents, kept.takes[command.value], strict=True):
                assert back.astype("<i2").tobytes() == content[: len(content) // 2 * 2]
        assert set(take_store.kept().taught) == {
            c.value for c, takes in said.items() if len(takes) >= 3
        }


@posix
@pytest.mark.parametrize("mask", [0o000, 0o022, 0o077, 0o777])
def test_only_the_knitter_can_read_them_whatever_the_umask(folder, umask, mask):
    folder.parent.mkdir()
    umask(mask)
    take_store.keep(Command.BACK, [take(1)] * 3)
    umask(0o022)
    assert mode(folder) == mode(folder / "back") == 0o700
    assert {mode(path) for path in (folder / "back").iterdir()} == {0o600}


@posix
def test_folders_and_files_that_were_open_before_are_closed(folder, umask):
    umask(0)
    for name in ("next", "back"):
        (folder / name).mkdir(parents=True)
        (folder / name / "take-1.wav").write_bytes(b"")
    (folder / "next" / ".take-1.wav.part").write_bytes(b"left by a power cut")
    take_store.keep(Command.NEXT, [take(1)])
    assert mode(folder / "next") == 0o700
    assert mode(folder) == 0o777  # a folder that the knitter named may hold other things too
    assert mode(folder / "next" / "take-1.wav") == 0o600
    assert mode(folder / "back" / "take-1.wav") == 0o600
    assert names(folder / "next") == ["take-1.wav"]


@posix
def test_the_sound_is_never_in_a_file_that_others_can_read(folder, umask, monkeypatch):
    """Looked at when the first byte is about to be written."""
    umask(0)
    seen = []
    really = os.write

    def look(descriptor, content):
        seen.append((stat.S_IMODE(os.fstat(descriptor).st_mode), os.fstat(descriptor).st_size))
        return really(descriptor, content)

    monkeypatch.setattr(files.os, "write", look)
    take_store.keep(Command.NEXT, [take(1)] * 3)
    assert seen == [(0o600, 0)] * 3


def test_fewer_takes_replace_more():
    take_store.keep(Command.NEXT, [take(n) for n in range(5)])
    take_store.keep(Command.NEXT, [take(n) for n in range(10, 13)])
    back = take_store.kept().taught["next"]
    assert [len(back), *(sound[0] for sound in back)] == [3, *(take(n)[0] for n in range(10, 13))]


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(b"", id="empty"),
        pytest.param(b"not a sound", id="text"),
        pytest.param(b"RIFF\x24\x00\x00\x00WAVEfmt ", id="torn"),
        pytest.param(b"\0" * 3_000_000, id="too large"),
    ],
)
def test_a_damaged_take_is_named_and_the_others_work(folder, content):
    for command in (Command.NEXT, Command.BACK):
        take_store.keep(command, [take(n) for n in range(4)])
    damaged = folder / "next" / "take-2.wav"
    damaged.write_bytes(content)
    kept = take_store.kept()
    (trouble,) = kept.troubles
    assert str(damaged) in trouble.finding
    assert trouble.remedy == "teach that command again with: row-caller teach --commands next"
    assert {name: len(takes) for name, takes in kept.taught.items()} == {"next": 3, "back": 4}


def test_two_good_takes_beside_a_damaged_one_are_not_taught(folder):
    take_store.keep(Command.NEXT, [take(n) for n in range(3)])
    (folder / "next" / "take-3.wav").write_bytes(b"?")
    assert take_store.kept().taught == {}
    assert len(take_store.kept().takes["next"]) == 2
    take_store.keep(Command.NEXT, [take(n) for n in range(3)])
    assert take_store.kept().troubles == ()


def test_a_folder_in_the_place_of_a_take_is_named(folder):
    take_store.keep(Command.NEXT, [take(n) for n in range(3)])
    (folder / "next" / "take-4.wav").mkdir()
    assert "take-4.wav" in str(take_store.kept().troubles[0])
    assert list(take_store.kept().taught) == ["next"]


@pytest.mark.parametrize("what", ["iterdir", "stat"])
def test_what_may_not_be_read_is_told(folder, monkeypatch, what):
    take_store.keep(Command.NEXT, [take(n) for n in range(3)])
    really = getattr(Path, what)

    def refuse(path, *arguments, **named):
        if path.suffix == ".wav" or what == "iterdir":
            raise PermissionError(13, "Permission denied")
        return really(path, *arguments, **named)

    monkeypatch.setattr(Path, what, refuse)
    kept = take_store.kept()
    assert kept.taught == {}
    assert all("caller teach --commands next" in one.remedy for one in kept.troubles)
    assert kept.troubles != ()


def test_a_file_in_the_place_of_the_folder_is_refused(folder):
    folder.parent.mkdir()
    folder.write_text("something else")
    assert take_store.kept().taught == {}
    with pytest.raises(ListeningError, match=r"cannot be kept in .*next.*CALLER_OWN_VOICE"):
        take_store.keep(Command.NEXT, [take(1)])
    assert folder.read_text() == "something else"


@pytest.mark.parametrize("failing", [1, 2, 3])
def test_a_full_disk_leaves_the_takes_before(folder, monkeypatch, failing):
    before = [take(n) for n in range(3)]
    take_store.keep(Command.NEXT, before)
    really, calls = os.write, []

    def fill(descriptor, content):
        calls.append(descriptor)
        if len(calls) == failing:
            really(descriptor, content[:9])
            raise OSError(28, "No space left on device")
        return really(descriptor, content)

    monkeypatch.setattr(files.os, "write", fill)
    with pytest.raises(ListeningError, match="No space left on device"):
        take_store.keep(Command.NEXT, [take(n) for n in range(10, 13)])
    assert names(folder / "next") == ["take-1.wav", "take-2.wav", "take-3.wav"]
    for one, other in zip(before, take_store.kept().taught["next"], strict=True):
        assert np.array_equal(one, other)


def test_one_command_or_all_are_forgotten_and_nothing_else(folder):
    for command in (Command.NEXT, Command.BACK, Command.WHERE):
        take_store.keep(command, [take(n) for n in range(3)])
    (folder / "back" / "letter.txt").write_text("mine")
    (folder / "letter.txt").write_text("mine too")
    assert take_store.forget(Command.NEXT) == (Command.NEXT,)
    assert take_store.forget(Command.NEXT) == ()
    assert set(take_store.kept().taught) == {"back", "where"}
    assert take_store.forget() == (Command.BACK, Command.WHERE)
    assert take_store.kept() == take_store.KeptTakes({}, ())
    assert names(folder) == ["back", "letter.txt"]
    assert names(folder / "back") == ["letter.txt"]


def test_a_take_that_cannot_be_erased_is_told(folder):
    (folder / "next" / "take-1.wav").mkdir(parents=True)
    with pytest.raises(ListeningError, match="cannot be erased"):
        take_store.forget()


def test_the_users_own_folder_is_used_unless_another_is_named(monkeypatch, tmp_path):
    monkeypatch.delenv("CALLER_OWN_VOICE")
    if sys.platform.startswith("linux"):
        # The XDG base directory specification: data of one user.
        monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "share"))
        assert take_store.store_folder() == tmp_path / "share" / "caller" / "own-voice"
    assert take_store.store_folder().name == "own-voice"


def test_a_recording_at_another_rate_is_brought_to_16_kHz(folder):  # noqa: N802
    soundfile = pytest.importorskip("soundfile")
    take_store.keep(Command.NEXT, [take(1)])
    soundfile.write(folder / "next" / "take-1.wav", np.zeros((48_000, 2)), 48_000)
    assert len(take_store.kept().takes["next"][0]) == 16_000
