"""Which supply knits where: colours, numbers and marks, against the plan read row by row."""

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import SupplyPlan, assign_supplies
from caller.pattern.yarns import Yarn
from caller.sheets.pictures.contrast import luminance
from caller.sheets.pictures.hatching import (
    HATCHINGS,
    hatched,
    inked,
    lines,
    neighbours,
    supply_grid,
    supply_hatchings,
)
from caller.sheets.pictures.marks import (
    RIM,
    carry_mark,
    cut_mark,
    hatched_mark,
    join_mark,
    number_mark,
)
from caller.sheets.pictures.page import INK, piece_grid
from caller.sheets.pictures.supply_picture import (
    number_places,
    supply_colours,
    supply_page,
    supply_picture,
    territories,
)

COLOURS = ("#1b2a4a", "#efe6d2", "#b23a2e")
YARNS = tuple(Yarn(f"yarn {n}", colour) for n, colour in enumerate(COLOURS, start=1))
rgb = st.tuples(*[st.integers(0, 255)] * 3)


def pattern_of(cells: np.ndarray) -> Pattern:
    return Pattern("Boat", Chart(cells), YARNS, gauge=Gauge(30, 42))


def rows_of(*lines: str) -> Pattern:
    """A pattern from its lines as they are seen, the top row first; ".ab" are the yarns."""
    cells = [[".ab".index(stitch) for stitch in line] for line in reversed(lines)]
    return pattern_of(np.array(cells, dtype=np.uint8))


@st.composite
def plans(draw: st.DrawFn) -> tuple[Pattern, SupplyPlan]:
    shape = st.tuples(st.integers(1, 10), st.integers(1, 12))
    pattern = pattern_of(draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 2))))
    return pattern, assign_supplies(
        pattern.script, draw(st.integers(0, 5)), draw(st.integers(0, 1))
    )


def read_off(pattern: Pattern, plan: SupplyPlan) -> np.ndarray:
    """The supply of every stitch, by reading the plan row by row."""
    found = np.zeros((pattern.chart.rows, pattern.chart.stitches), dtype=int)
    for number in range(1, pattern.chart.rows + 1):
        for entry in plan.row(number):
            columns = sorted((entry.run.first, entry.run.last))
            first, last = (needle - pattern.script.first_needle for needle in columns)
            found[number - 1, first : last + 1] = entry.supply
    return found


@given(plans())
@settings(max_examples=30, deadline=None)
def test_every_stitch_shows_its_supply(made: tuple[Pattern, SupplyPlan]) -> None:
    pattern, plan = made
    supplies = read_off(pattern, plan)
    assert np.array_equal(supply_grid(plan), supplies)
    colours = supply_colours(pattern, plan)
    grid = piece_grid(pattern, "purl")
    pixels = territories(plan, colours, grid)
    for (row, column), supply in np.ndenumerate(supplies):
        x = int((column + 0.5) * grid.width / grid.stitches)
        y = int((grid.rows - row - 0.5) * grid.height / grid.rows)
        # Just its yarn's colour, so that no other yarn's is nearer.
        assert tuple(pixels[y, x].tolist()) == YARNS[pattern.chart.cells[row, column]].rgb
        assert colours[supply - 1].tolist() == pixels[y, x].tolist()


@given(plans())
@settings(max_examples=100, deadline=None)
def test_neighbouring_supplies_of_a_yarn_differ(made: tuple[Pattern, SupplyPlan]) -> None:
    pattern, plan = made
    supplies, cells = read_off(pattern, plan), pattern.chart.cells
    hatchings = supply_hatchings(plan)
    meeting = set()
    for (row, column), supply in np.ndenumerate(supplies):
        if row and cells[row, column] == cells[row - 1, column]:
            meeting.add((int(supplies[row - 1, column]), int(supply)))
        for further in range(column + 1, cells.shape[1]):  # the next of this yarn in the row
            if cells[row, further] == cells[row, column]:
                meeting.add((int(supply), int(supplies[row, further])))
                break
    pairs = {tuple(sorted(pair)) for pair in meeting if pair[0] != pair[1]}
    assert {tuple(pair) for pair in neighbours(plan).tolist()} == pairs
    crowd = np.bincount(np.array(sorted(pairs), dtype=int).ravel(), minlength=plan.total + 1)
    for first, second in pairs:
        alike = hatchings[first - 1] == hatchings[second - 1]
        assert not alike or crowd[[first, second]].max() >= HATCHINGS


@given(rgb)
def test_lines_of_a_hatching_are_seen_on_every_colour(colour: tuple[int, int, int]) -> None:
    from coloraide import Color

    (line,) = inked(np.array([colour], dtype=np.uint8)).tolist()
    # Also printed in grey: lighter or darker by CIELAB lightness, by coloraide.
    light = [
        Color("srgb", [p / 255 for p in part]).convert("lab-d65")["l"] for part in (colour, line)
    ]
    assert abs(light[0] - light[1]) > 12
    assert luminance(colour) != luminance(line)


def test_hatchings_differ_and_leave_most_of_the_colour() -> None:
    place = (np.arange(12) + 0.5) / 12
    drawn = [lines(number, place[:, None], place[None]) for number in range(1, HATCHINGS)]
    for index, one in enumerate(drawn):
        assert 0.1 < one.mean() < 0.45  # most of the stitch stays as it is
        assert not one[5:7, 5:7].any()
        for other in drawn[index + 1 :]:
            assert (one != other).mean() > 0.1


