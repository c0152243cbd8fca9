"""Tracks to take along: real files, written, decoded back and measured."""

import os
import re
import subprocess
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import mutagen
import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st

from caller.devices.sound.sound_files import FORMATS
from caller.devices.voices.espeak import EspeakVoice
from caller.errors import SettingError, SoundError, VoiceError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.yarns import Yarn
from caller.plain_text import plain
from caller.settings import CallSettings, VoiceSettings
from caller.sheets.file_names import stem
from caller.sheets.tracks.loudness import loudness_lufs, true_peaks
from caller.sheets.tracks.tracks import Tracks, parse_rows, write_tracks

YARNS = (Yarn("navy", "#1d3557"), Yarn("ivory", "#f5ecd7"))
SETTINGS = VoiceSettings(rate_wpm=300)


def pattern(rows: int = 7, title: str = "Sailing boat", **parts) -> Pattern:
    cells = np.zeros((rows, 8), dtype=np.uint8)
    cells[:, 4:] = 1
    return Pattern(title, Chart(cells), YARNS, **parts)


def write(made_from: Pattern, folder: Path, settings=SETTINGS, **options) -> Tracks:
    voice = EspeakVoice(rate_wpm=settings.rate_wpm)
    return write_tracks(made_from, folder, voice, settings, **options)


def new_rows(tracks: Tracks) -> list[int]:
    return [track.row for track in tracks.tracks if track.new]


def played(playlist: Path) -> list[tuple[int, str, Path]]:
    """The seconds, title and file of each entry, as a player reads an extended M3U."""
    lines = playlist.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "#EXTM3U"
    entries, told = [], None
    for line in lines[1:]:
        if found := re.fullmatch(r"#EXTINF:(\d+),(.*)", line):
            told = (int(found[1]), found[2])
        elif not line.startswith("#"):
            assert told is not None
            assert not Path(line).is_absolute()
            entries.append((*told, playlist.parent / line))
            told = None
    return entries


def hidden(folder: Path) -> list[str]:
    return [path.name for path in folder.iterdir() if path.name.startswith(".")]


@pytest.mark.parametrize("ending", FORMATS)
def test_every_kind_of_file(ending, tmp_path):
    written = write(pattern(rows=2), tmp_path, ending=ending)
    assert [track.path.name for track in written.tracks] == [
        f"sailing-boat-001.{ending}",
        f"sailing-boat-002.{ending}",
    ]
    for number, track in enumerate(written.tracks, start=1):
        samples, rate = soundfile.read(track.path)
        assert rate == 22_050
        assert samples.ndim == 1
        assert len(samples) / rate == pytest.approx(track.seconds, abs=0.1)
        assert loudness_lufs(samples, rate) == pytest.approx(-16, abs=0.3)
        assert 20 * np.log10(true_peaks(samples).max()) <= -0.98
        tags = mutagen.File(track.path).tags
        title = f"Row {number}, going {'right' if number == 1 else 'left'}"
        if ending in ("ogg", "flac"):
            shown = [tags[k][0] for k in ("title", "album", "tracknumber", "tracktotal")]
            assert shown == [title, "Sailing boat", str(number), "2"]
        else:
            shown = [str(tags[k]) for k in ("TIT2", "TALB", "TRCK")]
            assert shown == [title, "Sailing boat", f"{number}/2"]
        if ending != "wav":  # libsndfile, which did not write these tags, reads all but WAV's
            with soundfile.SoundFile(track.path) as file:
                assert (file.title, file.album) == (title, "Sailing boat")


def test_it_says_the_row(tmp_path):
    few, many = pattern(rows=1), pattern(rows=1, reminders=(Reminder(1, "move the weights up"),))
    short = write(few, tmp_path / "a").tracks[0].seconds
    long = write(many, tmp_path / "b").tracks[0].seconds
    own = sum(b.seconds for b in EspeakVoice(rate_wpm=300).render("Remember: move the weights up."))
    assert long - short == pytest.approx(own + 0.15, abs=0.1)


def test_the_playlist(tmp_path):
    written = write(pattern(), tmp_path)
    assert written.playlist == tmp_path / "sailing-boat.m3u8"
    entries = played(written.playlist)
    assert [path for _, _, path in entries] == sorted(tmp_path.glob("*.ogg"))
    for (seconds, title, path), track in zip(entries, written.tracks, strict=True):
        assert seconds == round(soundfile.info(path).duration)
        assert (title, path) == (track.title, track.path)
    assert not hidden(tmp_path)


