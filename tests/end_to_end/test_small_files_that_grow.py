"""Files of a few bytes that would become gigabytes: refused early, or worked on piece by piece."""

import resource
import subprocess
import sys

import numpy as np
import pytest
import soundfile
from PIL import Image

from caller.devices.sound.sound_files import read_sound
from caller.errors import ChartError, PictureError, SoundError
from caller.pattern.picture.picture import MOST_PIXELS, read_picture
from caller.pattern.storage.pattern_file import load

LARGEST_MB = 500
CHILD = """
import sys
from pathlib import Path
{code}
status = Path("/proc/self/status")
if status.exists():  # there getrusage counts what this process was before it became Python, too
    [most] = [line for line in status.read_text().splitlines() if line.startswith("VmHWM")]
    print(int(most.split()[1]) // 1024)
else:
    import resource
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1_000_000)
"""


def largest_mb(code: str, *arguments: object) -> int:
    """The most memory that this code takes, in a process of its own."""
    done = subprocess.run(
        [sys.executable, "-c", CHILD.format(code=code), *map(str, arguments)],
        capture_output=True,
        text=True,
        check=True,
    )
    return int(done.stdout)


def test_twenty_minutes_of_flac_is_read_piece_by_piece(tmp_path):
    path, ten_s = tmp_path / "twenty.flac", np.zeros((441_000, 2), dtype=np.int16)
    with soundfile.SoundFile(path, "w", 44_100, 2, "PCM_16") as file:
        for _ in range(120):
            file.write(ten_s)
    assert path.stat().st_size < 500_000
    code = (
        "from caller.devices.sound.sound_files import sound_blocks\n"
        "assert sum(block.seconds for block in sound_blocks(Path(sys.argv[1]))) > 1190\n"
    )
    assert largest_mb(code, path) < 200
    with pytest.raises(SoundError, match="longer than 10 minutes"):
        read_sound(path)


def test_a_sound_of_a_strange_rate_does_not_grow(tmp_path):
    soundfile.write(tmp_path / "slow.wav", np.zeros(16_000, dtype=np.int16), 1)
    with pytest.raises(SoundError, match="1 samples a second"):
        read_sound(tmp_path / "slow.wav")


@pytest.mark.slow
def test_the_largest_picture_takes_half_a_gigabyte_at_most(tmp_path):
    height, width = MOST_PIXELS // 10_000, 10_000
    blocks = np.zeros((height, width), dtype=np.uint8)
    blocks[: height // 2, : width // 3] = 1
    picture = Image.fromarray(blocks, "P")
    picture.putpalette([10, 20, 60, 250, 240, 230])
    picture.save(tmp_path / "large.png")
    code = (
        "from caller.pattern.picture.charting import make_chart\n"
        "from caller.pattern.picture.picture import read_picture\n"
        "chart, yarns = make_chart(read_picture(Path(sys.argv[1])), 200, 100, 2)\n"
        "assert len(yarns) == 2 and chart.stitches == 200\n"
    )
    assert largest_mb(code, tmp_path / "large.png") < LARGEST_MB


@pytest.mark.parametrize(
    ("size", "told"),
    [((9400, 9400), "too large, 9400 x 9400"), ((60_000, 60_000), "too large")],
)
def test_a_picture_that_is_too_large_is_not_unpacked(tmp_path, size, told):
    """88 million pixels of a palette; what Pillow itself would refuse is refused as well."""
    content = b"P4 %d %d\n" % size
    (tmp_path / "bomb.pbm").write_bytes(
        content + bytes(size[0] * size[1] // 8 if size[0] < 1e4 else 0)
    )
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(PictureError, match=told) as error:
        read_picture(tmp_path / "bomb.pbm")
    assert "50 million pixels" in error.value.remedy
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 50_000  # kB


def test_a_few_bytes_of_tiff_become_no_giant_pattern(tmp_path):
    picture = Image.new("1", (2, 65_536))
    picture.putpixel((0, 0), 1)
    picture.save(tmp_path / "tall.tif", compression="group4")
    with pytest.raises(ChartError, match=r"2 x 65536 pixels.* 20000 rows"):
        load(tmp_path / "tall.tif")