def test_a_split_ground_is_shown_in_two_ways() -> None:
    pattern = rows_of(".......", "..aa...", "..aa...", ".......")
    plan = assign_supplies(pattern.script, 1)
    left, right = (supply_grid(plan)[1, column] for column in (0, 6))
    assert left != right
    hatchings = supply_hatchings(plan)
    assert hatchings[left - 1] != hatchings[right - 1]
    grid = piece_grid(pattern, "purl")
    plain = np.full((grid.height, grid.width, 3), 128, dtype=np.uint8)
    seen = hatchings[grid.seen(supply_grid(plan) - 1)]
    changed = (hatched(plain.copy(), seen, grid) != plain).any(axis=2)
    here = (seen > 0)[np.ix_(grid.lines, grid.columns)]
    assert changed.any()
    assert not changed[~here].any()


def wide_blocks() -> Pattern:
    cells = np.zeros((40, 48), dtype=np.uint8)
    cells[10:30, 8:20] = 1
    cells[15:35, 26:40] = 2
    return pattern_of(cells)


@pytest.mark.parametrize("pattern", [wide_blocks(), rows_of("..aa..bb" * 4)])
def test_numbers_stand_within_their_territories(pattern: Pattern) -> None:
    plan = assign_supplies(pattern.script, 2)
    page, supplies = supply_page(pattern, plan), read_off(pattern, plan)
    grid, (left, top, _, bottom) = page.grid, page.box
    placed = {}
    for supply, size, (x, y) in number_places(plan, page):
        half = size * 0.6 * len(str(supply)) / 2
        columns = np.array([x - half - left, x + half - left]) * grid.stitches / grid.width
        lines = np.array([bottom - y - size / 2, bottom - y + size / 2]) * grid.rows / grid.height
        (first, last), (low, high) = columns.astype(int), lines.astype(int)
        assert (supplies[low : high + 1, first : last + 1] == supply).all()
        assert top < y < bottom
        placed[supply] = size
    assert len(placed) == len(set(placed))
    assert set(placed) <= set(range(1, plan.total + 1))
    large = {supply for supply in range(1, plan.total + 1) if (supplies == supply).sum() > 60}
    assert large <= set(placed)


def test_rings_and_crosses_stand_where_supplies_join_and_are_cut() -> None:
    pattern = wide_blocks()
    plan = assign_supplies(pattern.script, 2)
    picture, page = supply_picture(pattern, plan), supply_page(pattern, plan)
    marks = {"join": 0, "cut": 0}
    for number in range(1, pattern.chart.rows + 1):
        for entry in plan.row(number):
            for what, needle, middle in (
                ("join", entry.run.first, RIM),
                ("cut", entry.run.last, INK),
            ):
                if what not in (entry.start, entry.end):
                    continue
                column = needle - pattern.script.first_needle
                x = page.box[0] + (column + 0.5) * page.grid.width / page.grid.stitches
                y = page.box[3] - (number - 0.5) * page.grid.height / page.grid.rows
                assert picture.getpixel((round(x), round(y))) == middle
                marks[what] += 1
    assert marks == {"join": plan.total, "cut": plan.total}


def test_a_carry_is_drawn_from_needle_to_needle() -> None:
    # Row 1 goes right: a hangs at column 5, and row 2 goes left: it begins at column 9.
    pattern = rows_of("." * 8 + "aa" + "." * 10, ".." + "a" * 4 + "." * 14)
    carried, cut = (assign_supplies(pattern.script, reach) for reach in (4, 3))
    assert (carried.carry.max(), cut.carry.max()) == (4, 0)
    pictures = [supply_picture(pattern, plan) for plan in (carried, cut)]
    page = supply_page(pattern, carried)
    x = page.box[0] + 7.5 * page.grid.width / page.grid.stitches
    y = page.box[3] - 1.0 * page.grid.height / page.grid.rows
    lines = []
    for picture in pictures:
        column = [picture.getpixel((round(x), round(y) + step)) for step in range(-9, 10)]
        lines.append(INK in column and RIM in column)
    assert lines == [True, False]


def test_the_legend_says_what_every_mark_means() -> None:
    pattern = rows_of("..aa", "bbaa")
    page = supply_page(pattern, assign_supplies(pattern.script, 2))
    words = " ".join(entry.text.casefold() for entry in page.entries)
    for word in ("ring", "hung", "cross", "cut", "thin line", "carried", "number", "centre"):
        assert word in words
    assert [entry.text for entry in page.entries[:3]] == ["yarn 1", "yarn 2", "yarn 3"]
    assert "waiting" not in words
    rested = rows_of("aaaa", "....", "aaaa")
    assert "waiting" in " ".join(
        entry.text for entry in supply_page(rested, assign_supplies(rested.script, 3, 1)).entries
    )


def test_marks_differ_in_shape() -> None:
    shapes = [
        np.asarray(mark(64).convert("RGBA")) for mark in (join_mark, cut_mark, carry_mark)
    ] + [
        np.asarray(mark((20, 120, 90), 64).convert("RGBA")) for mark in (hatched_mark, number_mark)
    ]
    for index, shape in enumerate(shapes):
        for other in shapes[index + 1 :]:
            assert (shape != other).any(axis=2).mean() > 0.05


def test_the_smallest_chart_has_a_picture() -> None:
    pattern = pattern_of(np.zeros((1, 1), dtype=np.uint8))
    plan = assign_supplies(pattern.script, 1)
    picture, page = supply_picture(pattern, plan), supply_page(pattern, plan)
    assert picture.size == (page.width, page.height)
    assert "1 in all" in page.lines[1]
