"""From a picture and the knitter's wishes to a pattern, against charts drawn by hand."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from caller.errors import BedError, ChartError, SettingError, YarnError
from caller.pattern.bed import Bed, Direction
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.outline import Outline, Point
from caller.pattern.panels import PanelOf
from caller.pattern.pattern import Pattern
from caller.pattern.picture.framing import Crop, Framing
from caller.pattern.picture.picture import Picture
from caller.pattern.picture.recipe import (
    Margins,
    Recipe,
    Size,
    likeness_warnings,
    only_used,
    panel_patterns,
    parse_size,
    pattern_of,
    whole_chart,
    whole_picture,
    with_chart,
)
from caller.pattern.yarns import Yarn
from caller.plain_text import LONGEST_TITLE

SQUARE = Gauge(30, 30)
NAVY, CREAM, RUST = Yarn("navy", "#1b2a4a"), Yarn("cream", "#f4efe0"), Yarn("rust", "#a83c09")
MOSS = Yarn("moss", "#769958")
YARNS = (NAVY, CREAM, RUST, MOSS)
# The letter F, 4 x 6, top line first: it looks different turned, mirrored and upside down.
F_MARKS = ("1111", "1000", "1110", "1000", "1000", "0000")
F = np.array([[int(mark) for mark in row] for row in F_MARKS])


def picture_of(numbers: np.ndarray, pixels: int = 8) -> Picture:
    """A picture of yarn numbers, so many pixels a stitch."""
    colours = np.array([yarn.rgb for yarn in YARNS], dtype=np.uint8)
    return Picture(colours[np.kron(numbers, np.ones((pixels, pixels), dtype=int))])


def recipe_of(**wishes: object) -> Recipe:
    return Recipe(**{"title": "F", "gauge": SQUARE, "width": Size(4), "yarns": YARNS, **wishes})


def named(chart: Chart, yarns: tuple[Yarn, ...]) -> list[str]:
    """The chart as rows of the yarns' first letters, the top row first."""
    letters = np.array([yarn.name[0] for yarn in yarns])[chart.cells[::-1]]
    return ["".join(row) for row in letters]


def lettered(numbers: np.ndarray) -> list[str]:
    return ["".join("ncrm"[number] for number in row) for row in numbers]


# Sizes


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("96", Size(count=96)),
        (" 96 ", Size(count=96)),
        ("30cm", Size(length_cm=30)),
        ("30.5 CM", Size(length_cm=30.5)),
        ("12in", Size(length_cm=30.48)),  # an inch is 2.54 cm, exactly (agreement of 1959)
        ("1 In", Size(length_cm=2.54)),
    ],
)
def test_sizes(text, size):
    read = parse_size(text)
    assert read.count == size.count
    assert read.length_cm == (None if size.length_cm is None else pytest.approx(size.length_cm))


@pytest.mark.parametrize("text", ["", "cm", "9.5", "wide", "30 mm", "12 in.", "3x4", "in12"])
def test_sizes_that_cannot_be_read(text):
    with pytest.raises(SettingError, match="cannot be read; write a count like") as refused:
        parse_size(text)
    assert repr(text) in str(refused.value)


def test_one_measure_settles_the_other():
    """rows = stitches / stitch gauge x row gauge (practice): 96 at 8 x 10.5 to the inch, square,
    are 126 rows, 12 in wide and tall."""
    square = picture_of(np.eye(8, dtype=int))
    inches = Gauge(8, 10.5, 1, "in")
    for wish in (
        {"width": Size(96)},
        {"width": Size(length_cm=12 * 2.54)},
        {"width": None, "height": Size(126)},
        {"width": None, "height": Size(length_cm=12 * 2.54)},
    ):
        chart, _ = whole_chart(square, recipe_of(gauge=inches, **wish))
        assert (chart.stitches, chart.rows) == (96, 126)
    stretched, _ = whole_chart(square, recipe_of(gauge=inches, width=Size(96), height=Size(40)))
    assert (stretched.stitches, stretched.rows) == (96, 40)
    tall, _ = whole_chart(picture_of(F), recipe_of(gauge=SQUARE, width=Size(8)))
    assert (tall.stitches, tall.rows) == (8, 12)
    with pytest.raises(SettingError, match="its width or its height"):
        whole_chart(square, recipe_of(width=None))


