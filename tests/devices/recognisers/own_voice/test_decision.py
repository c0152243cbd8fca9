"""From distances to a verdict: what must hold for any distances at all."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.own_voice.decision import (
    BACKWARDS,
    CLOSE,
    MARGIN,
    bound,
    decide,
    excess,
    nearest,
)

far = st.floats(-1, 2, allow_nan=False) | st.just(math.inf)
some = st.lists(st.floats(0, 2) | st.just(math.inf), min_size=1, max_size=9)
several = st.dictionaries(st.sampled_from("abcdef"), far, max_size=6)
strictness = st.integers(0, 100)

LIMIT = -0.1


def test_what_is_near_is_heard():
    assert decide({"next": -0.3, "back": 0.2}, LIMIT) == Verdict("next")


def test_what_is_far_is_nothing():
    assert decide({"next": LIMIT + CLOSE + 0.001, "back": 0.9}, LIMIT) == NOTHING


def test_two_commands_as_near_as_one_another_are_near_misses():
    assert decide({"next": -0.3, "back": -0.3 + MARGIN / 2}, LIMIT) == Verdict(None, near_miss=True)


def test_what_is_just_outside_is_a_near_miss():
    assert decide({"next": LIMIT + 0.001, "back": 0.9}, LIMIT) == Verdict(None, near_miss=True)


def test_nothing_is_known_to_nobody():
    assert decide({}, LIMIT) == NOTHING


@given(several, strictness)
def test_a_phrase_is_the_nearest_and_within_its_bound(distances, strict):
    answer = decide(distances, bound(strict))
    if answer.phrase is not None:
        assert not answer.near_miss
        assert distances[answer.phrase] == min(distances.values()) <= bound(strict)


@given(several, strictness, strictness)
def test_stricter_never_takes_what_looser_does_not(distances, one, other):
    loose, strict = sorted((one, other))
    heard = decide(distances, bound(strict)).phrase
    if heard is not None:
        assert decide(distances, bound(loose)).phrase == heard


def test_the_scale_goes_from_loose_to_strict():
    bounds = [bound(strict) for strict in range(101)]
    assert bounds == sorted(set(bounds), reverse=True)
    assert bounds[0] - bounds[-1] > 2 * MARGIN


@given(several, far, strictness)
def test_a_further_command_never_changes_a_phrase_into_another_old_one(distances, new, strict):
    before = decide(distances, bound(strict)).phrase
    after = decide({**distances, "new": new}, bound(strict)).phrase
    assert after in (before, "new", None)


@given(several, strictness)
def test_the_order_of_the_commands_does_not_matter(distances, strict):
    turned = dict(reversed(distances.items()))
    assert decide(turned, bound(strict)) == decide(distances, bound(strict))


@given(some, st.integers(1, 4))
def test_the_nearest_are_no_nearer_than_the_nearest_and_no_farther_than_the_farthest(takes, count):
    found = nearest(takes, count)
    assert min(takes) <= found * (1 + 1e-12)
    assert found <= max(takes) * (1 + 1e-12)


@given(st.lists(st.floats(0, 2), min_size=2, max_size=9), st.floats(0, 2))
def test_a_further_take_never_takes_a_command_farther_away(takes, new):
    assert nearest([*takes, new]) <= nearest(takes) + 1e-12


@given(some, st.lists(st.floats(0, 1), min_size=1, max_size=9), st.floats(0, 0.5))
def test_noise_that_moves_both_ways_alike_counts_but_half(takes, backwards, noise):
    """And what is farther from the takes alone counts whole."""
    quiet = excess(takes, backwards)
    loud = excess([one + noise for one in takes], [one + noise for one in backwards])
    other = excess([one + noise for one in takes], backwards)
    if math.isfinite(quiet):
        assert loud - quiet == pytest.approx((1 - BACKWARDS) * noise, abs=1e-9)
        assert other - quiet == pytest.approx(noise, abs=1e-9)
    else:
        assert loud == other == math.inf


def test_what_is_too_long_for_a_take_is_far():
    assert excess([0.1, 0.1, 0.1], [0.5, 0.5, math.inf]) == math.inf


def test_the_two_nearest_are_counted():
    assert nearest([8, 1, 3]) == pytest.approx(2)
