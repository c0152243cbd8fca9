"""Shaped rows in the row script: as data, in large print and on the page."""

import json

import numpy as np

from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.sheets.scripts.page import as_html
from caller.sheets.scripts.reading import as_large_print
from caller.sheets.scripts.row_script import as_json, as_lines

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0"))
OUT = NOT_IN_WORK
# Row 2 goes left: ivory binds off four on the right, and the left side loses one stitch.
PIECE = Pattern(
    "A piece",
    Chart(np.array([[0] * 6 + [1] * 4, [OUT, *[0] * 5, *[OUT] * 4]], np.uint8)),
    YARNS,
)


def test_as_data():
    rows = json.loads(json.dumps(as_json(PIECE)))["rows"]
    assert (rows[0]["in_work"], rows[0]["shape"]) == (["L5", "R5"], [])
    assert rows[1]["in_work"] == ["L4", "R1"]
    assert rows[1]["shape"] == [
        {
            "do": "bind off",
            "side": "right",
            "stitches": 4,
            "from": "R5",
            "to": "R2",
            "edge": "R1",
            "moved": 0,
            "supply": 2,
            "bobbin": 1,
            "cut": True,
        },
        {
            "do": "decrease",
            "side": "left",
            "stitches": 1,
            "from": "L5",
            "to": "L5",
            "edge": "L4",
            "moved": 1,
            "supply": None,
            "bobbin": None,
            "cut": False,
        },
    ]
    assert [run["end"] for run in rows[0]["runs"]] == ["keep", "keep"]


def test_cast_on_is_what_row_1_has():
    upward = Pattern("Any", Chart(np.array([[OUT, 0, 1, OUT], [0, 0, 1, OUT]], np.uint8)), YARNS)
    data = as_json(upward)
    assert (data["cast_on"], data["first_needle"], data["last_needle"]) == (2, "L2", "R2")


def test_a_rectangle_has_no_word_of_shape():
    plain = Pattern("Any", Chart(np.array([[0, 1], [0, 1]], np.uint8)), YARNS)
    assert not {"shape", "in_work"} & set(as_json(plain)["rows"][0])
    assert "shape" not in as_html(plain).split("<body")[1].split("<script")[0]


def test_to_read():
    told = "Bind off 4 on the right with ivory, edge R1, then cut it."
    assert list(as_lines(PIECE))[-1] == (
        "Row 2, going left: bind off 4 on the right with ivory, edge R1, then cut it; "
        "decrease 1 on the left, edge L4; navy to L4. After the pass, keep navy at L4, which "
        "binds off."
    )
    large = as_large_print(PIECE).replace("\n  ", " ")
    assert large.index("Row 2 of 2, going left") < large.index(told) < large.index("navy to L4")
    page = as_html(PIECE)
    assert f'<p class="shape">{told}</p>\n<p class="shape">Decrease 1 on the left' in page
    assert "Shaped, at the widest 10 stitches, from L5 to R5." in page