# The chart


@given(
    arrays(np.int64, st.tuples(st.integers(2, 6), st.integers(2, 6)), elements=st.integers(0, 2))
)
def test_each_block_of_the_picture_becomes_its_stitch(numbers):
    recipe = recipe_of(width=Size(numbers.shape[1]), height=Size(numbers.shape[0]))
    if len(np.unique(numbers)) < 2:
        with pytest.raises(ChartError):
            whole_chart(picture_of(numbers), recipe)
        return
    chart, yarns = whole_chart(picture_of(numbers), recipe)
    assert named(chart, yarns) == lettered(numbers)
    assert yarns == tuple(yarn for index, yarn in enumerate(YARNS) if index in numbers)
    seen, _ = whole_chart(picture_of(numbers), replace(recipe, seen_from="knit"))
    assert named(seen, yarns) == lettered(numbers[:, ::-1])


def test_colours_are_chosen_where_no_yarns_are_given():
    numbers = np.array([[0, 0, 1, 1], [0, 0, 1, 2]])
    chart, yarns = whole_chart(picture_of(numbers), recipe_of(yarns=(), colours=3))
    assert [yarn.colour for yarn in yarns] == [yarn.colour for yarn in YARNS[:3]]
    assert chart.cells[::-1].tolist() == numbers.tolist()
    assert len(whole_chart(picture_of(numbers), recipe_of(yarns=(), colours=2))[1]) == 2
    six = np.array([[0, 0, 0], [255, 0, 0], [0, 255, 0], [0, 0, 255], [255] * 3, [255, 255, 0]])
    many = Picture(np.repeat(six.astype(np.uint8)[None], 2, axis=0))
    assert len(whole_chart(many, recipe_of(yarns=(), width=Size(6)))[1]) == 4, "the usual"


def test_the_picture_is_framed_first():
    # Cut to the upper five lines and three columns, a quarter turn clockwise, and flipped.
    framing = Framing(Crop(0, 0, 24, 40), quarter_turns=1, flip=True)
    chart, yarns = whole_chart(picture_of(F), recipe_of(framing=framing, width=Size(5)))
    assert named(chart, yarns) == lettered(np.rot90(F[:5, :3], -1)[:, ::-1])


def test_margins_are_in_the_yarn_that_most_of_the_edge_is_in():
    # Rust fills more of the picture, but cream has 13 of the 18 stitches counted along the edge
    # (corners twice), navy 5.
    numbers = np.full((5, 4), 2)
    numbers[:, [0, -1]] = numbers[[0, -1]] = 1
    numbers[0] = 0
    margins = Margins(sides=1, below=2, above=3)
    chart, yarns = whole_chart(picture_of(numbers), recipe_of(margins=margins))
    whole = np.pad(numbers, ((3, 2), (1, 1)), constant_values=1)
    assert named(chart, yarns) == lettered(whole)
    # For the knit side margins and all are mirrored.
    chart, yarns = whole_chart(picture_of(F), recipe_of(seen_from="knit", margins=Margins(sides=2)))
    assert named(chart, yarns) == lettered(np.pad(F, ((0, 0), (2, 2)))[:, ::-1])


@pytest.mark.parametrize(
    "edge",
    [np.s_[0, :], np.s_[-1, :], np.s_[:, 0], np.s_[:, -1]],
    ids=["top", "bottom", "left", "right"],
)
def test_every_side_of_the_edge_counts(edge):
    # One side is rust, 8 of the 24 counted; navy, cream and moss share the other 16.
    numbers = np.array([0, 1, 3])[np.indices((6, 6)).sum(axis=0) % 3]
    numbers[edge] = 2
    chart, yarns = whole_chart(picture_of(numbers), recipe_of(width=Size(6), margins=Margins(1)))
    assert {row[0] + row[-1] for row in named(chart, yarns)} == {"rr"}


