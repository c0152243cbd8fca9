"""Every figure of the plan, worked by hand, and what holds for the plan of any chart.

The formulas and where they are from:

- the yarn of a supply: stitches x loop length + carried needles x stitch width, the allowance once
  on both, and a tail at either end (the geometry is plain; tails of 12.5 to 15 cm are seen in the
  trade, sources disagree);
- the loop length without a measured one: l = √(Ks / S), Ks 21.6 wet and 19.0 dry, for plain
  knitting (D. L. Munden, J. Textile Institute 50, 1959; constants as in handbooks, from memory);
- mass: tex is grams in 1000 m (ISO 1144, seen), so 50 g in 125 m are 400 tex (computed);
- a row by the craft's rule: three times its width and a tail (seen in a table of the craft,
  practice);
- tightness factor K = √tex / l(mm), 1.3 to 1.5 usual for plain knitting (textbook, seen);
- a gauge of 8 x 10.5 to the inch keeps a square 96 stitches wide at 126 rows (practice, computed).
"""

from dataclasses import replace

import hypothesis.extra.numpy as arrays
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from supply_checks import script_of

from caller.pattern import winding
from caller.pattern.bed import Bed
from caller.pattern.chart import NOT_IN_WORK, Chart
from caller.pattern.finishing import cast_off
from caller.pattern.gauge import Gauge
from caller.pattern.panels import PanelOf
from caller.pattern.pattern import Fabric, Pattern, SupplyRules
from caller.pattern.tidy.advice import advise
from caller.pattern.yarn_counts import parse_count
from caller.pattern.yarns import Yarn
from caller.sheets import casting_on, cautions, plan

SAND = Yarn("sand", "#d8c8a0", parse_count("500 tex"), 1.0)
RUST = Yarn("rust", "#a83c09", parse_count("125 m/50 g"), 50.0)

# Sixty stitches, five rows; sand is yarn 0, rust yarn 1, each letter is ten stitches.
# Row 1 right: sand 1 over columns 0-9, rust 2 over 10-39, sand 3 over 40-59; 1 and 2 are cut.
# Row 2 left: sand 3 from column 59, where it hangs, to 0.
# Row 3 right: sand 3 from 0 to 29, rust 4 joins over 30-39, sand 5 joins over 40-59.
# Row 4 left: all three where they hang: 59 to 40, 39 to 30, 29 to 0.
# Row 5 right: sand 3 over 0-9, rust 4 hangs at 30 and begins at 10, carry 20, sand 5 over 40-59.
FIVE_ROWS = Chart(
    np.repeat(script_of(".aaa..", "...a..", "...a..", "......", ".aaa..").chart.cells, 10, axis=1)
)
WORKED = Pattern(
    "Two dunes",
    FIVE_ROWS,
    (SAND, RUST),
    gauge=Gauge(30, 42),  # a stitch is 10 / 3 mm wide
    fabric=Fabric(loop_mm=13.6),  # tails of 15 cm, an allowance of 10 %
    supply_rules=SupplyRules(max_carry=20),
)


