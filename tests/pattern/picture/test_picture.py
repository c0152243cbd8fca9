"""Reading pictures: every kind there is, the right way up, and nothing worse than a sentence."""

import functools
import io
import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from caller.errors import PictureError
from caller.pattern.picture.picture import read_picture

RNG = np.random.default_rng(7)
PIXELS = RNG.integers(0, 256, (5, 7, 3), dtype=np.uint8)
QUIET = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)


def kept(image: Image.Image, path: Path, **options: object) -> np.ndarray:
    image.save(path, **options)
    return read_picture(path).rgb


def refusal(path: Path) -> str:
    with pytest.raises(PictureError) as caught:
        read_picture(path)
    sentence = str(caught.value)
    assert str(path) in sentence
    assert "\n" not in sentence
    assert sentence.endswith(".")
    return sentence


def read_or_refused(path: Path) -> None:
    """Anything but a picture or a PictureError fails."""
    try:
        rgb = read_picture(path).rgb
    except PictureError:
        refusal(path)
    else:
        assert rgb.shape[2] == 3
        assert rgb.dtype == np.uint8


@pytest.mark.parametrize("kind", ["png", "bmp", "tif", "ppm", "tga", "webp"])
def test_colours_come_through_as_they_are(tmp_path, kind):
    rgb = kept(Image.fromarray(PIXELS), tmp_path / f"a.{kind}", lossless=True)
    assert rgb.dtype == np.uint8
    assert (rgb == PIXELS).all()


def test_black_and_white_and_grey(tmp_path):
    grey = PIXELS[..., 0]
    rgb = kept(Image.fromarray(grey), tmp_path / "l.png")
    assert (rgb == grey[..., None]).all()
    bits = Image.fromarray(grey > 127)
    assert bits.mode == "1"
    assert (kept(bits, tmp_path / "1.png") == np.where(grey > 127, 255, 0)[..., None]).all()


def test_cmyk_and_ycbcr(tmp_path):
    flat = np.broadcast_to(np.uint8([180, 60, 40]), (16, 16, 3))
    for mode in ("CMYK", "YCbCr"):
        rgb = kept(Image.fromarray(np.ascontiguousarray(flat)).convert(mode), tmp_path / "a.jpg")
        assert np.abs(rgb.astype(int) - flat).max() <= 4, mode


def test_transparent_parts_are_out_of_the_picture_or_show_the_background(tmp_path):
    seen = np.dstack([PIXELS, np.full((5, 7), 255, np.uint8)])
    seen[1, 2, 3] = 0
    seen[2, 2] = (255, 0, 0, 128)
    path = tmp_path / "a.png"
    rgb = kept(Image.fromarray(seen), path)
    assert (rgb[0] == PIXELS[0]).all()
    assert rgb[1, 2].tolist() == [255, 255, 255]
    assert rgb[2, 2].tolist() == [255, 0, 0]
    out = read_picture(path).out
    assert out is not None
    assert np.argwhere(out).tolist() == [[1, 2]]
    behind = read_picture(path, (255, 255, 255))
    assert behind.out is None
    assert np.abs(behind.rgb[2, 2].astype(int) - [255, 127, 127]).max() <= 1
    assert read_picture(path, (9, 8, 7)).rgb[1, 2].tolist() == [9, 8, 7]


def test_transparency_of_grey_and_of_palettes(tmp_path):
    grey = np.dstack([PIXELS[..., 0], np.full((5, 7), 255, np.uint8)])
    grey[3, 3, 1] = 0
    rgb = kept(Image.fromarray(grey), tmp_path / "la.png")
    assert rgb[3, 3].tolist() == [255, 255, 255]
    assert (rgb[0] == PIXELS[0, :, :1]).all()
    paletted = Image.fromarray(np.array([[0, 1], [1, 0]], dtype=np.uint8), mode="P")
    paletted.putpalette([10, 20, 30, 200, 100, 50])
    for name, transparency in (("a.png", b"\xff\x00"), ("b.png", 1), ("c.gif", 1)):
        rgb = kept(paletted, tmp_path / name, transparency=transparency)
        assert rgb.tolist() == [
            [[10, 20, 30], [255, 255, 255]],
            [[255, 255, 255], [10, 20, 30]],
        ], name


@given(values=st.lists(st.integers(0, 65535), min_size=2, max_size=12))
@QUIET
def test_sixteen_bits_scale_to_eight(tmp_path, values):
    deep = np.array([values], dtype=np.uint16)
    expected = np.rint(deep / 257)  # 65535 = 255 x 257
    for name in ("a.png", "a.tif"):
        rgb = kept(Image.fromarray(deep), tmp_path / name)
        assert (rgb == expected[..., None]).all()
    wide = Image.fromarray(deep.astype(np.int32))
    assert wide.mode == "I"
    assert (kept(wide, tmp_path / "i.tif") == expected[..., None]).all()