@pytest.mark.parametrize("name", ["cream", "CREAM"])
def test_margins_in_a_yarn_by_name(name):
    recipe = recipe_of(background=name, margins=Margins(below=1))
    chart, yarns = whole_chart(picture_of(F), recipe)
    assert named(chart, yarns) == [*lettered(F), "cccc"]


def test_a_background_that_no_stitch_needs_cannot_be():
    with pytest.raises(YarnError) as refused:
        whole_chart(picture_of(F), recipe_of(background="rust", margins=Margins(sides=1)))
    assert str(refused.value) == (
        "There is no yarn 'rust' for the background; the yarns are navy, cream."
    )


def test_a_background_is_checked_though_there_is_no_margin():
    with pytest.raises(
        YarnError, match=r"no yarn 'mauve' .* the yarns are navy, cream, rust, moss"
    ):
        whole_chart(picture_of(F), recipe_of(background="mauve"))


# The pattern


def test_every_wish_reaches_the_pattern():
    direction: Direction = "left"
    recipe = recipe_of(
        title="Letter",
        bed=Bed(60, 9.0, "straight"),
        first_needle="7",
        first_direction=direction,
        seen_from="knit",
    )
    chart, yarns = whole_chart(picture_of(F), recipe)
    assert pattern_of(chart, yarns, recipe) == Pattern(
        "Letter",
        chart,
        yarns,
        bed=Bed(60, 9.0, "straight"),
        gauge=SQUARE,
        first_direction="left",
        first_needle="7",
        seen_from="knit",
    )
    with pytest.raises(BedError):
        pattern_of(Chart(np.resize([0, 1], (3, 61))), yarns, recipe)


@pytest.mark.parametrize("seen_from", ["knit", "purl"])
def test_the_picture_itself_is_laid_as_its_chart_is(seen_from):
    """Of flat patches the mean is their colour, so picture and chart show the same, shaped too."""
    picture = picture_of(np.resize([0, 1, 2, 3, 1], (12, 17)))
    out = np.zeros(picture.rgb.shape[:2], dtype=bool)
    out[:40, :24] = True
    outline = Outline((Point(18, 0), Point(18, 6), Point(12, 16)), "left")
    for clear in (None, out):
        recipe = recipe_of(
            width=Size(17), seen_from=seen_from, margins=Margins(1, 2, 3), outline=outline
        )
        chart, yarns, colours = whole_picture(Picture(picture.rgb, clear), recipe)
        assert (chart, yarns) == whole_chart(Picture(picture.rgb, clear), recipe)
        assert chart.rows == 16
        inside = chart.cells != NOT_IN_WORK
        shown = np.array([yarn.rgb for yarn in yarns])[chart.cells[inside]]
        assert np.abs(shown - colours[inside]).max() == 0


def test_what_is_usual():
    pattern = pattern_of(*whole_chart(picture_of(F), recipe_of()), recipe_of())
    assert (pattern.bed, pattern.first_needle) == (Bed(), None)
    assert (pattern.seen_from, pattern.first_direction) == ("purl", "right")
    usual = Recipe("F", SQUARE)
    assert (usual.width, usual.height, usual.background) == (None, None, None)
    assert (usual.colours, usual.yarns, usual.framing) == (None, (), Framing())
    assert Recipe("F", SQUARE).margins == Margins(sides=0, below=0, above=0)


