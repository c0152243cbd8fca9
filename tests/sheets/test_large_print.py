"""Rows in block letters, as large as fits."""

import subprocess
import sys

import pytest
from child_env import WITHOUT_SOUND
from hypothesis import given, settings
from hypothesis import strategies as st
from small_pieces import STEPS

from caller.pattern.storage import pattern_file
from caller.sheets.large_print import large_print

NEEDLES = st.from_regex(r"[LR][1-9][0-9]{0,2}", fullmatch=True)
BLOCKS = set(" ▀▄█")


def letters(drawn):
    return [line for line in drawn if line and set(line) <= BLOCKS]


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.text(max_size=60), NEEDLES), min_size=1, max_size=6),
    st.integers(10, 200),
    st.integers(1, 60),
)
def test_nothing_is_wider_or_higher_than_the_terminal(runs, columns, lines):
    drawn = large_print("Row 8 of 118, going left", runs, columns, lines)
    assert all(len(line) <= columns for line in drawn)
    assert len(drawn) <= max(lines, 1 + len(runs))  # without block letters


@pytest.mark.parametrize(("columns", "lines"), [(40, 24), (80, 24), (200, 50)])
def test_it_is_as_large_as_fits(columns, lines):
    """One needle fills the width or the height to three quarters; more share the height."""
    one = letters(large_print("Row 8", [("navy to", "R19")], columns, lines))
    assert max(map(len, one)) > 0.75 * columns or len(one) + 2 > 0.75 * lines or len(one) >= 20
    four = letters(large_print("Row 8", [("navy to", "R19")] * 4, columns, lines))
    assert 4 * 4 <= len(four) <= lines
    assert len(four) / 4 <= len(one)


def test_needles_are_told_apart():
    labels = [f"{side}{number}" for side in "LR" for number in range(1, 61)]
    drawn = {tuple(letters(large_print("", [("", label)], 40, 10))) for label in labels}
    assert len(drawn) == len(labels)
    assert all(drawn)


def test_where_there_is_no_room_the_needle_is_plain():
    assert large_print("Row 8", [("navy to", "R19")] * 5, 40, 8) == ["Row 8"] + ["navy to R19"] * 5


def test_a_session_in_forty_columns(tmp_path):
    """Without colours, and so without an escape, also where NO_COLOR asks for that."""
    pattern_file.save(STEPS, tmp_path / "steps.toml")
    env = WITHOUT_SOUND | {"CALLER_HISTORY": str(tmp_path / "history"), "NO_COLOR": "1"}
    options = ("--no-listen", "--large", "--row", "5")
    for code, blocks in [("utf-8", "▀▄█"), ("ascii", '"_#')]:
        done = subprocess.run(
            [sys.executable, "-m", "caller", "knit", str(tmp_path / "steps.toml"), *options],
            env=env | {"COLUMNS": "40", "LINES": "24", "PYTHONIOENCODING": code},
            input="leave\n",
            capture_output=True,
            encoding=code,
            check=True,
            timeout=60,
        )
        lines = done.stdout.splitlines()
        drawn = [line for line in lines if line and set(line) <= {" ", *blocks}]
        assert len(drawn) >= 4 * 4  # four yarns are called
        assert max(map(len, drawn)) < 40
        assert "Row 5 of 8, going right" in lines
        assert "\x1b" not in done.stdout
        assert lines[-1].endswith("Your place is kept.")