def test_the_yarn_of_each_supply() -> None:
    # 1: 10 stitches x 13.6 mm = 136; + 10 % = 149.6; + 2 x 150 = 449.6 mm.
    # 2: 30 x 13.6 = 408; + 10 % = 448.8; + 300 = 748.8.
    # 3: 20 + 60 + 30 + 30 + 10 = 150 stitches; 2040; + 10 % = 2244; + 300 = 2544.
    # 4: 10 + 10 + 30 = 50 stitches; 680; 20 needles carried x 10/3 mm = 66.667; 746.667; + 10 % =
    #    821.333; + 300 = 1121.333.
    # 5: 3 x 20 = 60 stitches; 816; + 10 % = 897.6; + 300 = 1197.6.
    assert winding.lengths_m(WORKED) == pytest.approx([0.4496, 0.7488, 2.544, 1.1213333, 1.1976])
    # Sand weighs 500 g in 1000 m; rust 50 g in 125 m, which is 400 g in 1000 m.
    assert plan.as_json(WORKED)["supplies"] == [
        supply(1, "sand", (1, 1), 10, 0, 0.45, 0.2, None),  # 0.4496 m x 0.5 g = 0.2248 g
        supply(2, "rust", (1, 1), 30, 0, 0.75, 0.3, None),  # 0.7488 x 0.4 = 0.29952
        supply(3, "sand", (1, 5), 150, 0, 2.54, 1.3, None),  # 2.544 x 0.5 = 1.272
        supply(4, "rust", (3, 5), 50, 20, 1.12, 0.4, 2),  # 1.12133 x 0.4 = 0.44853
        supply(5, "sand", (3, 5), 60, 0, 1.20, 0.6, 1),  # 1.1976 x 0.5 = 0.5988
    ]


def supply(number, yarn, rows, stitches, carry, length_m, mass_g, leftover_of):
    return {
        "supply": number,
        "yarn": yarn,
        "first_row": rows[0],
        "last_row": rows[1],
        "stitches": stitches,
        "carry_stitches": carry,
        "length_m": length_m,
        "mass_g": mass_g,
        "bobbin": 2 if number == 3 else 1,
        "leftover_of": leftover_of,
    }


def test_what_to_wind() -> None:
    # Sand: supply 5 joins in row 3 on the bobbin of supply 1, cut in row 1: 0.4496 + 1.1976 =
    # 1.6472 m; supply 3 has its own, 2.544 m; 4.1912 m together, x 0.5 g = 2.0956 g, in balls of
    # 1 g three. Rust: 0.7488 + 1.12133 = 1.87013 m on one bobbin, x 0.4 g = 0.74805 g, one ball.
    assert plan.as_json(WORKED)["winding"] == [
        {
            "yarn": "sand",
            "supplies": 3,
            "bobbins": 2,
            "bobbin_lengths_m": [1.65, 2.54],
            "fillings": [1, 1],
            "stitches": 220,
            "length_m": 4.2,
            "mass_g": 2.1,
            "balls": 3,
        },
        {
            "yarn": "rust",
            "supplies": 2,
            "bobbins": 1,
            "bobbin_lengths_m": [1.87],
            "fillings": [1],
            "stitches": 80,
            "length_m": 1.9,
            "mass_g": 0.7,
            "balls": 1,
        },
    ]


def test_where_it_lies_and_what_hangs() -> None:
    data = plan.as_json(WORKED)
    del data["supplies"], data["winding"], data["warnings"], data["setting_up"]
    del data["casting_on"]
    assert data == {
        "title": "Two dunes",
        "cast_on": 60,
        "rows": 5,
        "first_needle": "L30",
        "last_needle": "R30",
        "faces_you": "purl",
        "seen_from": "purl",
        "finished_cm": [20.0, 1.2],  # 60 / 3 stitches to the cm, 5 / 4.2 rows to the cm = 1.19
        "loop_mm": 13.6,
        "max_carry": 20,
        "likeness_to_picture": None,
        "panel": None,
        "max_rest_rows": 0,
        "supplies_total": 5,
        "supplies_at_once": 3,
        "clips": 3,
        "weights": 3,  # three supplies join in row 1, so three tails are weighted at once
        "tails_to_weave_in": 10,  # two ends a supply
        "carries": 1,
        "longest_carry": 20,
        "single_stitches": 0,
        "densest": [
            {"first_row": 1, "last_row": 1, "runs": 3, "supplies": 3},
            {"first_row": 3, "last_row": 5, "runs": 3, "supplies": 3},
            {"first_row": 2, "last_row": 2, "runs": 1, "supplies": 1},
        ],
        "advice": [],
        # 60 stitches x 1.36 cm + 15 cm; 3 x 20 cm + 15 cm.
        "row_check": {"worked_out_cm": 96.6, "three_times_rule_cm": 75.0},
    }


