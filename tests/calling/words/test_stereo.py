"""Where in the work a yarn lies, heard left to right."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from silent_voice import SilentVoice

from caller.calling.speech import spoken
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import said
from caller.devices.sound.loudspeaker import spread
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

GRID = np.array(
    [[0, 0, 1, 1, 1, 1, 0, 0], [1, 1, 1, 1, 1, 1, 1, 0], [0, 0, 1, 1, 1, 1, 0, 0]], dtype=np.uint8
)
PATTERN = Pattern("Any", Chart(GRID), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))


def pans(row: int, **settings) -> list[float]:
    call = row_call(PATTERN, PATTERN.script.row(row), CallSettings(**settings))
    return [round(clause.pan, 3) for clause in call]


def test_each_run_is_heard_from_its_middle():
    assert pans(3, stereo=True)[:4] == [0.0, -0.75, 0.0, 0.75]
    # Row 2 goes to the left, so the rightmost run comes first.
    assert pans(2, stereo=True) == [0.0, 0.875, -0.125]
    assert pans(2, stereo=True, wording="full")[:3] == [0.0, 0.875, -0.125]


def test_it_is_off_unless_wanted_and_changes_no_word():
    assert set(pans(3)) == {0.0}
    plain, stereo = (
        row_call(PATTERN, PATTERN.script.row(3), CallSettings(stereo=wanted))
        for wanted in (False, True)
    )
    assert said(plain) == said(stereo)


def test_the_sound_blocks_carry_it():
    call = row_call(PATTERN, PATTERN.script.row(3), CallSettings(stereo=True))
    heard = [block.pan for block in spoken(SilentVoice(), call)]
    assert {round(pan, 2) for pan in heard} == {0.0, -0.75, 0.75}


@given(st.floats(-1, 1), st.lists(st.integers(-32768, 32767), min_size=1, max_size=50))
def test_spreading_is_mono_safe(pan, values):
    samples = np.array(values, dtype=np.int16)
    left, right = spread(samples, pan, 2).astype(float).T
    assert (np.abs(left) <= np.abs(samples.astype(float))).all()
    assert (np.abs(right) <= np.abs(samples.astype(float))).all()
    mixed = (left + right) / 2
    assert (np.abs(mixed) >= 0.62 * np.abs(samples.astype(float)) - 1).all()
    assert (mixed * samples >= 0).all(), "nothing is cancelled"


def test_the_sides():
    loud = np.full(4, 1000, dtype=np.int16)
    assert spread(loud, 0.0, 2).tolist() == [[1000, 1000]] * 4
    assert spread(loud, -1.0, 2).tolist() == [[1000, 250]] * 4
    assert spread(loud, 1.0, 2).tolist() == [[250, 1000]] * 4
    assert spread(loud, 1.0, 1).tolist() == [[1000]] * 4


@pytest.mark.parametrize("row", [1, 2, 3])
def test_a_pan_lies_within_the_work(row):
    assert all(-1 < pan < 1 for pan in pans(row, stereo=True))
