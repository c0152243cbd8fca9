"""Sound files in and out; the files of others are written by SciPy and by soundfile itself."""

import sys

import numpy as np
import pytest
import scipy
import soundfile
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.ports import SoundBlock, silence
from caller.devices.sound.sound_files import read_sound, write_wav
from caller.errors import SoundError

RATE = 22_050
EVERY_VALUE = np.arange(-32768, 32768).astype(np.int16)


def test_what_is_written_is_read_back_exactly(tmp_path):
    blocks = [SoundBlock(part, RATE) for part in np.array_split(EVERY_VALUE, 7)]
    write_wav(tmp_path / "a.wav", blocks)
    rate, samples = scipy.io.wavfile.read(tmp_path / "a.wav")
    assert rate == RATE
    assert np.array_equal(samples, EVERY_VALUE)
    found = read_sound(tmp_path / "a.wav")
    assert (found.rate, found.samples.dtype) == (RATE, np.int16)
    assert np.array_equal(found.samples, EVERY_VALUE)


def test_blocks_of_another_rate_are_fitted_to_the_first(tmp_path):
    write_wav(tmp_path / "a.wav", [silence(0.5, RATE), silence(0.5, 16_000), silence(0, 8_000)])
    found = read_sound(tmp_path / "a.wav")
    assert found.rate == RATE
    assert found.seconds == pytest.approx(1.0, abs=0.001)


def test_an_older_file_is_replaced_and_nothing_else_is_left(tmp_path):
    (tmp_path / "a.wav").write_bytes(b"old")
    write_wav(tmp_path / "a.wav", [silence(0.1, RATE)])
    assert read_sound(tmp_path / "a.wav").seconds == pytest.approx(0.1)
    assert [path.name for path in tmp_path.iterdir()] == ["a.wav"]


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3", "aiff"])
@pytest.mark.parametrize("channels", [1, 2])
def test_kinds_of_files_mixed_to_mono(tmp_path, ending, channels):
    """AIFF is what the voices of macOS write."""
    time_s = np.arange(RATE) / RATE
    left = 0.5 * np.sin(2 * np.pi * 440 * time_s)
    sides = [left, np.zeros(RATE)][:channels]
    soundfile.write(tmp_path / f"a.{ending}", np.column_stack(sides), RATE)
    found = read_sound(tmp_path / f"a.{ending}")
    assert found.rate == RATE
    assert found.seconds == pytest.approx(1.0, abs=0.1)
    assert np.abs(found.samples).max() == pytest.approx(0.5 / channels * 32768, rel=0.05)


@pytest.mark.parametrize("kind", [np.uint8, np.int32, np.float32, np.float64])
def test_kinds_of_samples(tmp_path, kind):
    scale = {np.uint8: 127, np.int32: 2**31 - 1}.get(kind, 1)
    wave = 0.5 * np.sin(2 * np.pi * 440 * np.arange(RATE) / RATE)
    scipy.io.wavfile.write(
        tmp_path / "a.wav", RATE, (wave * scale + (128 if kind == np.uint8 else 0)).astype(kind)
    )
    found = read_sound(tmp_path / "a.wav")
    assert np.abs(found.samples - wave * 32768).max() < 400


def test_samples_that_are_no_numbers_are_silence(tmp_path):
    odd = np.array([0, np.nan, np.inf, -np.inf, 2, -2, 0.5], dtype=np.float32)
    scipy.io.wavfile.write(tmp_path / "a.wav", RATE, odd)
    assert read_sound(tmp_path / "a.wav").samples.tolist() == [
        *(0, 0, 32767, -32768, 32767, -32768, 16384)
    ]


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.wav", b""),
        ("a.wav", b"RIFF"),
        ("a.wav", b"RIFF\x24\0\0\0WAVEfmt "),
        ("a.mp3", b"x" * 3000),
        ("a.raw", b"x" * 3000),
        ("a.txt", b"Row one"),
        ("a.png", b"\x89PNG\r\n\x1a\n" + bytes(100)),
    ],
)
def test_no_sound(tmp_path, capfd, name, content):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(SoundError, match="is not a sound file that can be read"):
        read_sound(tmp_path / name)
    assert capfd.readouterr() == ("", ""), "nothing is written on the screen"


def test_missing_and_empty(tmp_path):
    for path in (tmp_path, tmp_path / "none.wav", tmp_path / "a\0b"):
        with pytest.raises(SoundError, match="There is no sound file"):
            read_sound(path)
    scipy.io.wavfile.write(tmp_path / "a.wav", RATE, EVERY_VALUE[:0])
    with pytest.raises(SoundError, match="is empty"):
        read_sound(tmp_path / "a.wav")


@settings(max_examples=60)
@given(cut=st.integers(0, 2000), at=st.integers(0, 1999), byte=st.integers(0, 255))
def test_a_damaged_file_is_a_sentence(tmp_path_factory, cut, at, byte):
    path = tmp_path_factory.getbasetemp() / "damaged.wav"
    scipy.io.wavfile.write(path, RATE, EVERY_VALUE[:978])
    content = bytearray(path.read_bytes())
    content[at] = byte
    path.write_bytes(content[:cut])
    try:
        seconds = read_sound(path).seconds
    except SoundError:
        return
    assert seconds > 0


def test_nothing_to_write(tmp_path):
    with pytest.raises(SoundError, match="nothing to say"):
        write_wav(tmp_path / "a.wav", [])
    assert list(tmp_path.iterdir()) == []


def test_where_nothing_can_be_written(tmp_path):
    (tmp_path / "folder").mkdir()
    for path in (tmp_path / "folder", tmp_path / "none" / "a.wav"):
        with pytest.raises(SoundError, match="cannot be written"):
            write_wav(path, [silence(0.1, RATE)])
    assert [path.name for path in tmp_path.iterdir()] == ["folder"]


def test_a_voice_that_fails_halfway_leaves_the_old_file(tmp_path):
    (tmp_path / "a.wav").write_bytes(b"old")

    def failing():
        yield silence(0.1, RATE)
        raise SoundError("no more")

    with pytest.raises(SoundError, match="no more"):
        write_wav(tmp_path / "a.wav", failing())
    assert (tmp_path / "a.wav").read_bytes() == b"old"


@pytest.mark.skipif(sys.platform != "linux", reason="limits of POSIX")
def test_a_full_disk(tmp_path):
    import resource

    # A file that may not grow fails as one on a full disk does, and needs no disk of its own.
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
    try:
        with pytest.raises(SoundError, match="File too large"):
            write_wav(tmp_path / "a.wav", [silence(5, RATE)])
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="named pipes of POSIX")
def test_what_is_no_file_is_not_replaced(tmp_path):
    import os
    import stat

    os.mkfifo(tmp_path / "pipe.wav")
    with pytest.raises(SoundError, match="not an ordinary file"):
        write_wav(tmp_path / "pipe.wav", [silence(0.1, 16_000)])
    assert stat.S_ISFIFO((tmp_path / "pipe.wav").stat().st_mode)