def test_as_sentences() -> None:
    lines = list(plan.as_lines(WORKED))
    assert lines[3:8] == list(casting_on.as_lines(WORKED))
    del lines[3:8]
    assert lines[:-2] == [
        "Two dunes. 60 stitches, L30 to R30; 5 rows.",
        "Cast on 60 stitches, L30 to R30. Row 1 goes to the right.",
        "The purl side faces you, and the picture is seen from it.",
        "Finished size 20 by 1.2 cm, rested.",
        "5 ends to hang in all, 3 at once; 3 tails to weight at once; 10 tails to weave in.",
        "An end is carried at most 20 needles and knits in every row.",
        "Where two yarns meet, take up the next one from under the one just laid.",
        "Wind sand: 2 bobbins, 4.2 m in all, 2.1 g, 3 to buy.",
        "Wind rust: 1 bobbin, 1.9 m in all, 0.7 g, 1 to buy.",
        "Bobbin 1 of sand, 1.6 m: hang it in row 1 at L30, row 3 at R11.",
        "Bobbin 2 of sand, 2.5 m: hang it in row 1 at R11.",
        "Bobbin 1 of rust, 1.9 m: hang it in row 1 at L20, row 3 at R1.",
        # 60 stitches are 20 cm: six times that, and 15 cm.
        "To bind off, wind 1.4 m more on bobbin 1 of sand, which hangs where the carriage stands "
        "in the end.",
        "A whole row takes 96.6 cm by its loops, 75 cm by the rule of three times the width.",
        "Dense: row 1, 3 runs, 3 ends.",
        "Dense: rows 3 to 5, 3 runs, 3 ends.",
        "Dense: row 2, 1 run, 1 end.",
    ]
    # The two warnings: the carry of 20 is longer than 2.5 cm, 7 needles at this gauge, and sand's
    # K = √500 / 13.6 = 1.64 lies above 1.5; rust's √400 / 13.6 = 1.47 does not.
    assert lines[-2].startswith(
        "Take note: The longest carry is 20 needles, rust from R1 to L20 in row 5; "
    )
    assert lines[-1].startswith("Take note: sand: The fabric would be tight: its tightness factor ")
    assert " 1.64," in lines[-1]


def test_the_plan_of_a_published_piece() -> None:
    # A body 40 in around and 18 in long, at 5 stitches and 7 rows to the inch: 200 stitches and 126
    # rows, 560 yards by the knitter's own swatch (a published worked example of 2009; seen). It
    # just lies on a standard bed. The plan knows its gauge only, and is to come within 10 %.
    cells = np.zeros((126, 200), dtype=np.uint8)
    cells[:, 100:] = 1
    fabric = Fabric(tail_cm=0, allowance=0)
    gauge = Gauge(5, 7, 1, "in")
    piece = Pattern("Body", Chart(cells), (SAND, RUST), gauge=gauge, fabric=fabric)
    data = plan.as_json(piece)
    assert data["finished_cm"] == [101.6, 45.7], "40 by 18 in"
    yards = sum(entry["length_m"] for entry in data["winding"]) / 0.9144
    assert yards == pytest.approx(560, rel=0.10)


def test_a_bobbin_that_holds_less_is_filled_more_than_once() -> None:
    rules = replace(WORKED.supply_rules, bobbin_m=1.3)
    data = plan.as_json(replace(WORKED, supply_rules=rules))
    # Sand: 0.4496 m of the first, then 1.1976 m; the other one takes 2.544 m in three rows.
    assert [entry["fillings"] for entry in data["winding"]] == [[2, 3], [2]]
    lines = list(plan.as_lines(replace(WORKED, supply_rules=rules)))
    assert "Bobbin 2 of sand, 2.5 m in 3 fillings: hang it in row 1 at R11." in lines


