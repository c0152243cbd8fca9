"""Shaped charts in files: transparent pixels, kept and read again; older files stay as they are."""

import numpy as np
import pytest
from hypothesis import given, settings
from PIL import Image
from transfers import shaped_cells

from caller.errors import ChartError, PatternFileError, SettingError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.storage.pattern_file import load, save
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
NAVY, IVORY, CLEAR = (0x1B, 0x2A, 0x4A, 255), (0xF4, 0xEF, 0xE0, 255), (9, 9, 9, 0)


def written(tmp_path, pixels, version: int):
    Image.fromarray(np.array(pixels, np.uint8)).save(tmp_path / "a.png")
    text = f'version = {version}\ntitle = "A"\nchart = "a.png"\n'
    for yarn in YARNS[:2]:
        text += f'[[yarns]]\nname = "{yarn.name}"\ncolour = "{yarn.colour}"\n'
    (tmp_path / "a.toml").write_text(text)
    return tmp_path / "a.toml"


@settings(max_examples=25, deadline=None)
@given(shaped_cells())
def test_kept_and_read_again(tmp_path_factory, cells):
    needed = np.unique(cells[cells != 255])
    if len(needed) < 2:
        return
    cells = np.where(cells == 255, 255, np.searchsorted(needed, cells)).astype(np.uint8)
    try:
        pattern = Pattern("A", Chart(cells), YARNS[: len(needed)], shaping="simple")
    except ChartError:
        return
    path, chart_path = save(pattern, tmp_path_factory.mktemp("kept") / "a.toml")
    again = load(path)
    assert again == (pattern if pattern.chart.shaped else Pattern("A", Chart(cells), again.yarns))
    assert f"version = {2 if pattern.chart.shaped else 1}" in path.read_text()
    with Image.open(chart_path) as image:  # any paint program sees it so
        alpha = np.asarray(image.convert("RGBA"))[::-1, :, 3]
    assert ((alpha == 0) == (cells == 255)).all()


def test_transparent_round_about_is_left_out(tmp_path):
    shaped = [[CLEAR] * 5, [CLEAR, CLEAR, NAVY, CLEAR, CLEAR], [CLEAR, NAVY, IVORY, CLEAR, CLEAR]]
    pattern = load(written(tmp_path, shaped, 2))
    assert pattern.chart == Chart(np.array([[0, 1], [255, 0]]))
    assert pattern.script.in_work(1) == (99, 100)


def test_version_1_has_no_needles_out_of_work(tmp_path):
    white = (255, 255, 255, 255)
    path = written(tmp_path, [[NAVY, CLEAR], [NAVY, IVORY]], 1)
    with pytest.raises(PatternFileError, match="write version = 2 in the pattern file"):
        load(path)
    path.write_text(path.read_text().replace("#f4efe0", "#ffffff"))
    Image.fromarray(np.array([[NAVY, CLEAR], [NAVY, white]], np.uint8)).save(tmp_path / "a.png")
    assert load(path).chart == Chart(np.array([[0, 1], [0, 1]]))


@pytest.mark.parametrize("version", [0, 3])
def test_another_version_is_refused(tmp_path, version):
    path = written(tmp_path, [[NAVY, IVORY]], version)
    with pytest.raises(PatternFileError, match="this program reads versions 1 and 2"):
        load(path)


def test_a_method_that_is_none(tmp_path):
    path = written(tmp_path, [[NAVY, IVORY]], 2)
    path.write_text(path.read_text() + '[shaping]\nmethod = "quick"\n')
    with pytest.raises(SettingError, match="method of shaping"):
        load(path)


def test_a_bare_picture_is_shaped_too(tmp_path):
    Image.fromarray(np.array([[CLEAR, NAVY], [NAVY, IVORY]], np.uint8)).save(tmp_path / "a.png")
    pattern = load(tmp_path / "a.png")
    assert pattern.chart == Chart(np.array([[0, 1], [255, 0]]))
    Image.fromarray(np.full((2, 2, 4), 0, np.uint8)).save(tmp_path / "b.png")
    with pytest.raises(ChartError):
        load(tmp_path / "b.png")
