"""The plan of a shaped piece and of a garment of several, and their pictures.

The armhole follows the worked example named in tests/pattern/test_outline.py.
"""

from dataclasses import replace

import numpy as np
import pytest

from caller.errors import GaugeError, YarnError
from caller.pattern.amounts import mass_g
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.outline import cut_out, parse_outline
from caller.pattern.pattern import Fabric, Pattern
from caller.pattern.winding import lengths_m, winding_of
from caller.pattern.yarn_counts import parse_count
from caller.pattern.yarns import Yarn
from caller.sheets import garment, plan, shaping
from caller.sheets.in_words import yarns_in_words
from caller.sheets.pictures.page import PAPER, piece_grid
from caller.sheets.pictures.preview import piece_pixels
from caller.sheets.pictures.supply_picture import (
    supply_colours,
    supply_picture,
    territories,
)

GAUGE = Gauge(28, 40)
NAVY = Yarn("navy", "#1b2a4a", count=parse_count("100 tex"), ball_g=50)
YARNS = (NAVY, Yarn("ivory", "#f4efe0"))


def back() -> Pattern:
    cells = np.zeros((256, 174), np.uint8)
    cells[100:180, 60:110] = 1
    points = parse_outline("62cm@0cm,62cm@38cm,56cm@38cm,38cm@54cm,38cm@64cm", GAUGE)
    chart, _ = cut_out(Chart(cells), points, "left")
    return Pattern("Back", chart, YARNS, gauge=GAUGE, first_direction="left")


BACK = back()


def test_the_shaping_in_the_words_of_a_pattern():
    lines = list(plan.as_lines(BACK))
    assert lines[1] == "Cast on 174 stitches, L87 to R87. Row 1 goes to the left."
    shaped = [line for line in lines if line.startswith(("Shaped", "Before"))]
    assert shaped == [
        "Shaped: 174 stitches at the widest, 106 stitches at the end.",
        "Before row 153: bind off 8 on the right, edge R79.",
        "Before row 154: bind off 8 on the left, edge L79.",
        "Before rows 155 to 217: decrease 1 on each side, every 2 or 3 rows, 26 times; in the end "
        "edges L53 and R53.",
    ]
    data = plan.as_json(BACK)["shaping"]
    assert (data["widest"], data["stitches_left"]) == (174, 106)
    assert data["slopes"][0] == {
        "do": "bind off",
        "stitches": 8,
        "sides": ["right"],
        "before_rows": [153],
        "edges": ["R79"],
    }
    assert any("Fully fashioned: move the 3 edge stitches" in line for line in lines)
    simple = list(plan.as_lines(replace(BACK, shaping="simple")))
    assert any(line.startswith("Simple: to decrease, move the last stitch") for line in simple)


def test_a_rectangle_has_no_shaping():
    plain = Pattern("Any", Chart(np.array([[0, 1]])), YARNS)
    assert "shaping" not in plan.as_json(plain)
    assert list(shaping.as_lines(plain)) == []


def test_yarn_follows_the_stitches_in_work_and_the_edges():
    """No allowance, no tails: stitches at their loop, a cast-on four and a bind-off six widths."""
    cells = np.array([[0] * 6 + [1] * 4, [0] * 6 + [NOT_IN_WORK] * 4, [0] * 6 + [NOT_IN_WORK] * 4])
    fabric = Fabric(loop_mm=10, tail_cm=0, allowance=0)
    piece = Pattern("Any", Chart(cells), YARNS, gauge=Gauge(5, 5), fabric=fabric)
    lengths = lengths_m(piece)
    assert lengths is not None
    # Ivory knits four stitches and binds them off: 4 x 10 mm, and 4 x 6 widths of 20 mm.
    assert lengths.tolist() == pytest.approx([0.18, 0.04 + 4 * 6 * 0.02])
    upward = Pattern("Any", Chart(cells[[1, 0]]), YARNS, gauge=Gauge(5, 5), fabric=fabric)
    lengths = lengths_m(upward)
    assert lengths is not None
    assert lengths.tolist() == pytest.approx([0.12, 0.04 + 4 * 4 * 0.02])
    for one in (piece, upward, BACK):
        winding, supplies = winding_of(one), lengths_m(one)
        assert winding is not None
        assert supplies is not None
        assert winding.used_m.sum() == pytest.approx(supplies.sum())


