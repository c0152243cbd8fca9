"""From distances to a verdict: what must hold for any distances at all."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.own_voice.decision import (
    CEILING,
    FLOOR,
    MOST,
    ROOM,
    STRETCH,
    Distance,
    bound_of,
    decide,
    nearest,
)

far = st.floats(0, 2, allow_nan=False) | st.just(math.inf)
MEASURES = ("speech", "spectrum", "detail")
distance = st.builds(Distance, far, far, far)
some = st.lists(distance, min_size=1, max_size=9)
bound = st.builds(
    Distance,
    st.floats(FLOOR.speech, CEILING.speech),
    st.floats(FLOOR.spectrum, CEILING.spectrum),
    st.floats(FLOOR.detail, CEILING.detail),
)
several = st.dictionaries(st.sampled_from("abcdef"), st.tuples(distance, bound), max_size=6)
strictness = st.integers(0, 100)

BOUND = Distance(0.1, 0.2, 0.4)
HERE = Distance(0.01, 0.01, 0.01)
FAR = Distance(0.9, 0.9, 0.9)


def verdict(strict=50, **distances):
    return decide(distances, dict.fromkeys(distances, BOUND), strict)


def parts(known):
    return {name: d for name, (d, _) in known.items()}, {name: b for name, (_, b) in known.items()}


def test_what_is_near_is_heard():
    assert verdict(next=HERE, back=FAR) == Verdict("next")


@pytest.mark.parametrize("other", [replace(HERE, **{measure: 0.9}) for measure in MEASURES])
def test_all_measures_must_agree(other):
    assert verdict(next=other, back=FAR) == NOTHING


def test_two_commands_as_near_as_one_another_are_close_to_both():
    assert verdict(next=HERE, back=HERE) == Verdict(None, near_miss=True)


def test_what_is_just_outside_is_close():
    assert verdict(next=replace(HERE, speech=0.105), back=FAR) == Verdict(None, near_miss=True)


def test_wide_bounds_do_not_draw_another_commands_words():
    distances = {"next": replace(HERE, speech=0.03), "back": replace(HERE, speech=0.04)}
    bounds = {"next": BOUND, "back": replace(BOUND, speech=0.5)}
    assert decide(distances, bounds) == Verdict("next")


def test_nothing_is_known_to_nobody():
    assert decide({}, {}) == NOTHING


@given(several, strictness)
def test_a_phrase_is_one_within_its_bounds_at_least_at_the_loosest(known, strict):
    distances, bounds = parts(known)
    answer = decide(distances, bounds, strict)
    if answer.phrase is not None:
        assert not answer.close
        assert distances[answer.phrase].over(bounds[answer.phrase]) <= MOST
        nearest_of_all = min(distance.over(CEILING) for distance in distances.values())
        assert distances[answer.phrase].over(CEILING) == nearest_of_all


@given(several, strictness, strictness)
def test_stricter_never_takes_what_looser_does_not(known, one, other):
    loose, strict = sorted((one, other))
    distances, bounds = parts(known)
    heard = decide(distances, bounds, strict).phrase
    if heard is not None:
        assert decide(distances, bounds, loose).phrase == heard


@given(several, distance, strictness)
def test_a_further_command_never_changes_a_phrase_into_another_old_one(known, new, strict):
    distances, bounds = parts(known)
    before = decide(distances, bounds, strict).phrase
    after = decide({**distances, "new": new}, {**bounds, "new": BOUND}, strict).phrase
    assert after in (before, "new", None)


@given(several, strictness)
def test_the_order_of_the_commands_does_not_matter(known, strict):
    distances, bounds = parts(known)
    turned = dict(reversed(distances.items()))
    assert decide(turned, bounds, strict) == decide(distances, bounds, strict)


@given(some)
def test_bounds_lie_between_the_floor_and_the_ceiling(apart):
    found = bound_of(apart)
    for measure in MEASURES:
        value = getattr(found, measure)
        assert getattr(FLOOR, measure) <= value <= getattr(CEILING, measure)


@given(some)
def test_takes_that_differ_more_are_known_from_farther(apart):
    one, more = bound_of(apart), bound_of([*apart, CEILING])
    assert all(getattr(more, measure) >= getattr(one, measure) for measure in MEASURES)


def test_between_floor_and_ceiling_the_bound_follows_the_takes():
    found = bound_of([HERE, Distance(0.025, 0.1, 0.2)])
    assert found.speech == pytest.approx(STRETCH * 0.025 + ROOM.speech)
    assert found.spectrum == pytest.approx(STRETCH * 0.1 + ROOM.spectrum)
    assert found.detail == pytest.approx(STRETCH * 0.2 + ROOM.detail)


@given(some, st.integers(1, 4))
def test_the_nearest_are_no_nearer_than_the_nearest_and_no_farther_than_the_farthest(takes, count):
    found = nearest(takes, count)
    for measure in MEASURES:
        values = [getattr(one, measure) for one in takes]
        assert min(values) <= getattr(found, measure) * (1 + 1e-12)
        assert getattr(found, measure) <= max(values) * (1 + 1e-12)


@given(st.lists(distance, min_size=2, max_size=9), distance)
def test_a_further_take_never_takes_a_command_farther_away(takes, new):
    before, after = nearest(takes), nearest([*takes, new])
    assert all(getattr(after, measure) <= getattr(before, measure) for measure in MEASURES)


def test_the_nearest_are_counted_for_each_measure():
    takes = [Distance(1, 9, 4), Distance(3, 2, 8), Distance(8, 4, 2)]
    assert nearest(takes) == Distance(2, 3, 3)
