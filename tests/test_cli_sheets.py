"""The commands that draw, tidy and take along."""

import json
import re
from pathlib import Path
from typing import get_args

import drawings
import numpy as np
import pytest
from PIL import Image
from test_cli import DEMO, DEMOS, copied, files, here, refused, run  # noqa: F401 (here: a fixture)

from caller.pattern.bed import Numbering
from caller.pattern.storage.pattern_file import load


def test_preview_draws_three_pictures(here):  # noqa: F811
    Image.fromarray(np.tri(16, 12, dtype=np.uint8) * 255).save("stairs.png")
    assert run("preview", "stairs.png").exit_code == 0
    names = [f"stairs.{what}.png" for what in ("knit-side", "purl-side", "supplies")]
    assert files(here) == sorted([*names, "stairs.png"])
    with Image.open(names[0]) as knit, Image.open(names[1]) as purl:
        assert knit.size == purl.size
        assert min(knit.size) > 600
        assert (np.asarray(knit) != np.asarray(purl)).any()
    assert "--replace" in refused("preview", "stairs.png")
    assert run("preview", "stairs.png", "--replace").exit_code == 0


@pytest.mark.parametrize("numbering", get_args(Numbering))
@pytest.mark.parametrize("needles", [13, 25, 200])
def test_preview_of_every_numbering(here, needles, numbering):  # noqa: F811
    # From the leftmost needle on, so that a bed numbered from there uses its needles 1 to 9.
    stitches = min(12, needles)
    Image.fromarray(np.eye(8, stitches, dtype=np.uint8) * 255).save("step.png")
    bed = ("--needles", needles, "--numbering", numbering)
    first = "1" if numbering == "straight" else f"L{needles // 2}"
    size = ("--width", stitches, "--gauge", "30x42/10cm", "--colours", 2)
    assert run("chart", "step.png", *size, *bed, "--first-needle", first).exit_code == 0
    drawn = run("preview", "step.toml")
    assert drawn.exit_code == 0, drawn.output
    assert sum(name.endswith("-side.png") for name in files(here)) == 2


def test_tidy_keeps_to_the_budget_and_says_what_it_did(here):  # noqa: F811
    demo = DEMOS / "harbour-evening.toml"
    made = run("tidy", demo, "--shortest-run", 3, "--at-once", 10)
    assert made.exit_code == 0, made.output
    assert "Ends at once: 12 before" in made.stdout
    before, after = load(demo), load(Path("harbour-evening-tidy.toml"))
    assert after.supply_plan.at_once <= 10
    table = after.script.runs
    assert (table.right - table.left + 1).min() >= 3
    changed = before.chart.cells != after.chart.cells
    assert 0 < changed.mean() < 0.05
    assert f"{changed.sum()} of {changed.size} stitches were changed" in made.stdout
    with Image.open("harbour-evening-tidy.changes.png") as picture:
        assert min(picture.size) > 600
    assert (after.title, after.gauge, after.yarns) == (before.title, before.gauge, before.yarns)


def test_tidy_as_json(here):  # noqa: F811
    made = run("tidy", DEMO, "--specks", 3, "--json", "--output", "t.toml")
    report = json.loads(made.stdout)
    assert report["stitches"] == 80 * 118
    assert report["after"]["supplies"] <= report["before"]["supplies"]
    assert report["likeness"]["before"] == 1
    assert 0.9 < report["likeness"]["after"] < 1
    assert (report["lost_lines"], report["worse"], report["help"]) == ([], [], None)


@pytest.fixture
def undrawn(monkeypatch):
    """What tidying changed is not drawn, which takes longer than to tidy a small picture."""
    monkeypatch.setattr("caller.sheets.pictures.changes.changes_png", lambda *_: b"")


@pytest.fixture
def comb(here):  # noqa: F811
    """Two combs of single stitches side by side, too narrow to be widened; 40 x 20."""
    cells = np.full((20, 40, 3), (240, 230, 210), dtype=np.uint8)
    cells[4:16, 4:16:2] = cells[4:16, 24:36:2] = (20, 40, 70)
    Image.fromarray(cells).save("comb.png")
    return cells


