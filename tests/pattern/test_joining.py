"""Several pictures on one piece, read stitch by stitch."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.errors import BadInputError
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.joining import Layout, differences, joined
from caller.pattern.pattern import Fabric, Pattern, Reminder
from caller.pattern.picture.recipe import Margins
from caller.pattern.yarns import Yarn

NAVY, CREAM, RUST = Yarn("navy", "#1b2a4a"), Yarn("cream", "#f4efe0"), Yarn("rust", "#a0522d")
COMMON = Gauge(30, 40)


def pattern(title: str, yarns: tuple[Yarn, ...], *rows: str, **more) -> Pattern:
    """Rows as they are seen, the top one first, each letter a yarn's first one."""
    letters = [yarn.name[0] for yarn in yarns]
    cells = [[letters.index(one) for one in row] for row in rows[::-1]]
    whole = {"gauge": COMMON} | more
    return Pattern(title, Chart(np.array(cells, dtype=np.uint8)), yarns, **whole)


def seen(piece: Pattern) -> list[str]:
    """The piece as it hangs, the top row first."""
    return ["".join(piece.yarns[cell].name[0] for cell in row) for row in piece.chart.cells[::-1]]


STEP = pattern("Step", (NAVY, CREAM), "nnn", "cnn")
BAR = pattern("Bar", (CREAM, RUST), "crc", "crc", "crc")


def test_side_by_side_and_above_each_other():
    piece = joined([STEP, BAR], Layout(across=3, up=2, between=1, between_rows=1), "Both")
    assert seen(piece) == [
        "crcnnnnncrc",
        "crcnnnnncrc",
        "crcncnnncrc",
        "nnnnnnnnnnn",
        "nnnncrcnnnn",
        "nnnncrcnnnn",
        "cnnncrcncnn",
    ]
    assert piece.title == "Both"
    assert [yarn.name for yarn in piece.yarns] == ["navy", "cream", "rust"]
    assert piece.gauge == COMMON


def test_from_left_to_right_as_they_are_seen():
    """The purl side faces the knitter, so what shows on the knit side hangs mirrored."""
    hung = [replace(one, seen_from="knit") for one in (STEP, BAR)]
    piece = joined(hung, Layout(), "Both")
    assert seen(piece)[-1] == "crccnn"
    assert seen(joined([STEP, BAR], Layout(), "Both"))[-1] == "cnncrc"


def test_margins_background_and_reminders():
    told = replace(STEP, reminders=(Reminder(2, "weights"),))
    layout = Layout(across=2, up=2, margins=Margins(1, 2, 1))
    piece = joined([told], layout, "Steps", background="Cream")
    assert seen(piece)[0] == "c" * 8
    assert seen(piece)[-2:] == ["c" * 8] * 2
    assert [(one.row, one.say) for one in piece.reminders] == [(4, "weights"), (6, "weights")]


def test_a_border_is_repeated_whole_all_around():
    edge = pattern("Edge", (RUST, CREAM), "rc")
    piece = joined([STEP], Layout(), "Framed", border=edge)
    assert seen(piece) == ["rcrcrcrc", "rcnnnnrc", "rccnnnrc", "rcrcrcrc"]
    assert [yarn.name for yarn in piece.yarns] == ["navy", "cream", "rust"]


@given(st.integers(1, 4), st.integers(1, 4), st.integers(0, 3), st.integers(0, 3), st.booleans())
def test_every_picture_lies_whole_in_its_place(across, up, between, between_rows, knit):
    side = "knit" if knit else "purl"
    one, other = (replace(each, seen_from=side) for each in (STEP, BAR))
    piece = joined([one, other], Layout(across, up, between, between_rows), "Any")
    # The taller one in every band that has it; both are three stitches wide.
    bands = [3 if across > 1 or (band % 2) else 2 for band in range(up)]
    assert piece.chart.stitches == 3 * across + between * (across - 1)
    assert piece.chart.rows == sum(bands) + between_rows * (up - 1)
    names = np.array([yarn.name for yarn in piece.yarns])[piece.chart.cells]
    for band in range(up):
        bottom = sum(bands[:band]) + between_rows * band
        for column in range(across):
            source = (one, other)[(band * across + column) % 2]
            place = across - 1 - column if knit else column
            left = place * (3 + between)
            low = bottom + (bands[band] - source.chart.rows) // 2
            part = names[low : low + source.chart.rows, left : left + 3]
            assert (part == np.array([y.name for y in source.yarns])[source.chart.cells]).all()


@pytest.mark.parametrize(
    ("other", "told"),
    [
        (replace(BAR, gauge=Gauge(28, 40)), "Step is at 30x40/10cm and Bar at 28x40/10cm"),
        (replace(BAR, bed=Bed(110, 9)), "are for different beds"),
        (replace(BAR, seen_from="knit"), "on the purl side, Bar on the knit side"),
        (replace(BAR, yarns=(replace(CREAM, name="ivory"), RUST)), "alike in name or colour only"),
        (replace(BAR, yarns=(replace(CREAM, colour="#ffffff"), RUST)), "alike in name or colour"),
        (
            replace(BAR, chart=Chart(np.array([[0, 1, 0], [0, 1, NOT_IN_WORK]], dtype=np.uint8))),
            "Bar is shaped",
        ),
    ],
)
def test_what_does_not_go_together(other, told):
    with pytest.raises(BadInputError, match=told):
        joined([STEP, other], Layout(), "Both")


def test_a_piece_too_wide_for_the_bed():
    with pytest.raises(BadInputError, match="Or lay fewer pictures across"):
        joined([STEP], Layout(across=67), "Wide")
    for layout in (Layout(across=2000), Layout(up=20_000)):
        with pytest.raises(BadInputError, match="at most"):
            joined([STEP], layout, "Huge")
    for wrong in ({"across": -1}, {"up": 0}, {"between": -1}, {"between_rows": 1.5}):
        with pytest.raises(BadInputError):
            Layout(**wrong)
    with pytest.raises(BadInputError, match="no yarn 'teal'"):
        joined([STEP], Layout(), "Any", background="teal")


def test_a_picture_taken_as_it_is_goes_with_any():
    bare = replace(BAR, gauge=None, bed=Bed(), yarns=(replace(CREAM, name="pearl"), RUST))
    on_bulky = replace(STEP, bed=Bed(110, 9))
    piece = joined([bare, on_bulky], Layout(), "Both")
    assert (piece.bed.needles, piece.gauge) == (110, COMMON)
    assert {yarn.name for yarn in piece.yarns} == {"navy", "cream", "rust"}


def test_what_is_taken_from_the_first_is_told():
    assert list(differences([STEP, BAR])) == []
    other = replace(BAR, fabric=Fabric(13), first_direction="left")
    told = list(differences([STEP, other]))
    assert len(told) == 2
    assert all(one.endswith("are taken from Step.") for one in told)
