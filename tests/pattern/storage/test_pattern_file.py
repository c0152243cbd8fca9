"""The pattern file and its chart picture: out and in again, and everything that can be wrong."""

import re
from pathlib import Path

import numpy as np
import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays
from PIL import Image

from caller.errors import BadInputError, PatternFileError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.panels import PanelOf
from caller.pattern.pattern import Fabric, Pattern, Reminder, SupplyRules
from caller.pattern.picture.source import Source
from caller.pattern.storage.pattern_file import amend, load, pattern_text, save
from caller.pattern.yarn_counts import parse_count
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"), Yarn("rust", "#a0522d"))
GRID = np.array([[0, 0, 1, 1, 1], [0, 1, 1, 1, 2]], dtype=np.uint8)
PATTERN = Pattern(
    'A "quoted" title, häfen',
    Chart(GRID),
    YARNS,
    Bed(120, 6.5),
    Gauge(8, 10.5, 1, "in"),
    "left",
    (Reminder(2, "move the weights up"),),
)


@pytest.fixture
def path(tmp_path):
    file = tmp_path / "boat.toml"
    save(PATTERN, file)
    return file


def edited(path: Path, old: str, new: str) -> Path:
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    return path


def test_what_is_written_is_read_back(path):
    assert load(path) == PATTERN


def test_the_text_is_plain_toml_with_comments(path):
    text = path.read_text(encoding="utf-8")
    assert tomlkit.parse(text)["version"] == 1
    assert text.startswith("# A pattern for caller.")
    assert re.search(r'^\[\[yarns\]\]\nname = "navy"\ncolour = "#1b2a4a"$', text, re.MULTILINE)


def test_the_chart_picture_is_indexed_one_pixel_a_stitch(path):
    with Image.open(path.with_name("boat.chart.png")) as picture:
        assert picture.mode == "P"
        assert picture.size == (5, 2)
        assert (np.asarray(picture)[::-1] == GRID).all()


def test_an_edited_chart_in_any_mode_counts_by_its_colours(path):
    chart = path.with_name("boat.chart.png")
    with Image.open(chart) as picture:
        changed = picture.convert("RGB")
    changed.putpixel((0, 1), YARNS[2].rgb)  # bottom left: row 1, first stitch
    changed.save(chart)
    expected = GRID.copy()
    expected[0, 0] = 2
    assert (load(path).chart.cells == expected).all()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(
    grid=arrays(np.uint8, st.tuples(st.integers(1, 9), st.integers(3, 9)), elements=st.just(0)),
    names=st.lists(
        st.text(min_size=1, max_size=20), min_size=3, max_size=3, unique_by=str.casefold
    ),
    title=st.text(max_size=30),
    direction=st.sampled_from(["right", "left"]),
)
def test_round_trip(tmp_path, grid, names, title, direction):
    cells = grid.copy()
    cells.flat[:3] = [0, 1, 2]
    try:
        yarns = tuple(Yarn(n, y.colour) for n, y in zip(names, YARNS, strict=True))
        pattern = Pattern(title, Chart(cells), yarns, first_direction=direction)
    except BadInputError:
        return
    save(pattern, tmp_path / "any.toml", replace=True)
    assert load(tmp_path / "any.toml") == pattern


def test_nothing_is_overwritten_unasked(path):
    before = path.read_bytes()
    other = Pattern("Other", PATTERN.chart, YARNS)
    with pytest.raises(PatternFileError, match="--replace"):
        save(other, path)
    assert path.read_bytes() == before
    save(other, path, replace=True)
    assert load(path).title == "Other"


def test_a_chart_without_its_file_is_not_overwritten_either(path):
    path.unlink()
    with pytest.raises(PatternFileError, match=r"boat\.chart\.png exists already"):
        save(PATTERN, path)