def mask(right_half: object, size: tuple[int, int] = (20, 40)) -> None:
    pixels = np.full((*size, 3), 255, dtype=np.uint8)
    pixels[:, size[1] // 2 :] = right_half
    Image.fromarray(pixels).save("mask.png")


def test_what_must_go_is_told_and_can_be_kept(comb, undrawn, monkeypatch):
    told = run("tidy", "comb.png", "--shortest-run", 2, "--output", "a.toml").stdout
    assert "Thin lines or gaps go: " in told
    assert "rows 5 to 16" in told
    assert told.index("Thin lines") < told.index("Written: ")
    kept = run("tidy", "comb.png", "--shortest-run", 2, "--keep-thin-lines", "--output", "b.toml")
    assert "Thin lines" not in kept.stdout
    assert "0 of 800 stitches were changed" in kept.stdout
    mask(0)
    made = run(
        "tidy", "comb.png", "--shortest-run", 2, "--protect", "mask.png", "--output", "c.toml"
    )
    assert made.exit_code == 0, made.output
    before, after = load(Path("comb.png")).chart.cells, load(Path("c.toml")).chart.cells
    assert np.array_equal(before[:, 20:], after[:, 20:])
    table = load(Path("c.toml")).script.runs
    short = table.right - table.left == 0
    assert short.any()
    assert table.left[short].min() >= 20
    monkeypatch.setattr("caller.cli.tidy.asks", lambda: True)
    monkeypatch.setattr("caller.cli.tidy.ask", lambda _, choices: choices[0])
    said = run("tidy", "comb.png", "--shortest-run", 2, "--output", "e.toml").stdout
    assert said.splitlines()[-1] == "Nothing was written."
    assert not Path("e.toml").exists()
    run("tidy", "comb.png", "--shortest-run", 2, "--output", "e.toml", "--yes")
    assert Path("e.toml").exists()
    places = json.loads(
        run("tidy", "comb.png", "--shortest-run", 2, "--output", "d.toml", "--json").stdout
    )["lost_lines"]
    assert {(place["first_row"], place["last_row"]) for place in places} == {(5, 16)}


@pytest.mark.parametrize(
    ("colour", "size", "sentence"),
    [
        (0, (20, 39), "39 by 20 pixels and the chart has 40 stitches by 20 rows"),
        (128, (20, 40), "the colour #808080 in row 1, stitch 21 from the left"),
        (255, (20, 40), "has no black pixel"),
    ],
)
def test_a_mask_that_does_not_fit_is_refused(comb, here, colour, size, sentence):  # noqa: F811
    mask(colour, size)
    assert sentence in refused("tidy", "comb.png", "--specks", 2, "--protect", "mask.png")
    assert files(here) == ["comb.png", "mask.png"]


def test_a_wish_that_makes_something_worse_is_told_so_with_what_helps(here, undrawn):  # noqa: F811
    """Rings that cross: widened, they take more ends, and a bound on these helps."""
    knitted, colours = drawings.chart(drawings.rings(), 100, 4)
    pixels = np.array(colours, dtype=np.uint8)[knitted.cells[::-1]]
    Image.fromarray(pixels).save("rings.png")
    report = json.loads(run("tidy", "rings.png", "--shortest-run", 2, "--json").stdout)
    (worse,) = report["worse"]
    assert worse["figure"] == "supplies"
    assert worse["before"] < worse["after"]
    assert report["help"]["after"]["supplies"] <= worse["before"]
    assert report["help"]["wish"] == f"--shortest-run 2 --in-all {worse['before']}"
    told = run("tidy", "rings.png", "--shortest-run", 2, "--replace").stdout
    assert f"ends to hang in all: {worse['before']} before and {worse['after']} after" in told
    assert f"Tried, and it helps: {report['help']['wish']}" in told


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--shortest-run", 0),
        ("--shortest-run", 500),
        ("--at-once", 0),
        ("--in-all", 1),
        ("--specks", -1),
    ],
)
def test_tidy_refuses(here, arguments):  # noqa: F811
    refused_or_after_progress = run("tidy", DEMO, *arguments)
    assert refused_or_after_progress.exit_code == 2
    assert "caller: " in refused_or_after_progress.stderr
    assert files(here) == []


def test_tracks_and_something_to_read(here):  # noqa: F811
    made = run(
        "tracks", DEMO, "-o", "along", "--voice", "espeak", "--rows", "1-3", "--format", "flac"
    )
    assert made.exit_code == 0, made.output
    names = files(here / "along")
    assert names == [
        "sailing-boat-001.flac",
        "sailing-boat-002.flac",
        "sailing-boat-003.flac",
        "sailing-boat.html",
        "sailing-boat.m3u8",
        "sailing-boat.txt",
    ]
    assert "3 tracks written" in made.stdout
    assert (
        "0 tracks written"
        in run(
            "tracks", DEMO, "-o", "along", "--voice", "espeak", "--rows", "1-3", "--format", "flac"
        ).stdout
    )


def test_tracks_pause_after_each_yarn(here):  # noqa: F811
    """Row 8 of the boat has five yarns and a cut: six pauses, each two seconds longer."""

    def seconds(*options: object) -> int:
        made = run("tracks", DEMO, "-o", "along", "--voice", "espeak", "--rows", "8", *options)
        assert made.exit_code == 0, made.output
        playlist = (here / "along" / "sailing-boat.m3u8").read_text()
        return int(re.search(r"#EXTINF:(\d+),", playlist)[1])

    assert seconds("--pause", 2.5) - seconds("--pause", 0.5) == pytest.approx(12, abs=1)


@pytest.mark.parametrize("rows", ["0-3", "3-1", "1-1000", "first", "-1", ""])
def test_tracks_refuse_rows(here, rows):  # noqa: F811
    assert "row" in refused("tracks", DEMO, "-o", "along", "--rows", rows).casefold()
    assert files(here) == []


def test_tracks_refuse_a_file_for_a_folder(here):  # noqa: F811
    copied(here)
    refused("tracks", DEMO, "-o", "lighthouse.toml", "--rows", 1)
