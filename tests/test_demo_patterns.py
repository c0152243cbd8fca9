"""The demo patterns: drawn by draw.py, loadable, knittable, and good to listen to."""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.pattern import Pattern
from caller.pattern.picture.charting import make_chart
from caller.pattern.picture.picture import read_picture
from caller.pattern.storage.pattern_file import load

DEMOS = Path(__file__).parents[1] / "demo_patterns"
SIZES = {  # stitches, rows, yarns
    "lighthouse": (48, 101, 2),
    "sailing-boat": (80, 118, 4),
    "harbour-evening": (130, 182, 6),
    "anchor-vest": (48, 64, 3),
}


@pytest.fixture(scope="module")
def drawn():
    """The pictures as draw.py draws them now."""
    spec = importlib.util.spec_from_file_location("draw_demos", DEMOS / "draw.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module.drawn()


@pytest.fixture(params=SIZES)
def name(request):
    return request.param


@pytest.fixture
def demo(name) -> Pattern:
    return load(DEMOS / f"{name}.toml")


def test_every_picture_and_pattern_belongs_together(drawn):
    assert {path.name for path in DEMOS.glob("*.png")} == set(drawn)
    assert {path.stem for path in DEMOS.glob("*.toml")} == set(SIZES)


def test_the_pictures_are_what_is_drawn(drawn):
    for file, image in drawn.items():
        with Image.open(DEMOS / file) as kept:
            assert kept.mode == image.mode, file
            assert (np.asarray(kept) == np.asarray(image)).all(), file
            if image.mode == "P":
                assert kept.getpalette()[:18] == image.getpalette()[:18], file
                assert kept.info.get("transparency") == image.info.get("transparency"), file


def test_sizes_and_yarns(demo, name):
    assert (demo.chart.stitches, demo.chart.rows, len(demo.yarns)) == SIZES[name]


def test_palette_entries_are_the_yarns_in_order(demo, name):
    with Image.open(DEMOS / f"{name}.png") as chart:
        assert chart.mode == "P"
        cells = np.where(demo.chart.cells == NOT_IN_WORK, len(demo.yarns), demo.chart.cells)
        assert (np.asarray(chart)[::-1] == cells).all()
        palette = chart.getpalette()
    assert [tuple(palette[3 * i : 3 * i + 3]) for i in range(len(demo.yarns))] == [
        yarn.rgb for yarn in demo.yarns
    ]


def test_they_are_laid_out_in_blocks(demo):
    """Few single stitches, few yarns in a row: what can really be laid by hand."""
    table = demo.script.runs
    stitches = table.right - table.left + 1
    assert (stitches < 3).mean() < 0.04
    assert (stitches == 1).mean() < 0.015
    assert np.diff(table.starts).max() <= 12


def test_they_look_different_in_a_mirror(demo):
    assert (demo.chart.cells != demo.chart.cells[:, ::-1]).mean() > 0.1
    assert (demo.chart.cells != demo.chart.cells[::-1]).mean() > 0.1


def test_the_names_do_not_sound_alike(demo):
    """No two begin with the same sound written the same way, and no word stands in two."""
    names = [yarn.name for yarn in demo.yarns]
    assert len({name[:2] for name in names}) == len(names)
    words = [word for name in names for word in name.split()]
    assert len(set(words)) == len(words)


def test_the_picture_becomes_the_sailing_boat_again():
    """The big picture with softened edges, and the chart drawn stitch by stitch, agree."""
    boat = load(DEMOS / "sailing-boat.toml")
    picture = read_picture(DEMOS / "sailing-boat-picture.png")
    assert picture.rgb.shape == (840, 800, 3)
    chart, yarns = make_chart(picture, boat.chart.stitches, boat.chart.rows, len(boat.yarns))
    assert {yarn.colour for yarn in yarns} == {yarn.colour for yarn in boat.yarns}
    made = np.array([yarn.rgb for yarn in yarns])[chart.cells]
    drawn_by_stitches = np.array([yarn.rgb for yarn in boat.yarns])[boat.chart.cells]
    assert (made != drawn_by_stitches).any(axis=-1).mean() < 0.005


def test_the_lettering_reads_from_the_knit_side(drawn, tmp_path):
    """The purl side faces the knitter (seen in the trade's books), so the bed shows it mirrored."""
    from click.testing import CliRunner

    from caller.cli import main

    sign = str(DEMOS / "quay-sign-picture.png")
    wishes = ["--width", "60", "--gauge", "30x42/10cm", "--colours", "2", "--seen-from", "knit"]
    out = tmp_path / "sign.toml"
    made = CliRunner().invoke(main, ["chart", sign, *wishes, "--output", str(out)])
    assert made.exit_code == 0, made.output
    on_the_bed = load(out).chart.cells
    with Image.open(DEMOS / "quay-sign-picture.png") as picture:
        small = picture.convert("L").resize((60, on_the_bed.shape[0]), Image.Resampling.BOX)
    as_drawn = (np.asarray(small)[::-1] < 128).astype(np.uint8)
    assert (on_the_bed[:, ::-1] == as_drawn).mean() > 0.99
    assert (on_the_bed == as_drawn).mean() < 0.9
