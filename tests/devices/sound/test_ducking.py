"""How soft the call gets, when, and for how long."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.devices.sound.ducking import FALL_S, HOLD_S, RISE_S, SOFT_DB, Ducking

RATE = 22_050
LEVEL = 10_000


def steady(seconds: float, channels: int = 1) -> np.ndarray:
    return np.full((round(seconds * RATE), channels), LEVEL, dtype=np.int16)


def decibels(samples: np.ndarray) -> np.ndarray:
    return 20 * np.log10(samples / LEVEL)


def test_it_does_nothing_unless_asked():
    sound = steady(0.1)
    assert Ducking(RATE).apply(sound) is sound


@pytest.mark.parametrize("channels", [1, 2])
def test_it_falls_at_once_stays_a_second_and_comes_back(channels):
    ducking = Ducking(RATE)
    ducking.soften()
    level = decibels(ducking.apply(steady(3, channels)))
    fallen, held, risen = (round(s * RATE) for s in (FALL_S, HOLD_S, HOLD_S + RISE_S))
    assert level[fallen + 1 : held] == pytest.approx(SOFT_DB, abs=0.02)
    assert (level[risen + 2 :] == 0).all()
    assert np.abs(np.diff(level, axis=0)).max() < 0.1, "no click"
    assert ducking.apply(steady(0.1)).min() == LEVEL


def test_asked_again_it_stays_down():
    ducking, parts = Ducking(RATE), []
    for _ in range(10):
        ducking.soften()
        parts.append(ducking.apply(steady(0.5)))
    level = decibels(np.concatenate(parts))
    assert level[round(FALL_S * RATE) + 1 :] == pytest.approx(SOFT_DB, abs=0.02)


def test_something_new_is_at_full_strength():
    ducking = Ducking(RATE)
    ducking.soften()
    ducking.apply(steady(0.1))
    ducking.end()
    assert ducking.apply(steady(0.1)).min() == LEVEL


@given(st.lists(st.integers(0, 9_000), max_size=12))
@settings(max_examples=50)
def test_portions_make_no_difference(portions):
    sound = steady(sum(portions) / RATE)
    whole, pieces = Ducking(RATE), Ducking(RATE)
    whole.soften()
    pieces.soften()
    parts = [pieces.apply(part) for part in np.split(sound, np.cumsum(portions))]
    wanted = whole.apply(sound).astype(int)
    assert np.abs(np.concatenate(parts).astype(int) - wanted).max(initial=0) <= 1