def test_a_folder_that_is_not_there(tmp_path):
    with pytest.raises(PatternFileError, match="cannot be written"):
        save(PATTERN, tmp_path / "nowhere" / "boat.toml")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("version = 1", "version = 3", r"line 2 is version 3"),
        ("version = 1", "", r"the file has no 'version'"),
        ("title =", "titel =", r"line 3: 'titel' is not known here; the keys are version, title"),
        ('name = "ivory"', 'nane = "ivory"', r"line 2\d: 'nane' is not known here"),
        ('colour = "#f4efe0"', 'color = "#f4efe0"', r"line \d+: 'color' is not known here"),
        ("stitches = 8", 'stitches = "8"', r"line \d+: 'stitches' must be a number"),
        ("needles = 120", "needles = 120.5", r"line \d+: 'needles' must be a whole number"),
        ("needles = 120", "needles = true", r"line \d+: 'needles' must be a whole number"),
        ("needles = 120", "needles = 4", r"5 stitches wide and the bed has 4 needles"),
        ("needles = 120", "needles = 0", r"A bed of 0 needles"),
        ("stitches = 8", "stitches = nan", r"no knitted fabric"),
        ("stitches = 8", "stitches = -3", r"no knitted fabric"),
        ('unit = "in"', 'unit = "ell"', r"it is one of cm, in"),
        ('first_direction = "left"', 'first_direction = "up"', "it is one of right, left"),
        ("[gauge]", "[gauge", r"line \d+"),
        ('"navy"', '"ivory"', r"both called 'ivory'"),
        ('"navy"', '"..."', r"line \d+: The yarn name '...' has no letter"),
        ('"navy"', '"' + "n" * 300 + '"', r"has 300 characters"),
        ("#1b2a4a", "blue", r"line \d+: The colour 'blue'"),
        ("#1b2a4a", "#1b2a4b", r"has the colour #1b2a4a in row 1, stitch 1 from the left"),
        ("#1b2a4a", "#f4efe0", r"have the same colour #f4efe0"),
        ("row = 2", "row = 3", r"is for row 3; the rows are 1 to 2"),
        ("boat.chart.png", "gone.png", r"gone\.png"),
        ("[bed]", "[bet]", r"line \d+: 'bet' is not known here"),
        ("[[yarns]]", "[yarns]", r"line|TOML"),
    ],
)
def test_what_can_be_wrong_is_said_in_one_sentence(path, old, new, message):
    edited(path, old, new)
    with pytest.raises(BadInputError, match=message) as caught:
        load(path)
    assert "boat.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_yarn_that_no_stitch_has(path):
    with path.open("a", encoding="utf-8") as file:
        file.write('\n[[yarns]]\nname = "moss"\ncolour = "#556b2f"\n')
    with pytest.raises(PatternFileError, match=r"No stitch of the chart .* 'moss'"):
        load(path)


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00\x01", b"just words", b"a" * 2_000_000])
def test_files_that_are_no_pattern(tmp_path, content):
    file = tmp_path / "x.toml"
    file.write_bytes(content)
    with pytest.raises(PatternFileError, match=r"x\.toml"):
        load(file)


def test_a_missing_file_and_a_folder(tmp_path):
    with pytest.raises(PatternFileError, match=r"There is no pattern file .*gone\.toml"):
        load(tmp_path / "gone.toml")
    (tmp_path / "folder.toml").mkdir()
    with pytest.raises(PatternFileError, match=r"folder\.toml cannot be read"):
        load(tmp_path / "folder.toml")


def test_pattern_text_names_the_chart():
    assert 'chart = "dock.chart.png"' in pattern_text(PATTERN, "dock.chart.png")


def test_amending_keeps_comments_and_order(path):
    edited(path, "[gauge]", "# measured in March\n[gauge]")
    before = path.read_text(encoding="utf-8").splitlines()
    amend(path, {"gauge": {"stitches": 30.5, "rows": 41, "over": 10, "unit": "cm"}})
    amend(path, {"fabric": {"loop_mm": 13.4}})
    after = path.read_text(encoding="utf-8")
    assert load(path).gauge == Gauge(30.5, 41, 10, "cm")
    assert load(path).fabric == Fabric(loop_mm=13.4)
    assert "# measured in March" in after
    kept = [line for line in before if line.startswith(("#", "title", "name", "colour"))]
    assert [line for line in after.splitlines() if line in kept] == kept