def test_the_opening_of_a_panel_that_begins_narrow() -> None:
    cells = FIVE_ROWS.cells.copy()
    cells[0, :1] = cells[0, 58:] = NOT_IN_WORK
    panel = replace(WORKED, chart=Chart(cells), panel=PanelOf(2, 3, 1), gauge=None)
    lines = list(plan.as_lines(panel))
    assert "Cast on 57 stitches, L29 to R28. Row 1 goes to the right." in lines
    assert (
        "Panel 2 of 3, counted from the left as they hang; each seam takes 1 stitch of either edge."
        in lines
    )
    twice = replace(panel, panel=PanelOf(2, 3, 2))
    assert any("each seam takes 2 stitches of" in line for line in plan.as_lines(twice))


def test_a_picture_for_the_knit_side_worked_to_the_left() -> None:
    lines = list(plan.as_lines(replace(WORKED, seen_from="knit", first_direction="left")))
    assert lines[1].endswith("Row 1 goes to the left.")
    assert lines[2] == (
        "The purl side faces you; the picture is seen from the knit side, so it is mirrored here."
    )
    assert plan.as_json(replace(WORKED, seen_from="knit"))["seen_from"] == "knit"


@pytest.mark.parametrize(("rest", "waits"), [(1, "waits at most 1 row."), (3, "at most 3 rows.")])
def test_how_long_an_end_waits(rest: int, waits: str) -> None:
    pattern = replace(WORKED, supply_rules=SupplyRules(20, max_rest_rows=rest))
    (line,) = [one for one in plan.as_lines(pattern) if one.startswith("An end is carried")]
    assert line.startswith("An end is carried at most 20 needles and ")
    assert line.endswith(waits)
    assert plan.as_json(pattern)["max_rest_rows"] == rest


def test_tails_and_allowance_of_the_knitter() -> None:
    # Supply 4: 746.667 mm, + 20 % = 896, + 2 x 125 = 1146 mm; supply 1: 136 + 20 % + 250 = 413.2.
    fabric = Fabric(loop_mm=13.6, tail_cm=12.5, allowance=0.2)
    lengths = winding.lengths_m(replace(WORKED, fabric=fabric))
    assert lengths[[0, 3]] == pytest.approx([0.4132, 1.146])
    # And the whole row: 81.6 cm + 12.5; 60 cm + 12.5.
    check = plan.as_json(replace(WORKED, fabric=fabric))["row_check"]
    assert check == {"worked_out_cm": 94.1, "three_times_rule_cm": 72.5}


def test_the_loop_from_the_gauge() -> None:
    # 30 x 39 to 10 cm: S = 3 x 3.9 = 11.7 in a square cm; √(21.6 / 11.7) cm = 13.587 mm. Measured
    # dry, √(19.0 / 11.7) = 12.743.
    pattern = replace(WORKED, gauge=Gauge(30, 39), fabric=Fabric())
    assert winding.loop_mm(pattern) == pytest.approx(13.587, abs=5e-4)
    assert plan.as_json(pattern)["loop_mm"] == 13.59
    dry = replace(pattern, fabric=Fabric(relaxation="dry"))
    assert winding.loop_mm(dry) == pytest.approx(12.743, abs=5e-4)
    # Supply 1: 10 x 13.587 mm + 10 % + 300 mm.
    assert winding.lengths_m(pattern)[0] == pytest.approx(0.44946, abs=1e-5)


def test_a_row_beside_the_rule_of_the_craft() -> None:
    # 31 x 39 to 10 cm: √(21.6 / (3.1 x 3.9)) = 1.33664 cm; 60 of them and 15 cm are 95.198 cm.
    # Three times 60 / 3.1 = 19.355 cm and 15 cm are 73.065 cm.
    pattern = replace(WORKED, gauge=Gauge(31, 39), fabric=Fabric())
    check = plan.as_json(pattern)["row_check"]
    assert check == {"worked_out_cm": 95.2, "three_times_rule_cm": 73.1}