def test_shares_are_of_the_stitches_in_work():
    cells = np.array([[0, 0, 0, 1], [NOT_IN_WORK, 1, 1, 1]])
    told = list(yarns_in_words(Pattern("Any", Chart(cells), YARNS)))
    assert told[0].startswith("navy: 43 percent of the stitches, row 1, from L2 to R1")


@pytest.mark.parametrize("side", ["purl", "knit"])
def test_needles_out_of_work_are_drawn_empty(side):
    cells = np.array([[0, 0, 0, 0, 1], [NOT_IN_WORK, 0, 0, 1, 1], [NOT_IN_WORK, 1, 1, 0, 1]])
    piece = Pattern("Any", Chart(cells), YARNS, gauge=Gauge(30, 40))
    grid = piece_grid(piece, side)
    pixels = piece_pixels(piece, side)
    colours = [*(yarn.rgb for yarn in YARNS), PAPER]
    for row, column in np.ndindex(cells.shape):
        middle = pixels[int(grid.y(row + 0.5)), int(grid.x(column + 0.5))]
        number = cells[row, column]
        assert tuple(middle) == colours[-1 if number == NOT_IN_WORK else number]
    # Nothing but paper in the empty corner, away from the border.
    top, bottom = int(grid.y(3) + 2), int(grid.y(1) - 8)
    left, right = sorted((int(grid.x(0)), int(grid.x(1))))
    corner = pixels[top:bottom, left + 8 : right - 8]
    assert corner.size
    assert (corner == 255).all()


def test_the_picture_of_the_ends_is_empty_there_too():
    cells = np.array([[0, 0, 0, 0, 1], [NOT_IN_WORK, 0, 0, 1, 1], [NOT_IN_WORK, 0, 1, 1, 1]])
    piece = Pattern("Any", Chart(cells), YARNS, gauge=Gauge(30, 40))
    grid, plan = piece_grid(piece, "purl"), piece.supply_plan
    pixels = territories(plan, supply_colours(piece, plan), grid)
    for row, column in ((1, 0), (2, 0)):
        assert tuple(pixels[int(grid.y(row + 0.5)), int(grid.x(column + 0.5))]) == PAPER
    assert tuple(pixels[int(grid.y(0.5)), int(grid.x(0.5))]) == YARNS[0].rgb
    assert supply_picture(piece, plan).size[0] > 0


def test_a_garment_of_pieces():
    front = replace(BACK, title="Front")
    sleeve = Pattern("Sleeve", Chart(np.array([[0, 1, 1]])), (NAVY, YARNS[1]), gauge=GAUGE)
    pieces = [BACK, front, sleeve]
    data, plans = garment.as_json(pieces), [plan.as_json(piece) for piece in pieces]
    assert [piece["title"] for piece in data["pieces"]] == ["Back", "Front", "Sleeve"]
    assert data["gauge"] == "28x40/10cm"
    assert data["supplies_total"] == sum(one["supplies_total"] for one in plans)
    navy, ivory = data["yarns"]
    assert navy["stitches"] == 2 * plans[0]["winding"][0]["stitches"] + 1
    lengths = [one["winding"][0]["length_m"] for one in plans]
    assert navy["length_m"] == pytest.approx(sum(lengths), abs=0.05)
    assert navy["mass_g"] == pytest.approx(float(mass_g(sum(lengths), 100)), abs=0.2)
    assert navy["balls"] == -(-navy["mass_g"] // 50)
    assert (ivory["mass_g"], ivory["balls"]) == (None, None)
    lines = list(garment.as_lines(pieces))
    assert lines[0] == "3 pieces at 28x40/10cm."
    assert lines[1].startswith("Back: cast on 174, 256 rows; 62.1 by 64 cm; ")
    assert any(line.startswith("navy: ") and "in Back, Front, Sleeve" in line for line in lines)


def test_pieces_that_do_not_go_together():
    other = replace(BACK, title="Sleeve", gauge=Gauge(30, 42))
    with pytest.raises(GaugeError, match="'Back' has 28x40/10cm and 'Sleeve' has 30x42/10cm"):
        garment.as_json([BACK, other])
    other = replace(BACK, title="Sleeve", yarns=(replace(NAVY, colour="#1b2a4b"), YARNS[1]))
    with pytest.raises(YarnError, match="The yarn 'navy' of 'Sleeve' is not the same"):
        garment.as_json([BACK, other])
