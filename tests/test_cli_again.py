"""A chart made anew from the picture that its pattern file remembers, as a knitter runs it."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from test_cli import refused, run

from caller.pattern.panels import PanelOf
from caller.pattern.storage.pattern_file import load

FRAME = ("--crop", "0,0,520,650", "--border", 2, "--plain-below", 4, "--background", "#f0ebdc")
MADE = ("--width", "12cm", "--gauge", "30x40/10cm", "--colours", 2, *FRAME)
SWATCH = ("--stitches", 40, "--rows", 60, "--measured", "12.5x15cm")  # 32 x 40 to 10 cm


@pytest.fixture
def spot(tmp_path, monkeypatch):
    """A picture in a folder of its own, and its pattern beside that folder."""
    monkeypatch.chdir(tmp_path)
    y, x = np.mgrid[:650, :520]
    inside = ((x - 201.3) / 160.7) ** 2 + ((y - 332.1) / 271.9) ** 2 < 1
    rgb = np.where(inside[..., None], (20, 40, 70), (240, 235, 220)).astype(np.uint8)
    Path("pictures").mkdir()
    Image.fromarray(rgb).save("pictures/spot.png")
    assert run("chart", "pictures/spot.png", *MADE, "--output", "my.toml").exit_code == 0
    return Path("my.toml")


def test_the_pattern_file_remembers_picture_and_wishes(spot):
    source = load(spot).source
    assert source is not None
    assert (source.file, source.width, source.crop) == ("pictures/spot.png", "12cm", "0,0,520,650")
    assert (source.border, source.plain_below, source.colours) == (2, 4, 2)
    assert load(spot).chart.cells.shape == (64, 40)


def test_a_new_gauge_gives_a_new_chart(spot):
    """The same as if the chart had been made at the new gauge in the pattern's yarns."""
    text = spot.read_text(encoding="utf-8").replace('name = "', 'name = "my ')
    spot.write_text(f"# wound in May\n{text}", encoding="utf-8")
    told = run("swatch", spot, *SWATCH).stdout
    assert "comes out 12.5 by 16.0 cm, and its picture 7% taller than it was made." in told
    assert " chart my.toml --replace makes it anew, 42 stitches and 64 rows." in told
    assert load(spot).chart.cells.shape == (64, 40)
    refusal = refused("chart", spot)
    assert "42 stitches and 64 rows in place of 40 stitches and 64 rows" in refusal
    assert "that would be lost" not in refusal
    assert run("chart", spot, "--replace").exit_code == 0
    again = load(spot)
    wishes = [wish if wish != "30x40/10cm" else "32x40/10cm" for wish in MADE]
    own = [f"--yarn={yarn.name}={yarn.colour}" for yarn in again.yarns]
    run("chart", "pictures/spot.png", *wishes, *own, "--output", "other.toml")
    other = load(Path("other.toml"))
    assert again.chart == other.chart
    assert again.source == other.source
    assert again.yarns == other.yarns
    assert all(yarn.name.startswith("my ") for yarn in again.yarns)
    assert spot.read_text(encoding="utf-8").startswith("# wound in May\n")
    assert "made anew" not in run("swatch", spot, *SWATCH).stdout, "the gauge is the same"


def test_wishes_can_be_changed(spot):
    wishes = ("--height", 80, "--border", 0, "--seen-from", "purl", "--bed", "bulky")
    before = load(spot)
    assert run("chart", spot, "--width", 50, *wishes, "--replace").exit_code == 0
    again = load(spot)
    assert (again.chart.stitches, again.chart.rows, again.bed.needles) == (50, 84, 110)
    assert (before.seen_from, again.seen_from) == ("knit", "purl")


def test_what_was_tidied_or_painted_is_not_lost_without_a_word(spot):
    with Image.open("my.chart.png") as chart:
        chart.putpixel((0, 0), 1 - chart.getpixel((0, 0)))
        chart.save("my.chart.png")
    assert "tidied or painted since it was made; that would be lost" in refused("chart", spot)
    assert "that would be lost" in run("swatch", spot, *SWATCH).stdout


def test_reminders_and_the_place_are_told_of(spot):
    with spot.open("a", encoding="utf-8") as file:
        for row in (3, 60):
            file.write(f'[[reminders]]\nrow = {row}\nsay = "weights"\n')
    Path("my.place").touch()
    told = run("chart", spot, "--width", 20, "--replace").stdout
    assert "The chart of my.toml is made anew: 24 stitches and 37 rows." in told
    assert "reminders stay at their rows" in told
    assert "1 of the reminders were for rows that there are no more" in told
    assert "the next session asks about it" in told
    assert [one.row for one in load(spot).reminders] == [3]


def test_what_cannot_be_made_anew_is_told(spot):
    before = {path: path.read_bytes() for path in Path().iterdir() if path.is_file()}
    assert "--yarn is not for a chart" in refused("chart", spot, "--yarn", "a=#101010")
    assert "--colours is not for a chart" in refused("chart", spot, "--colours", 3)
    assert "wide and the bed has" in refused("chart", spot, "--needles", 20, "--replace")
    assert {path: path.read_bytes() for path in before} == before
    Path("pictures/spot.png").unlink()
    assert "There is no picture" in refused("chart", spot, "--replace")
    told = run("swatch", spot, *SWATCH).stdout
    assert "7% taller" in told
    assert "cannot be made anew: There is no picture" in told