def test_a_gauge_in_inches() -> None:
    # 96 stitches and 126 rows at 8 x 10.5 to the inch are 12 x 12 in, 30.5 x 30.5 cm.
    cells = np.zeros((126, 96), dtype=np.uint8)
    cells[:, 48:] = 1
    square = Pattern("Square", Chart(cells), (SAND, RUST), gauge=Gauge(8, 10.5, 1, "in"))
    assert plan.as_json(square)["finished_cm"] == [30.5, 30.5]
    assert "Finished size 30.5 by 30.5 cm, rested." in plan.as_lines(square)


def test_a_measured_loop_without_a_gauge() -> None:
    # The carry goes over needles of the bed's pitch: 680 + 20 x 4.5 = 770 mm; + 10 % + 300 = 1147.
    pattern = replace(WORKED, gauge=None)
    assert winding.lengths_m(pattern)[3] == pytest.approx(1.147)
    wide = replace(pattern, bed=Bed(pitch_mm=9))
    assert winding.lengths_m(wide)[3] == pytest.approx(1.246)  # 680 + 180 = 860; + 10 % + 300
    data = plan.as_json(pattern)
    assert data["finished_cm"] is None
    assert data["row_check"] is None
    lines = list(plan.as_lines(pattern))
    assert lines[2] == "The purl side faces you, and the picture is taken as it hangs."
    assert not any(line.startswith(("Finished size", "A whole row")) for line in lines)


def test_without_gauge_and_loop_no_yarn_is_worked_out() -> None:
    pattern = replace(WORKED, gauge=None, fabric=Fabric())
    assert winding.loop_mm(pattern) is None
    assert winding.lengths_m(pattern) is None
    data = plan.as_json(pattern)
    assert data["loop_mm"] is None
    for entry in (*data["supplies"], *data["winding"]):
        assert (entry["length_m"], entry["mass_g"]) == (None, None)
    assert [entry["balls"] for entry in data["winding"]] == [None, None]
    assert [entry["bobbin_lengths_m"] for entry in data["winding"]] == [None, None]
    lines = list(plan.as_lines(pattern))
    assert "Wind sand: 2 bobbins." in lines
    assert lines[-1].startswith("Take note: Without a gauge no yarn can be worked out; ")
    assert not any("tightness" in line for line in lines)


@pytest.mark.parametrize("count", [None, parse_count("12 wpi")])
def test_a_yarn_that_tells_no_mass(count) -> None:
    pattern = replace(WORKED, yarns=(Yarn("sand", SAND.colour, count, 50.0), RUST))
    sand, rust = plan.as_json(pattern)["winding"]
    assert (sand["length_m"], sand["mass_g"], sand["balls"]) == (4.2, None, None)
    assert (rust["length_m"], rust["mass_g"], rust["balls"]) == (1.9, 0.7, 1)
    assert "Wind sand: 2 bobbins, 4.2 m in all." in plan.as_lines(pattern)


def test_a_yarn_whose_ball_is_not_known() -> None:
    pattern = replace(WORKED, yarns=(SAND, Yarn("rust", RUST.colour, RUST.count)))
    assert plan.as_json(pattern)["winding"][1]["balls"] is None
    line = "Wind rust: 1 bobbin, 1.9 m in all, 0.7 g."
    assert line in plan.as_lines(pattern)


# Warnings


def test_a_carry_of_the_usual_length_is_not_warned_of() -> None:
    # 8 stitches to the cm make 20 needles 2.5 cm; 7.9 make only 19 of them.
    assert not any(
        "carry" in text for text in cautions.warnings(replace(WORKED, gauge=Gauge(80, 90)))
    )
    assert any("carry" in text for text in cautions.warnings(replace(WORKED, gauge=Gauge(79, 90))))