def test_panels_by_hand():
    # 10 stitches on a bed of 7 with one seam stitch: 10 + 2 = 12 stitches lie on two panels of 6,
    # so columns 0 to 4 and a seam, a seam and columns 5 to 9. The first panel has no rust.
    cells = np.array([[0, 1, 0, 1, 0, 1, 2, 2, 2, 2], [1, 0, 1, 0, 1, 0, 2, 2, 2, 2]])
    recipe = recipe_of(bed=Bed(needles=7), first_direction="left", first_needle="L3")
    first, second = panel_patterns(Chart(cells), YARNS, recipe, 1)
    assert (first.title, second.title) == ("F, panel 1 of 2", "F, panel 2 of 2")
    assert (first.panel, second.panel) == (PanelOf(1, 2, 1), PanelOf(2, 2, 1))
    assert first.yarns == (NAVY, CREAM)
    assert first.chart.cells.tolist() == cells[:, :6].tolist()
    assert second.yarns == (NAVY, CREAM, RUST)
    assert second.chart.cells.tolist() == cells[:, 4:].tolist()
    for panel in (first, second):
        assert (panel.gauge, panel.bed, panel.first_direction) == (SQUARE, Bed(needles=7), "left")
        assert panel.first_needle == "L3"
    (whole,) = panel_patterns(Chart(cells), YARNS, recipe_of(), 1)
    assert (whole.title, whole.panel) == ("F", None)
    assert whole.chart.cells.tolist() == cells.tolist()


def test_a_long_title_leaves_room_for_the_panel():
    cells = np.array([[0, 1] * 5])
    recipe = recipe_of(bed=Bed(needles=7), title="x" * LONGEST_TITLE)
    for number, panel in enumerate(panel_patterns(Chart(cells), YARNS, recipe, 1), start=1):
        assert len(panel.title) == LONGEST_TITLE
        assert panel.title.startswith("xxx")
        assert panel.title.endswith(f", panel {number} of 2")


def test_a_panel_of_one_colour_cannot_be():
    cells = np.zeros((3, 10), dtype=np.uint8)
    cells[:, 9] = 1
    with pytest.raises(ChartError, match="only one colour"):
        panel_patterns(Chart(cells), (NAVY, CREAM), recipe_of(bed=Bed(needles=6)), 0)


@given(arrays(np.uint8, (4, 5), elements=st.sampled_from([0, 2, 5, 23])))
def test_only_the_used_yarns_are_kept_in_their_order(cells):
    many = tuple(Yarn(f"yarn {number}", f"#0000{number:02x}") for number in range(24))
    chart, used = only_used(Chart(cells), many)
    assert used == tuple(many[number] for number in sorted(set(cells.ravel().tolist())))
    assert [[used[number] for number in row] for row in chart.cells.tolist()] == [
        [many[number] for number in row] for row in cells.tolist()
    ]


def test_another_chart_of_the_same_yarns():
    recipe = recipe_of(first_needle="L9")
    pattern = pattern_of(Chart(np.array([[0, 1, 2, 2]])), YARNS, recipe)
    changed = with_chart(pattern, Chart(np.array([[2, 2, 1, 2]])))
    assert changed.yarns == (CREAM, RUST)
    assert changed.chart.cells.tolist() == [[1, 1, 0, 1]]
    assert replace(changed, chart=pattern.chart, yarns=YARNS) == pattern


# Yarns that look alike


def test_yarns_that_look_alike_are_told():
    # Two near blacks are alike to any eye. A reddish brown and a green of one lightness are to
    # protans and deutans only (Machado 2009; computed by coloraide).
    soot, coal = Yarn("soot", "#101010"), Yarn("coal", "#121212")
    assert list(likeness_warnings((soot, CREAM, coal))) == ["soot and coal look alike to any eye."]
    brick, leaf = Yarn("brick", "#a05030"), Yarn("leaf", "#687030")
    (sentence,) = likeness_warnings((brick, leaf))
    assert sentence.startswith("brick and leaf look alike to eyes weak in ")
    assert list(likeness_warnings((NAVY, CREAM))) == []


def test_each_kind_of_eye_is_named(monkeypatch):
    from caller.pattern.picture import recipe
    from caller.pattern.picture.lookalikes import ClosePair

    def told(*sights: str) -> list[str]:
        monkeypatch.setattr(recipe, "close_pairs", lambda _: [ClosePair(NAVY, RUST, sights, 5.0)])
        return list(likeness_warnings(YARNS))

    assert told("full", "protan") == ["navy and rust look alike to any eye."]
    assert told("protan", "deutan") == [
        "navy and rust look alike to eyes weak in red and eyes weak in green."
    ]
    assert told("tritan") == ["navy and rust look alike to eyes weak in blue."]