def test_deeper_values_and_fractions(tmp_path):
    wide = np.array([[-1000, 0, 99_000]], dtype=np.int32)
    assert kept(Image.fromarray(wide), tmp_path / "i.tif")[0, :, 0].tolist() == [0, 3, 255]
    for values, expected in (
        ([0, 0.5, 1], [0, 128, 255]),
        ([0, 100, 200], [0, 128, 255]),
        ([-1, 0, 1], [0, 128, 255]),
        ([7, 7, 7], [0, 0, 0]),
        ([np.nan, 0.2, 1], [0, 51, 255]),
    ):
        image = Image.fromarray(np.array([values], dtype=np.float32))
        assert image.mode == "F"
        assert kept(image, tmp_path / "f.tif")[0, :, 0].tolist() == expected


# What each EXIF orientation says the stored pixels need (CIPA DC-008, from memory): the value names
# where the stored first row and first column are seen.
ORIENTATIONS = {
    1: lambda stored: stored,
    2: np.fliplr,
    3: lambda stored: np.rot90(stored, 2),
    4: np.flipud,
    5: lambda stored: stored.swapaxes(0, 1),
    6: lambda stored: np.rot90(stored, -1),
    7: lambda stored: np.rot90(stored, 2).swapaxes(0, 1),
    8: lambda stored: np.rot90(stored, 1),
}


@pytest.mark.parametrize("orientation", ORIENTATIONS)
@pytest.mark.parametrize("kind", ["png", "tif", "webp"])
def test_turned_the_way_the_camera_was_held(tmp_path, orientation, kind):
    exif = Image.Exif()
    exif[0x0112] = orientation
    image = Image.fromarray(PIXELS)
    rgb = kept(image, tmp_path / f"a.{kind}", exif=exif, lossless=True)
    expected = ORIENTATIONS[orientation](PIXELS)
    assert rgb.shape == expected.shape
    assert (rgb == expected).all()


def test_the_first_picture_of_an_animation(tmp_path):
    frames = [Image.new("RGB", (4, 3), colour) for colour in ("red", "blue")]
    for kind in ("gif", "webp", "png"):
        options = {"save_all": True, "append_images": frames[1:], "lossless": True}
        rgb = kept(frames[0], tmp_path / f"a.{kind}", **options)
        assert (rgb == [255, 0, 0]).all(), kind


def test_what_is_no_picture(tmp_path):
    assert "There is no picture" in refusal(tmp_path / "gone.png")
    assert "is a folder" in refusal(tmp_path)
    for name, content in (
        ("empty.png", b""),
        ("words.png", b"not a picture at all"),
        ("zeros.jpg", bytes(5000)),
        ("drawing.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
    ):
        (tmp_path / name).write_bytes(content)
        assert "is not a picture" in refusal(tmp_path / name)
    (tmp_path / "none.ppm").write_bytes(b"P6 0 0 255\n")
    refusal(tmp_path / "none.ppm")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.png")
    assert "is not a file" in refusal(tmp_path / "pipe.png")


@pytest.mark.parametrize("side", [10_000, 60_000])
def test_a_picture_too_large_is_refused_before_it_is_unpacked(tmp_path, side):
    """10,000 x 10,000 is where Pillow warns, 60,000 x 60,000 where it refuses."""
    path = tmp_path / "bomb.pbm"
    path.write_bytes(b"P4 %d %d\n" % (side, side))
    assert "too large" in refusal(path)


@functools.cache
def encoded(kind: str) -> bytes:
    """A small picture with all a file of this kind may carry."""
    exif = Image.Exif()
    exif[0x0112] = 6
    rgba = np.dstack([RNG.integers(0, 256, (24, 24, 3)), np.full((24, 24), 200)]).astype(np.uint8)
    image = Image.fromarray(rgba)
    if kind in ("JPEG", "PPM"):
        image = image.convert("RGB")
    written = io.BytesIO()
    image.save(written, kind, exif=exif.tobytes())
    return written.getvalue()


KINDS = ["PNG", "JPEG", "GIF", "TIFF", "WEBP", "BMP", "TGA", "PPM", "ICO"]


@given(kind=st.sampled_from(KINDS), share=st.floats(0, 1))
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_file_cut_short_is_read_or_refused(tmp_path, recwarn, kind, share):
    whole = encoded(kind)
    path = tmp_path / "cut.img"
    path.write_bytes(whole[: int(share * len(whole))])
    read_or_refused(path)
    assert not recwarn.list


@given(kind=st.sampled_from(KINDS), where=st.floats(0, 0.999), bits=st.binary(min_size=1))
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_damaged_file_is_read_or_refused(tmp_path, kind, where, bits):
    whole = bytearray(encoded(kind))
    start = int(where * len(whole))
    whole[start : start + len(bits)] = bits
    path = tmp_path / "damaged.img"
    path.write_bytes(whole)
    read_or_refused(path)