def test_single_stitches_are_warned_of() -> None:
    # One stitch of rust in each of five rows.
    cells = np.zeros((5, 20), dtype=np.uint8)
    cells[:, 7] = 1
    pattern = replace(WORKED, chart=Chart(cells))
    assert plan.as_json(pattern)["single_stitches"] == 5
    assert "5 runs of a single stitch." in cautions.warnings(
        pattern
    )  # nothing tried, nothing advised
    assert not any("single" in text for text in cautions.warnings(WORKED))


@pytest.mark.parametrize(("rows", "told"), [(("a", "a", "."), False), (("a.", "a."), True)])
def test_how_neighbours_cross_is_told_where_there_are_any(
    rows: tuple[str, ...], told: bool
) -> None:
    pattern = replace(WORKED, chart=script_of(*rows).chart)
    assert plan.as_json(pattern)["supplies_at_once"] == 1 + told
    assert any(line.startswith("Where two yarns meet") for line in plan.as_lines(pattern)) is told


def stripes(runs: int, rows: int) -> Pattern:
    """Upright stripes of three stitches, sand and rust by turns: one supply a stripe."""
    cells = np.tile(np.repeat(np.arange(runs) % 2, 3), (rows, 1)).astype(np.uint8)
    return replace(WORKED, chart=Chart(cells), supply_rules=SupplyRules())


def test_many_supplies_at_once_are_warned_of() -> None:
    # More than 12 in a row are hard to keep apart (practice).
    assert not any("at once" in text for text in cautions.warnings(stripes(12, 4)))
    (text,) = [text for text in cautions.warnings(stripes(13, 4)) if "at once" in text]
    assert text == "In 4 rows more than 12 ends hang at once, up to 13."


def test_only_what_was_tried_is_advised() -> None:
    # A sail with a tip of one stitch in two rows: two wide it is as good, on as many ends.
    cells = np.zeros((40, 60), dtype=np.uint8)
    for row in range(30):
        cells[5 + row, 20 : 50 - row] = 1
    cells[35, 20] = 1
    lone = replace(WORKED, chart=Chart(cells))
    advice = advise(lone)
    (text,) = [text for text in cautions.warnings(lone, advice) if "single" in text]
    assert "row-caller tidy --shortest-run 2 was tried and is advised: 2 stitches change" in text
    likeness = advice[0].trial.likeness
    assert f"likeness {likeness * 100:.1f} percent" in text
    assert 0.9 < likeness < 1
    (tried,) = plan.as_json(lone, advice)["advice"]
    assert (tried["wish"], tried["advised"]) == ("--shortest-run 2", True)
    assert tried["tried"]["after"]["single_stitches"] == 0


def test_what_would_take_lines_away_is_not_advised() -> None:
    # Stripes of one stitch by turns have no room: half of them would go.
    cells = np.zeros((20, 60), dtype=np.uint8)
    cells[:, 10:50:2] = 1
    comb = replace(WORKED, chart=Chart(cells))
    advice = advise(comb)
    (text,) = [text for text in cautions.warnings(comb, advice) if "single" in text]
    assert "was tried and is not advised: thin lines or gaps would go, " in text
    assert "rows 1 to 20" in text
    assert [one["advised"] for one in plan.as_json(comb, advice)["advice"]] == [False, False]


def test_every_bobbin_is_told_with_its_length_and_where_it_is_hung() -> None:
    # Each stripe takes 4 x 3 stitches x 13.6 mm + 10 % + 300 mm = 479.5 mm.
    lines = list(plan.as_lines(stripes(13, 4)))
    assert "Wind sand: 7 bobbins, 3.4 m in all, 1.7 g, 2 to buy." in lines
    assert "Bobbin 7 of sand, 0.5 m: hang it in row 1 at R18." in lines
    assert sum(line.startswith("Bobbin ") for line in lines) == 13
    assert plan.as_json(stripes(13, 4))["setting_up"][1] == {
        "yarn": "rust",
        "bobbin": 1,
        "needle": "L16",
        "tail": "left",
    }


