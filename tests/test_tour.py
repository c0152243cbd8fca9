"""The pictures and sounds in docs/tour are what the program makes today."""

import runpy
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from caller.calling.ports import SoundBlock
from caller.pattern.storage.pattern_file import load
from caller.sheets.tracks.tracks import write_tracks

DOCS = Path(__file__).parent.parent / "docs"
TOUR = runpy.run_path(str(DOCS / "make_tour.py"))
MOST_UNLIKE = 0.002
"""Of the pixels: drawing libraries differ by less at edges of letters, a moved label by more."""


class NoVoice:
    """A voice that must not be asked: every track is there already."""

    rate = 22_050

    def set_rate(self, wpm: int) -> None:
        raise AssertionError(wpm)

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        raise AssertionError((texts, wpm))

    def render(self, text: str) -> Iterator[SoundBlock]:
        raise AssertionError(f"The sound of {text!r} is not what docs/tour has.")

    def close(self) -> None:
        """Nothing is open."""


def test_the_pictures(tmp_path):
    TOUR["make_pictures"](load(TOUR["DEMO"]), tmp_path)
    for name in TOUR["PICTURES"]:
        kept, made = (folder / f"{name}.png" for folder in (DOCS / "tour", tmp_path))
        assert TOUR["unlike"](kept, made) <= MOST_UNLIKE


@pytest.mark.parametrize("row", TOUR["ROWS"])
def test_the_sounds(tmp_path, row):
    for path in (DOCS / "tour").glob("*.ogg"):
        shutil.copy(path, tmp_path)
    tracks = write_tracks(load(TOUR["DEMO"]), tmp_path, NoVoice(), TOUR["VOICE"], (row, row))
    assert row in [track.row for track in tracks.tracks]


def test_every_page_shows_what_there_is():
    pages = [DOCS.parent / "README.md", *DOCS.glob("*.md")]
    text = "\n".join(page.read_text(encoding="utf-8") for page in pages)
    assert all(path.name in text for path in (DOCS / "tour").iterdir())
