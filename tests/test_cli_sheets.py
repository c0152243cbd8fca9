"""The commands that draw, tidy and take along."""

import json
import re
from pathlib import Path
from typing import get_args

import numpy as np
import pytest
from PIL import Image
from test_cli import DEMO, DEMOS, copied, files, here, refused, run  # noqa: F401 (here: a fixture)

from caller.pattern.bed import Numbering
from caller.pattern.storage.pattern_file import load


def test_preview_draws_three_pictures(here):  # noqa: F811
    assert run("preview", DEMO).exit_code == 0
    names = [f"sailing-boat.{what}.png" for what in ("knit-side", "purl-side", "supplies")]
    assert files(here) == names
    with Image.open(names[0]) as knit, Image.open(names[1]) as purl:
        assert knit.size == purl.size
        assert min(knit.size) > 600
        assert (np.asarray(knit) != np.asarray(purl)).any()
    assert "--replace" in refused("preview", DEMO)
    assert run("preview", DEMO, "--replace").exit_code == 0


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
        black = (np.asarray(picture) == 0).all(axis=2)
    assert black.sum() == changed.sum() * 36
    assert (after.title, after.gauge, after.yarns) == (before.title, before.gauge, before.yarns)


def test_tidy_as_json(here):  # noqa: F811
    made = run("tidy", DEMO, "--specks", 3, "--json", "--output", "t.toml")
    report = json.loads(made.stdout)
    assert report["stitches"] == 80 * 118
    assert report["after"]["supplies"] <= report["before"]["supplies"]


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