def test_names_sort_in_the_order_of_the_rows(tmp_path):
    tall = pattern(rows=1012)
    written = write(tall, tmp_path, rows=(9, 10)), write(tall, tmp_path, rows=(1010, 1010))
    assert [path.name for path in sorted(tmp_path.glob("*.ogg"))] == [
        "sailing-boat-0009.ogg",
        "sailing-boat-0010.ogg",
        "sailing-boat-1010.ogg",
    ]
    assert [track.row for track in written[1].tracks] == [9, 10, 1010]


class StoppedError(Exception):
    """The knitter has had enough."""


def stop_after(row: int):
    def progress(track):
        if track.row == row:
            raise StoppedError

    return progress


@pytest.mark.parametrize("ending", FORMATS)
def test_an_interrupted_run_is_carried_on(ending, tmp_path):
    boat = pattern()
    with pytest.raises(StoppedError):
        write(boat, tmp_path, ending=ending, progress=stop_after(5))
    playlist = tmp_path / "sailing-boat.m3u8"
    assert [path.stem[-3:] for _, _, path in played(playlist)] == [
        "001",
        "002",
        "003",
        "004",
        "005",
    ]

    files = sorted(tmp_path.glob(f"*.{ending}"))
    before = {path: path.stat().st_mtime_ns for path in files}
    cut, flipped, emptied = files[0], files[2], files[3]
    cut.write_bytes(cut.read_bytes()[: cut.stat().st_size * 2 // 3])
    content = bytearray(flipped.read_bytes())
    middle = len(content) // 2
    content[middle : middle + 64] = bytes(range(64, 128))
    flipped.write_bytes(content)
    emptied.write_bytes(b"")
    (tmp_path / f".sailing-boat-006.{ending}.part").write_bytes(b"half")
    (tmp_path / ".sailing-boat.m3u8.room").write_bytes(b"half")
    (tmp_path / ".notes.part").write_bytes(b"somebody else's")

    heard = []
    written = write(boat, tmp_path, ending=ending, progress=heard.append)
    assert new_rows(written) == [1, 3, 4, 6, 7]
    assert [track.row for track in heard] == [1, 2, 3, 4, 5, 6, 7]
    assert [path for _, _, path in played(playlist)] == sorted(tmp_path.glob(f"*.{ending}"))
    for path in (files[1], files[4]):
        assert path.stat().st_mtime_ns == before[path]
    assert hidden(tmp_path) == [".notes.part"]
    assert new_rows(write(boat, tmp_path, ending=ending)) == []


def test_only_what_changed_is_made_again(tmp_path):
    boat = pattern()
    write(boat, tmp_path)
    cells = boat.chart.cells.copy()
    cells[2, 3] = 1
    changed = replace(boat, chart=Chart(cells))
    assert new_rows(write(changed, tmp_path)) == [3]
    assert new_rows(write(replace(changed, first_direction="left"), tmp_path)) == list(range(1, 8))
    slower = write(boat, tmp_path, settings=VoiceSettings(rate_wpm=200), rows=(2, 3))
    assert new_rows(slower) == [2, 3]
    # A track of another version may name other needles: the playlist must not play it.
    assert [track.row for track in slower.tracks] == [2, 3]
    assert [path.name[-7:-4] for path in slower.outdated] == ["001", "004", "005", "006", "007"]
    assert [path for _, _, path in played(slower.playlist)] == [t.path for t in slower.tracks]


def test_the_wording_is_the_knitters_choice(tmp_path):
    short = write(pattern(2), tmp_path).tracks
    again = write(pattern(2), tmp_path, calls=CallSettings())
    assert new_rows(again) == []
    full = write(pattern(2), tmp_path, calls=CallSettings(wording="full", numbers="digits"))
    assert new_rows(full) == [1, 2]
    # Row 1 begins with the ends to hang, which sound alike.
    assert full.tracks[1].seconds > 1.3 * short[1].seconds


def test_two_parts_of_a_pattern_make_one_playlist(tmp_path):
    write(pattern(), tmp_path, rows=(1, 2))
    written = write(pattern(), tmp_path, rows=(4, 4))
    assert [track.row for track in written.tracks] == [1, 2, 4]
    assert new_rows(written) == [4]
    assert written.outdated == ()


def test_sound_of_others_is_not_overwritten(tmp_path):
    own = tmp_path / "sailing-boat-002.ogg"
    soundfile.write(own, np.zeros(1000), 22_050)
    content = own.read_bytes()
    with pytest.raises(SettingError, match=r"sailing-boat-002\.ogg is in the way"):
        write(pattern(), tmp_path)
    assert own.read_bytes() == content
    assert [path.name for path in tmp_path.iterdir()] == [own.name]
    written = write(pattern(), tmp_path, rows=(3, 3))
    assert [track.row for track in written.tracks] == [3]


def test_a_folder_in_the_way_of_a_track(tmp_path):
    (tmp_path / "sailing-boat-002.ogg").mkdir()
    with pytest.raises(SettingError, match="in the way"):
        write(pattern(), tmp_path)


class FailingVoice(EspeakVoice):
    """A voice that fails at the third row."""

    def render(self, text: str) -> Iterator:
        if text.startswith("Row number three"):
            raise VoiceError("The voice failed.")
        return super().render(text)


def test_a_voice_that_fails(tmp_path):
    with pytest.raises(VoiceError):
        write_tracks(pattern(), tmp_path, FailingVoice(rate_wpm=300), SETTINGS)
    assert [path.name[-7:-4] for _, _, path in played(tmp_path / "sailing-boat.m3u8")] == [
        "001",
        "002",
    ]
    assert not hidden(tmp_path)


@pytest.fixture
def small_disk(tmp_path):
    """A file system of its own with room for three or four tracks."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=160k", "tmpfs", str(place)]
    try:
        subprocess.run(mount, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("a small file system can only be mounted by root")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def assert_whole(folder: Path) -> int:
    """Every sound file can be read to its end and the playlist lists exactly these; how many."""
    files = sorted(folder.glob("*.ogg"))
    for path in files:
        assert len(soundfile.read(path)[0]) / 22_050 > 1
    assert [path for _, _, path in played(folder / "sailing-boat.m3u8")] == files
    assert not hidden(folder)
    return len(files)


def test_a_full_disk(small_disk):
    with pytest.raises(SoundError) as told:
        write(pattern(), small_disk)
    count = assert_whole(small_disk)
    assert 2 <= count <= 6
    assert f"No space left on device. {count} of 7 tracks are there" in str(told.value)

    with pytest.raises(SoundError, match=f"{count} of 7"):
        write(pattern(), small_disk)
    assert assert_whole(small_disk) == count
    sizes = [path.stat().st_size for path in small_disk.glob("*.ogg")]
    subprocess.run(["mount", "-o", "remount,size=1m", str(small_disk)], check=True)
    written = write(pattern(), small_disk)
    assert len(new_rows(written)) == 7 - count
    assert len(sizes) == count


def test_a_disk_that_was_full_before(small_disk):
    with pytest.raises(OSError, match="No space"):
        (small_disk / "filler").write_bytes(bytes(200_000))
    with pytest.raises(SoundError, match="No space left on device"):
        write(pattern(), small_disk)
    assert {path.name for path in small_disk.iterdir()} <= {"filler", "sailing-boat.m3u8"}


@contextmanager
def no_file_longer_than(size: int) -> Iterator[None]:
    """Nothing can be written behind so many bytes of a file, as where a disk is full."""
    resource = pytest.importorskip("resource")
    usual, most = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, most))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (usual, most))


def test_a_file_that_cannot_grow(tmp_path):
    message = "^Nothing more can be written into .*0 of 3 tracks are there"
    # Less than any track, more than the playlist.
    with no_file_longer_than(9000), pytest.raises(SoundError, match=message):
        write(pattern(rows=3), tmp_path)
    assert assert_whole(tmp_path) == 0


def test_folders_that_cannot_be_used(tmp_path):
    file = tmp_path / "notes.txt"
    file.write_text("mine")
    for folder in (file, file / "deeper"):
        with pytest.raises(SettingError, match="cannot be used"):
            write(pattern(), folder)
    assert file.read_text() == "mine"
    assert list(tmp_path.iterdir()) == [file]


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_permission(tmp_path):
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o500)
    with pytest.raises(SoundError, match="Permission denied"):
        write(pattern(), folder)


@pytest.mark.parametrize("ending", ["", "opus", "OGG", "exe", "ogg/../x"])
def test_unknown_kinds(ending, tmp_path):
    with pytest.raises(SettingError, match="choose ogg, flac, mp3, wav"):
        write(pattern(), tmp_path / "new", ending=ending)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize("rows", [(0, 3), (3, 8), (5, 4), (-1, -1), (8, 8)])
def test_rows_that_are_not_there(rows, tmp_path):
    with pytest.raises(SettingError, match=r"run backwards|rows are 1 to 7"):
        write(pattern(), tmp_path / "new", rows=rows)
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12-40", (12, 40)),
        ("12", (12, 12)),
        (" 1 - 118 ", (1, 118)),
        ("7–9", (7, 9)),
        ("007", (7, 7)),
    ],
)
def test_rows_as_written(text, expected):
    assert parse_rows(text, 118) == expected


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "'' does not name rows; write one like 12, or several like 12-40."),
        ("twelve", "'twelve' does not name rows"),
        ("12-", "'12-' does not name rows"),
        ("1-2-3", "does not name rows"),
        ("-3", "does not name rows"),
        ("1.5", "does not name rows"),
        ("١٢", "does not name rows"),
        ("9" * 5000, "does not name rows"),
        ("40-12", "Rows 40-12 run backwards; write 12-40."),
        ("0", "There is no row 0 in this pattern; its rows are 1 to 118."),
        ("119", "There is no row 119 in this pattern; its rows are 1 to 118."),
        ("100-119", "Rows 100-119 are not all in this pattern; its rows are 1 to 118."),
    ],
)
def test_rows_that_make_no_sense(text, sentence):
    with pytest.raises(SettingError) as told:
        parse_rows(text, 118)
    assert sentence in str(told.value)
    assert len(str(told.value)) < 150


@given(st.integers(1, 2000), st.data())
def test_rows_come_back(rows, data):
    first = data.draw(st.integers(1, rows))
    last = data.draw(st.integers(first, rows))
    assert parse_rows(f"{first}-{last}", rows) == (first, last)


# "Naming Files, Paths, and Namespaces" (learn.microsoft.com), checked by hand: these, whatever the
# case and the ending; names that end in a dot or a space lose it.
RESERVED = ["con", "prn", "aux", "nul"]
RESERVED += [f"{port}{digit}" for port in ("com", "lpt") for digit in "0123456789¹²³"]


@pytest.mark.parametrize("name", RESERVED)
def test_titles_that_windows_takes_for_a_device(name):
    for title in (name, name.upper(), f"{name}. ", f" {name}\u200b...", f"{name.title()} "):
        assert stem(title) == f"{name}-pattern"
    for title in (f"{name}.txt", f"{name} 7", f"my {name}"):
        assert stem(title).split(".")[0] not in RESERVED


def test_two_patterns_of_one_title_in_one_folder(tmp_path):
    boat, other = pattern(rows=2), pattern(rows=3, first_direction="left")
    ours = {"folder": tmp_path / "out", "origin": tmp_path / "a" / "boat.toml"}
    theirs = {"folder": tmp_path / "out", "origin": tmp_path / "b" / "boat.toml"}
    first = write(boat, **ours)
    second = write(other, **theirs)
    assert [track.path.name for track in second.tracks] == [
        f"sailing-boat-2-00{row}.ogg" for row in (1, 2, 3)
    ]
    assert second.playlist.name == "sailing-boat-2.m3u8"
    albums = {mutagen.File(track.path)["album"][0] for track in (*first.tracks, *second.tracks)}
    assert albums == {"Sailing boat", "Sailing boat (2)"}
    # Each finds its own again, changed or not, also as another kind of file; a third gets a name.
    assert new_rows(write(boat, **ours)) == []
    assert new_rows(write(other, **theirs)) == []
    assert new_rows(write(replace(boat, first_direction="left"), **ours)) == [1, 2]
    assert write(other, **theirs, ending="wav", rows=(1, 1)).playlist == second.playlist
    third = write(boat, tmp_path / "out", origin=tmp_path / "c.toml", rows=(1, 1))
    assert third.playlist.name == "sailing-boat-3.m3u8"


def test_a_folder_that_is_moved_keeps_its_tracks(tmp_path):
    write(pattern(rows=1), tmp_path / "here" / "out", origin=tmp_path / "here" / "boat.toml")
    (tmp_path / "here").rename(tmp_path / "there")
    moved = write(
        pattern(rows=1), tmp_path / "there" / "out", origin=tmp_path / "there" / "boat.toml"
    )
    assert new_rows(moved) == []


@given(st.text(max_size=300))
def test_titles_become_harmless_file_names(title):
    name = stem(title)
    assert len(f".{name}-0012.flac.part".encode()) <= 255
    assert name
    assert not set(name) & set('/\\:*?"<>|. \n\0')
    assert not name.startswith("-")
    assert "\n" not in plain(title)


def test_odd_titles(tmp_path):
    written = write(pattern(rows=1, title="Å/../<b>\n#EXTINF:1,\0x"), tmp_path)
    assert [path.parent for path in (written.playlist, written.tracks[0].path)] == [tmp_path] * 2
    assert len(played(written.playlist)) == 1
    assert mutagen.File(written.tracks[0].path)["album"] == ["Å/../<b> #EXTINF:1, x"]
