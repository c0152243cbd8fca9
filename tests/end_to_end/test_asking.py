"""What is asked at a real terminal: the side that will show, and whether a chart is made anew."""

import numpy as np
import pytest
from PIL import Image
from test_screen import spawn

from caller.pattern.storage.pattern_file import load

pexpect = pytest.importorskip("pexpect")


@pytest.fixture
def step(tmp_path):
    rgb = np.full((20, 20, 3), (240, 235, 220), dtype=np.uint8)
    rgb[5:15, :7] = (20, 40, 70)
    Image.fromarray(rgb).save(tmp_path / "step.png")
    return tmp_path / "step.png"


def answered(question: str, answer: str, *arguments: object) -> str:
    child = spawn(200, *arguments)
    child.expect(question)
    child.sendline(answer)
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0, child.before
    return child.before


def test_the_side_and_the_new_chart_are_asked_about(step):
    made = step.with_name("step.toml")
    wishes = ("--width", 20, "--gauge", "30x30/10cm", "--output", made)
    told = answered("Which side will show", "p", "chart", step, *wishes)
    assert "The purl side will show" in told
    assert load(made).seen_from == "purl"
    told = answered("Which side will show", "", "chart", step, *wishes, "--replace")
    assert "the chart is mirrored" in told
    assert load(made).seen_from == "knit"
    swatch = ("swatch", made, "--stitches", 30, "--rows", 45, "--measured", "10x10cm")
    assert "made anew" not in answered("Make it anew from step.png", "no", *swatch)
    assert load(made).chart.rows == 20
    answered("flatter|taller", "Y", *swatch[:-1], "10x9cm")
    assert load(made).chart.rows == 33


def test_leaving_at_the_question_makes_nothing(step):
    child = spawn(80, "chart", step, "--width", 20, "--gauge", "30x30/10cm")
    child.expect("Which side")
    child.sendeof()
    child.expect("Stopped. Nothing is lost")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert list(step.parent.iterdir()) == [step]