def test_only_the_densest_rows_are_told() -> None:
    cells = np.zeros((8, 24), dtype=np.uint8)
    for row in range(8):
        cells[row, 1 : 3 * row + 2 : 2] = 1
    lines = list(plan.as_lines(replace(WORKED, chart=Chart(cells))))
    dense = [line.split(",")[0] for line in lines if line.startswith("Dense: ")]
    assert dense == [f"Dense: row {row}" for row in (8, 7, 6, 5, 4)]


def test_an_unlikely_loop_is_warned_of() -> None:
    # 5 mm at 3 stitches to the cm is 1.5 times the width of a stitch.
    yarns = (Yarn("sand", SAND.colour), Yarn("rust", RUST.colour))
    slip = replace(WORKED, yarns=yarns, fabric=Fabric(loop_mm=5))
    assert any("1.5 times its own width" in text for text in cautions.warnings(slip))
    assert not any("its own width" in text for text in cautions.warnings(WORKED))


# What holds for any chart


@st.composite
def patterns(draw: st.DrawFn) -> Pattern:
    shape = st.tuples(st.integers(1, 9), st.integers(2, 12))
    cells = draw(arrays.arrays(np.uint8, shape, elements=st.integers(0, 1)))
    return Pattern(
        "Any",
        Chart(cells),
        (SAND, RUST),
        gauge=draw(st.builds(Gauge, st.floats(10, 50), st.floats(15, 70))),
        first_direction=draw(st.sampled_from(["right", "left"])),
        fabric=draw(
            st.builds(
                Fabric,
                st.none() | st.floats(2, 50),
                st.sampled_from(["dry", "wet", "full"]),
                st.floats(0, 30),
                st.floats(0, 1),
            )
        ),
        supply_rules=draw(st.builds(SupplyRules, st.integers(0, 6), st.integers(0, 3))),
    )


@settings(max_examples=100)
@given(patterns())
def test_each_supply_is_measured_as_its_yarn_is_followed_row_by_row(pattern: Pattern) -> None:
    """Another way to the same lengths: follow every supply through the rows, stitch by stitch."""
    fabric, gauge = pattern.fabric, pattern.gauge
    loop, width_mm = winding.loop_mm(pattern), 10 * 10 / gauge.stitches
    yarn_mm: dict[int, float] = {}
    for row in range(1, pattern.script.rows + 1):
        for entry in pattern.supply_plan.row(row):
            mine = yarn_mm.setdefault(entry.supply, 0.0)
            if entry.start == "join":
                mine += fabric.tail_cm * 10
            laid = entry.run.stitches * loop + entry.carry * width_mm
            mine += laid + laid * fabric.allowance
            if entry.end == "cut":
                mine += fabric.tail_cm * 10
            yarn_mm[entry.supply] = mine
    expected = [yarn_mm[number] / 1000 for number in sorted(yarn_mm)]
    assert winding.lengths_m(pattern) == pytest.approx(expected)


