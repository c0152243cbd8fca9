"""A disk that is full while a session runs: it is told, tried again, and nothing is lost."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from child_env import WITHOUT_SOUND
from running import Running
from small_disk import Limit, SmallDisk, small_disk, why_no_disk, why_no_limit
from small_pieces import HALVES

from caller.pattern.storage.pattern_file import save


@contextmanager
def by_a_disk(_tmp_path: Path) -> Iterator[tuple[Path, SmallDisk]]:
    if reason := why_no_disk():
        pytest.skip(reason)
    with small_disk() as disk:
        yield disk.folder, disk


@contextmanager
def by_a_limit(tmp_path: Path) -> Iterator[tuple[Path, None]]:
    if reason := why_no_limit():
        pytest.skip(reason)
    yield tmp_path, None


@pytest.mark.slow
@pytest.mark.parametrize("way", [by_a_disk, by_a_limit])
def test_it_is_told_and_tried_again_and_nothing_is_lost(way, tmp_path):
    path, _ = save(HALVES, tmp_path / "halves.toml")
    with way(tmp_path) as (folder, disk):
        env = {**WITHOUT_SOUND, "CALLER_HISTORY": str(folder / "history.sqlite")}
        usual = ("knit", path, "--no-listen", "--voice", "espeak", "--place", folder / "a.place")
        with Running(env, *usual, "--row", 3) as sitting:
            sitting.until("Row 3, going right")
            full = disk or Limit(sitting.process.pid)
            full.fill()
            sitting.type("next")
            told = sitting.until("could not be kept")
            assert told.startswith("Row 4 could not be kept. The place cannot be kept in")
            assert told.endswith("The place before it is still kept. I keep trying.")
            sitting.type("where")
            sitting.until("This is row 3 of 10")
            full.free()
            sitting.until("Row 4, going left")  # by itself
            full.fill()
            sitting.type("mark loose edge")
            sitting.until("could not be kept")
            full.free()
            sitting.until("Row 4 is marked: loose edge.")
            full.fill()
            sitting.type("next")
            sitting.until("Row 5 could not be kept.")
        full.free()  # that one was killed while it tried
        with Running(env, *usual) as again:
            again.until("Carrying on at row 4 of 10. You noted here: loose edge. Row 4, going left")