def test_a_pattern_without_a_picture_says_what_happens(spot):
    text = spot.read_text(encoding="utf-8")
    spot.write_text(text[: text.index("[picture]")] + text[text.index("[[yarns]]") :])
    assert "does not remember a picture" in refused("chart", spot)
    told = run("swatch", spot, *SWATCH).stdout
    assert "7% taller than it was made. Make another chart from its picture" in told
    as_large = ("--stitches", 32, "--rows", 40, "--measured", "10x10cm")
    assert "as large as before" in run("swatch", spot, *as_large).stdout


def test_panels_are_made_anew_together(spot):
    wide = ("--width", 90, "--gauge", "30x40/10cm", "--needles", 60, "--panels", "--seam", 2)
    run("chart", "pictures/spot.png", *wide, "--output", "wide.toml")
    assert load(Path("wide-2.toml")).panel == PanelOf(2, 2, 2)
    alike = [
        json.loads(run("plan", f"wide-{number}.toml", "--json").stdout)["likeness_to_picture"]
        for number in (1, 2)
    ]
    assert min(alike) > 0.8
    assert "panel 2 of 2" in refused("chart", "wide-2.toml", "--replace")
    told = run("plan", "wide-2.toml").stdout
    assert "Panel 2 of 2, counted from the left as they hang; each seam takes 2 stitches" in told


def test_a_shaped_piece_is_made_anew_in_its_shape(spot):
    with Image.open("pictures/spot.png") as picture:
        shaped = np.dstack((np.asarray(picture), np.full((650, 520), 255, dtype=np.uint8)))
    shaped[:300, :60, 3] = shaped[:300, -60:, 3] = 0
    Image.fromarray(shaped).save("pictures/shaped.png")
    wishes = ("--width", 40, "--gauge", "30x40/10cm", "--colours", 2)
    run("chart", "pictures/shaped.png", *wishes, "--output", "shaped.toml")
    assert run("chart", "shaped.toml", "--width", 60, "--replace").exit_code == 0
    again = load(Path("shaped.toml")).chart
    first, last = again.edges
    assert (again.shaped, again.stitches) == (True, 60)
    assert (first[0], last[0], first[-1], last[-1]) == (0, 59, 7, 52)


def test_without_a_gauge_there_is_no_chart(spot):
    assert "like --gauge 32x42/10cm" in refused("chart", "pictures/spot.png", "--width", 30)


OUTLINE = "12cm@0cm, 12cm@6cm, 6cm@14cm"


def test_an_outline_that_was_cut_out_is_cut_out_again(spot):
    shape = ("shape", "my.toml", "--outline", OUTLINE, "--side", "left", "--simple")
    Path("pieces").mkdir()
    assert run(*shape, "--output", "pieces/shaped.toml").exit_code == 0
    path = Path("pieces/shaped.toml")
    before = load(path)
    assert before.source is not None
    assert (before.source.file, before.source.outline_side) == ("../pictures/spot.png", "left")
    assert "would be lost" not in refused("chart", path)
    assert run("chart", path, "--gauge", "40x50/10cm", "--replace").exit_code == 0
    after = load(path)
    assert (before.chart.rows, after.chart.rows) == (56, 70)
    for one, gauge in ((before, 3), (after, 4)):
        first, last = one.chart.edges
        assert (last == one.chart.stitches - 1).all()
        assert one.chart.stitches - first[-1] == 6 * gauge
        assert (first[0], one.shaping) == (0, "simple")
    assert "larger" in refused("chart", path, "--width", 20, "--replace")
    assert load(path).chart == after.chart
    told = run("shape", path, "--outline", "40@0, 40@30, 30@40", "--output", "twice.toml").stdout
    assert "second outline, so the chart is not made anew" in told
    assert load(Path("twice.toml")).source is None


def test_a_shape_that_is_not_remembered_is_not_lost(spot):
    run("shape", "my.toml", "--outline", OUTLINE)
    path = Path("my-shaped.toml")
    text = path.read_text(encoding="utf-8").replace(f'outline = "{OUTLINE}"\n', "")
    path.write_text(text, encoding="utf-8")
    before = load(path)
    assert "is shaped, and its pattern file does not say how" in refused("chart", path, "--replace")
    assert load(path) == before


def test_likeness_to_the_picture_is_told(spot, monkeypatch):
    """From wherever the pattern lies; the plan of what was tidied tells the same."""
    monkeypatch.setattr("caller.sheets.pictures.changes.changes_png", lambda *_: b"")
    Path("away").mkdir()
    wish = ("--shortest-run", 8, "--json")
    first = json.loads(run("tidy", spot, *wish, "--output", "away/a.toml").stdout)
    alike = first["likeness_to_picture"]
    assert 0.5 < alike["after"] < 0.9 < alike["before"] < 0.99
    plan = json.loads(run("plan", "away/a.toml", "--json").stdout)
    assert plan["likeness_to_picture"] == pytest.approx(alike["after"], abs=1e-4)
    lines = run("tidy", "away/a.toml", "--specks", 39, "--output", "b.toml").stdout.splitlines()
    told = f"Likeness to the picture: {alike['after'] * 100:.1f} percent before, "
    assert any(line.startswith(told) for line in lines)
    assert any(
        line.startswith("Likeness to the picture in lines and edges: ")
        for line in run("plan", "b.toml").stdout.splitlines()
    )
    Path("pictures/spot.png").unlink()
    away = run("plan", "away/a.toml")
    assert "Likeness to the picture is not told. There is no picture" in away.stderr
    assert "Likeness" not in away.stdout
