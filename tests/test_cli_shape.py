"""A shaped piece as a knitter makes it: by its measurements, or from a picture cut out of its
background; then planned, drawn, listed and said."""

import json

import numpy as np
import pytest
from PIL import Image
from test_cli import DEMO, refused, run

from caller.pattern.chart import NOT_IN_WORK
from caller.pattern.storage.pattern_file import load

OUTLINE = "80@0, 80@40, 72@40, 48@80, 48@100"


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_by_measurements(here):
    lines = run("shape", DEMO, "--outline", OUTLINE).stdout.splitlines()
    assert lines[:4] == [
        "Shaped: 80 stitches at the widest, 48 stitches at the end.",
        "Before row 41: bind off 4 on the left, edge L36.",
        "Before row 42: bind off 4 on the right, edge R36.",
        "Before rows 44 to 81: decrease 1 on each side, every 3 or 4 rows, 12 times; in the end "
        "edges L24 and R24.",
    ]
    path = here / "sailing-boat-shaped.toml"
    assert lines[-1].startswith("Written: sailing-boat-shaped.toml and its chart")
    assert load(path).script.in_work(100) == (76, 123)
    assert "exists already" in refused("shape", DEMO, "--outline", OUTLINE)
    again = run("shape", DEMO, "--outline", OUTLINE, "--simple", "--side", "left", "--replace")
    assert again.exit_code == 0
    assert load(path).shaping == "simple"

    # The whole of it, from plan to words.
    run("shape", DEMO, "--outline", OUTLINE, "--replace")
    data = json.loads(run("plan", path, "--json").stdout)
    assert (data["cast_on"], data["shaping"]["stitches_left"]) == (80, 48)
    assert sum(one["stitches"] for one in data["supplies"]) == load(path).chart.in_work
    rows = json.loads(run("rows", path, "--json").stdout)["rows"]
    assert len(rows) == 100
    assert [one["do"] for one in rows[40]["shape"]] == ["bind off"]
    told = run("say", path, "--row", 41, "--text").stdout
    assert "First bind off four on the left, with " in told
    assert ", edge at left thirty-six" in told
    assert "cm, at the widest, rested." in run("plan", path).stdout
    assert run("finish", path).stdout.startswith("Bind off 48 stitches")
    assert run("tidy", path, "--specks", 2).exit_code == 0
    before, after = (load(here / f"{name}.toml") for name in (path.stem, f"{path.stem}-tidy"))
    assert ((before.chart.cells == NOT_IN_WORK) == (after.chart.cells == NOT_IN_WORK)).all()


def test_a_garment_of_two_pieces(here):
    run("shape", DEMO, "--outline", OUTLINE)
    whole, shaped = DEMO, here / "sailing-boat-shaped.toml"
    data = json.loads(run("plan", whole, shaped, "--json").stdout)
    each = [json.loads(run("plan", path, "--json").stdout) for path in (whole, shaped)]
    assert data["supplies_total"] == sum(one["supplies_total"] for one in each)
    assert run("plan", whole, shaped).stdout.startswith("2 pieces at 30x42/10cm.")
    other = (here / "sailing-boat-shaped.toml").read_text().replace("rows = 42", "rows = 40")
    (here / "sailing-boat-shaped.toml").write_text(other)
    assert "has 30x42/10cm and" in refused("plan", whole, shaped)


def test_what_is_refused(here):
    assert "no width at a height" in refused("shape", DEMO, "--outline", "wide")
    assert "and the chart has 80 stitches and 118 rows" in refused(
        "shape", DEMO, "--outline", "90@0, 90@10"
    )
    assert list(here.iterdir()) == []


def test_a_picture_without_its_background(here):
    """A disc of two colours: cast on and bound off only where the carriage stands."""
    down, across = np.mgrid[:200, :200] - 99.5
    inside = down**2 + across**2 < 90**2
    pixels = np.zeros((200, 200, 4), np.uint8)
    pixels[inside] = (27, 42, 74, 255)
    pixels[inside & (across > 20)] = (244, 239, 224, 255)
    Image.fromarray(pixels).save(here / "disc.png")
    said = run("chart", "disc.png", "--width", 60, "--gauge", "30x40/10cm", "--colours", 2).stdout
    assert "Transparent parts are needles out of work, so the piece is shaped." in said
    disc = load(here / "disc.toml")
    assert disc.chart.stitches == 60
    assert len(disc.yarns) == 2
    assert abs(disc.chart.in_work / (60 * 80 * np.pi / 4) - 1) < 0.03
    for row in disc.script:
        start = "left" if row.direction == "right" else "right"
        for done in disc.script.shapings(row.number):
            assert done.side == start or done.kind in ("increase", "decrease")
    # With a background it is whole.
    wishes = ("--width", 60, "--gauge", "30x40/10cm", "--background", "#ff0000", "--replace")
    run("chart", "disc.png", *wishes, "--colours", 3)
    assert not load(here / "disc.toml").chart.shaped

    pixels[95:105, 95:105] = 0
    Image.fromarray(pixels).save(here / "ring.png")
    told = refused("chart", "ring.png", "--width", 60, "--gauge", "30x40/10cm", "--colours", 2)
    assert "has an opening in the work" in told
    assert "Or add --background" in told


def test_margins_follow_the_shape(here):
    pixels = np.zeros((20, 20, 4), np.uint8)
    pixels[:, 5:15] = (27, 42, 74, 255)
    pixels[10:, 2:18] = (244, 239, 224, 255)
    Image.fromarray(pixels).save(here / "tee.png")
    wishes = ("--gauge", "30x30/10cm", "--width", 16, "--colours", 2, "--border", 2)
    run("chart", "tee.png", *wishes, "--plain-below", 3, "--plain-above", 1)
    chart = load(here / "tee.toml").chart
    assert chart.rows == 24
    assert chart.stitches == 20
    assert (chart.cells[:3] != NOT_IN_WORK).all()
    assert (chart.cells[-1] != NOT_IN_WORK).sum() == 14
    drawn = run("preview", "tee.toml", "--output", "drawn").stdout.splitlines()
    assert "Shaped: 20 stitches at the widest, 14 stitches at the end." in drawn
    assert drawn[-1].startswith("Before row ")