def test_amending_what_is_no_pattern_changes_nothing(path):
    edited(path, "title =", "titel =")
    before = path.read_bytes()
    with pytest.raises(PatternFileError, match="'titel' is not known"):
        amend(path, {"gauge": {"stitches": 30}})
    assert path.read_bytes() == before


def test_every_key_is_written_and_read(tmp_path):
    yarns = (
        Yarn("navy", "#1b2a4a", parse_count("2/28 Nm"), 100.0),
        Yarn("ivory", "#f4efe0", parse_count("12 wpi")),
        YARNS[2],
    )
    pattern = Pattern(
        "All of it",
        PATTERN.chart,
        yarns,
        Bed(60, 9, "straight"),
        first_needle="11",
        seen_from="knit",
        fabric=Fabric(13.2, "full", 12.5, 0.2),
        supply_rules=SupplyRules(4, 2),
        source=Source(
            "../boat.png",
            "12cm",
            "40",
            "1,2,3,4",
            90,
            True,
            3,
            1,
            2,
            3,
            "navy",
            "120@0, 100@40",
            "left",
            "0a1b",
        ),
        panel=PanelOf(1, 2, 3),
    )
    save(pattern, tmp_path / "all.toml")
    assert load(tmp_path / "all.toml") == pattern


@pytest.mark.parametrize(
    ("lines", "message"),
    [
        ("[fabric]\nloop_mm = 0", "loop length of 0 mm"),
        ("[fabric]\nallowance = nan", "allowance of nan"),
        ("[fabric]\ntail_cm = -1", "tail of -1 cm"),
        ('[fabric]\nrelaxation = "damp"', "dry, wet, full"),
        ("[picture]\nwidth = '40'", r"\[picture\] has no 'file'"),
        ("[picture]\nfile = 'boat.png'\nflip = 1", r"line \d+: 'flip' must be true or false"),
        ("[panel]\nnumber = 3\nof = 2", "no panel 3 of 2"),
        ("[panel]\nnumber = 1\nof = 2\nseam = -1", "A seam"),
        ("[picture]\nfile = 'boat.png'\noutline_side = 'top'", "one of left, right"),
        ("[fabric]\nloops = 3", r"line \d+: 'loops' is not known here"),
        ("[supplies]\nmax_carry = -1", "longest carry of -1"),
        ("[supplies]\nmax_rest_rows = 1.5", r"line \d+: 'max_rest_rows' must be a whole number"),
    ],
)
def test_settings_that_cannot_be(path, lines, message):
    with path.open("a", encoding="utf-8") as file:
        file.write(f"\n{lines}\n")
    with pytest.raises(BadInputError, match=message):
        load(path)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("needles = 120", 'needles = 120\nfirst_needle = "L61"', "no needle L61"),
        ("needles = 120", 'needles = 120\nfirst_needle = "R58"', "widest that fits"),
        ("needles = 120", 'needles = 120\nfirst_needle = "58"', "written like L50"),
        ('numbering = "centre"', 'numbering = "middle"', "'middle' is not known"),
        ('seen_from = "purl"', 'seen_from = "front"', "'front'"),
        ('name = "navy"', 'name = "navy"\ncount = "2/28"', r"line \d+: '2/28' is not a yarn count"),
        ('name = "navy"', 'name = "navy"\nball_g = 0', r"line \d+: A ball of navy of 0 g"),
    ],
)
def test_places_and_counts_that_cannot_be(path, old, new, message):
    edited(path, old, new)
    with pytest.raises(BadInputError, match=message):
        load(path)
