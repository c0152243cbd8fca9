"""The pages to print, measured: true size, every stitch in its place, and a PDF that opens."""

import io
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, PdfParser
from small_pieces import STEPS

from caller.errors import BadInputError
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.gauge import Gauge
from caller.pattern.storage.pattern_file import load
from caller.sheets.printing.chart_pages import chart_pages, key_lines, tiles
from caller.sheets.printing.paper import DPI, SIZES, pixels, text_pages
from caller.sheets.printing.printing import chart_count, pages, paper_of, write_pages

DEMO = Path(__file__).parents[3] / "demo_patterns" / "sailing-boat.toml"
A4 = paper_of("a4")


def mm(length: float) -> float:
    return length / DPI * 25.4


def test_paper_is_that_of_the_standards():
    # A4 is 210 x 297 mm (ISO 216); letter is 8.5 x 11 in (ANSI Y14.1; both from memory).
    assert SIZES["a4"] == (210, 297)
    assert SIZES["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_the_chart_is_as_large_as_the_piece():
    """Forty stitches at 30 to 10 cm are 133.3 mm wide, 59 rows at 42 are 140.5 mm tall."""
    page = np.asarray(next(chart_pages(load(DEMO), A4)))
    assert page.shape[:2] == (pixels(297), pixels(210))
    coloured = (page != page.min(axis=2, keepdims=True)).any(axis=2)  # no paper, ink or grid
    rows, columns = np.flatnonzero(coloured.any(axis=1)), np.flatnonzero(coloured.any(axis=0))
    assert mm(columns[-1] - columns[0]) == pytest.approx(400 / 3, abs=0.7)
    assert mm(rows[-1] - rows[0]) == pytest.approx(590 / 4.2, abs=0.7)


def test_the_check_line_is_fifty_mm_long():
    page = np.asarray(next(chart_pages(load(DEMO), A4)).convert("L"))
    foot = page[pixels(297 - 12 - 3.4) : pixels(297 - 12)] < 100
    runs = [np.diff(np.flatnonzero(np.diff(np.pad(line.astype(int), 1))))[::2] for line in foot]
    longest = max((run.max() for run in runs if len(run)), default=0)
    assert mm(longest) == pytest.approx(50, abs=0.3)


@given(st.integers(2, 260), st.integers(1, 400), st.floats(1, 6), st.floats(1, 8))
def test_the_sheets_cover_every_stitch_once(stitches, rows, per_cm, rows_per_cm):
    cells = np.zeros((rows, stitches), dtype=np.uint8)
    cells[:, 0] = 1
    bed = replace(STEPS.bed, needles=300)
    gauge = Gauge(per_cm, rows_per_cm, 1, "cm")
    piece = replace(STEPS, chart=Chart(cells), gauge=gauge, bed=bed)
    for paper in map(paper_of, SIZES):
        covered = np.zeros(cells.shape, dtype=int)
        for tile in tiles(piece, paper):
            covered[tile.bottom : tile.top, tile.left : tile.right] += 1
            assert (tile.right - tile.left) / per_cm * 10 <= paper.room_mm[0]
            assert (tile.top - tile.bottom) / rows_per_cm * 10 <= paper.room_mm[1]
        assert (covered == 1).all()


def test_every_stitch_has_its_yarns_colour_as_it_hangs():
    """The middle value of the inside of each stitch, on every sheet; numbers cover few pixels."""
    cells = np.tile(STEPS.chart.cells, (1, 8)).copy()
    cells[-1, 40:] = NOT_IN_WORK
    piece = replace(STEPS, chart=Chart(cells), gauge=Gauge(30, 40))
    tile = tiles(piece, A4)[0]
    page = np.asarray(next(chart_pages(piece, A4)))
    ink = (page < 60).all(axis=2)
    left, top = 24.0, 12 + 9 + 7.0  # mm: margin and row numbers; margin, title and needles
    assert ink[pixels(top) + 1 : pixels(top) + 3, pixels(left) : pixels(left + 10)].any()
    yarns = [yarn.rgb for yarn in piece.yarns]
    for row in range(tile.top):
        for column in range(tile.left, tile.right):
            y, x = top + (tile.top - 1 - row) * 2.5, left + column * 10 / 3
            inside = page[
                pixels(y + 0.5) : pixels(y + 2), pixels(x + 0.7) : pixels(x + 2.6)
            ].reshape(-1, 3)
            cell = cells[row, column]
            expected = (255, 255, 255) if cell == NOT_IN_WORK else yarns[cell]
            assert (np.median(inside, axis=0) == expected).all(), (row, column)


def test_a_pdf_of_true_size(tmp_path):
    path = tmp_path / "boat.pdf"
    told = []
    assert write_pages(load(DEMO), path, A4, done=lambda: told.append(1)) == [path]
    with PdfParser.PdfParser(filename=str(path)) as pdf:
        assert len(pdf.pages) == len(told) == 6
        for page in pdf.pages:
            box = [float(side) for side in pdf.read_indirect(page)[b"MediaBox"]]
            # In points, 72 to the inch.
            assert box == pytest.approx([0, 0, 210 / 25.4 * 72, 297 / 25.4 * 72], abs=0.3)
    assert chart_count(load(DEMO), A4) == 4


def test_pngs_of_true_size(tmp_path):
    paper = paper_of("letter")
    written = write_pages(load(DEMO), tmp_path / "boat.png", paper)
    assert [path.name for path in written][:2] == ["boat-1.png", "boat-2.png"]
    with Image.open(io.BytesIO(written[0].read_bytes())) as page:
        assert page.info["dpi"] == pytest.approx((DPI, DPI), abs=0.1)
        assert page.size == (pixels(215.9), pixels(279.4))
    with pytest.raises(BadInputError, match="exists already"):
        write_pages(load(DEMO), tmp_path / "boat.png", paper)
    with pytest.raises(BadInputError, match=r"ends in \.pdf or \.png"):
        write_pages(load(DEMO), tmp_path / "boat.svg", paper)


def test_without_a_gauge_it_says_so():
    told = " ".join(key_lines(STEPS))
    assert "1 navy, 2 cream, 3 rust" in told
    assert "No gauge is known, so a stitch is drawn 4 by 3 mm" in told
    assert len(list(pages(STEPS, A4))) == 2


def test_long_plans_go_on_over_pages():
    lines = [f"Bobbin {number}: " + "hang it in row 1, " * 9 for number in range(99)]
    sheets = [np.asarray(page) for page in text_pages(A4, "Long", lines)]
    inked = [int((page < 100).all(axis=2).sum()) for page in sheets]
    assert 3 <= len(sheets) <= 6
    assert min(inked[:-1]) > 0.8 * max(inked), "each is full but the last"
    for page in sheets:
        assert (page[:, : pixels(12) - 1] == 255).all()
        assert (page[:, pixels(210 - 12) + 3 :] == 255).all(), "nothing is cut off at the right"