@settings(max_examples=100)
@given(patterns())
def test_the_sum_over_supplies_is_the_whole(pattern: Pattern) -> None:
    data, lengths = plan.as_json(pattern), winding.lengths_m(pattern)
    fabric, chart = pattern.fabric, pattern.chart
    laid_mm = chart.cells.size * winding.loop_mm(pattern)
    carried_mm = pattern.supply_plan.total_carry * 10 * 10 / pattern.gauge.stitches
    ends = data["tails_to_weave_in"]
    whole = (laid_mm + carried_mm) * (1 + fabric.allowance) / 1000 + ends * fabric.tail_cm / 100
    assert lengths.sum() == pytest.approx(whole)
    assert sum(entry["stitches"] for entry in data["supplies"]) == chart.cells.size
    assert ends == 2 * data["supplies_total"] == 2 * len(data["supplies"])
    for entry in data["winding"]:
        mine = [each for each in data["supplies"] if each["yarn"] == entry["yarn"]]
        assert entry["supplies"] == len(mine)
        assert entry["stitches"] == sum(each["stitches"] for each in mine)
        total = sum(lengths[each["supply"] - 1] for each in mine)
        assert entry["length_m"] == pytest.approx(total, abs=0.0501)
        tex = {"sand": 500, "rust": 400}[entry["yarn"]]
        assert entry["mass_g"] == pytest.approx(total * tex / 1000, abs=0.0501)
        assert sum(entry["bobbin_lengths_m"]) == pytest.approx(total, abs=0.00501 * len(mine))
        assert len(entry["bobbin_lengths_m"]) == entry["bobbins"] <= entry["supplies"]
        assert entry["bobbins"] == sum(each["leftover_of"] is None for each in mine)


@settings(max_examples=40)
@given(patterns(), st.floats(0.01, 1), st.floats(1, 50))
def test_the_allowance_enters_once_and_tails_go_with_the_ends(
    pattern: Pattern, allowance: float, tail_cm: float
) -> None:
    loop = winding.loop_mm(pattern)

    def metres(allowance: float, tail_cm: float) -> np.ndarray:
        fabric = Fabric(loop, tail_cm=tail_cm, allowance=allowance)
        return winding.lengths_m(replace(pattern, fabric=fabric))

    bare = metres(0, 0)
    assert metres(allowance, 0) == pytest.approx(bare * (1 + allowance))
    tails = metres(0, tail_cm) - bare
    assert tails == pytest.approx(np.full(len(bare), 2 * tail_cm / 100))
    assert tails.sum() == pytest.approx(plan.as_json(pattern)["tails_to_weave_in"] * tail_cm / 100)
    assert metres(allowance, tail_cm) == pytest.approx(bare * (1 + allowance) + tails)


@settings(max_examples=60)
@given(arrays.arrays(np.uint8, st.integers(2, 30), elements=st.integers(0, 1)), st.integers(1, 20))
def test_twice_the_rows_take_twice_the_knitted_length(row: np.ndarray, rows: int) -> None:
    """Of upright stripes: no supply is added or carried, so all but the tails doubles."""
    pattern = replace(WORKED, fabric=Fabric(13.6, tail_cm=0), supply_rules=SupplyRules())
    once = replace(pattern, chart=Chart(np.tile(row, (rows, 1))))
    twice = replace(pattern, chart=Chart(np.tile(row, (2 * rows, 1))))
    assert winding.lengths_m(twice) == pytest.approx(2 * winding.lengths_m(once))
    assert plan.as_json(twice)["supplies_total"] == plan.as_json(once)["supplies_total"]
    height = plan.as_json(once)["finished_cm"][1]
    assert plan.as_json(twice)["finished_cm"][1] == pytest.approx(2 * height, abs=0.1501)


def test_a_number_in_a_name_is_told_of() -> None:
    named = replace(WORKED, yarns=(replace(WORKED.yarns[0], name="navy 2"), *WORKED.yarns[1:]))
    assert any("'navy 2' has a number in its name" in text for text in cautions.warnings(named))
    assert not any("a number in its name" in text for text in cautions.warnings(WORKED))


def test_the_bind_off_is_told_with_its_bobbin() -> None:
    """60 stitches of 3.333 mm, six times that and a tail of 15 cm: the rule of the craft."""
    (told,) = [line for line in plan.as_lines(WORKED) if line.startswith("To bind off")]
    how = cast_off(WORKED)
    assert told.startswith(f"To bind off, wind {how.length_m:.1f} m more on bobbin ")
    last = WORKED.supply_plan.row(WORKED.script.rows)[-1]
    assert (how.supply, how.yarn) == (last.supply, last.run.yarn)
    assert WORKED.yarns[how.yarn].name in told
