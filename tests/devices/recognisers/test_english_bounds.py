"""Bounds by a phrase's prior: ordered, continuous, and stricter for what moves."""

import numpy as np
import pytest
import sounds
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.commands import PHRASES
from caller.devices.recognisers.english.bounds import (
    IN_NOISE,
    IN_QUIET,
    LIKELY,
    QUIET_DB,
    UNLIKELY,
    above_noise_db,
    bound,
    looser_by,
    measured_priors,
    noisiness,
    priors,
)
from caller.devices.recognisers.english.model import EnglishModel
from caller.devices.recognisers.english.usual_priors import USUAL_PRIORS

logarithms = st.floats(-40, 0)


@given(logarithms, logarithms, st.booleans())
def test_a_likelier_phrase_has_a_stricter_bound(one, other, moves):
    lower, higher = bound(min(one, other), moves), bound(max(one, other), moves)
    assert lower.score <= higher.score
    assert lower.against_free <= higher.against_free
    assert lower.ahead <= higher.ahead


@given(logarithms, st.floats(0.01, 1))
def test_what_moves_is_stricter_and_so_is_what_is_asked_to_be(prior, part):
    assert bound(prior, True).score >= bound(prior, False).score
    assert bound(prior, False, part).score > bound(prior, False).score


@given(logarithms, logarithms, logarithms, logarithms, st.floats(0, 5))
def test_a_likelier_hearing_is_never_refused_where_a_less_likely_one_is_taken(p, s, f, t, more):
    one = bound(p, True)
    assert one.is_met(s + more, f, t) or not one.is_met(s, f, t)


def test_the_ends_are_as_told():
    assert bound(LIKELY, True) == bound(LIKELY, False)
    assert bound(UNLIKELY - 5, False) == bound(UNLIKELY, False)
    assert bound(0.0, False).score > bound(LIKELY, False).score


@pytest.fixture(scope="module")
def model():
    return EnglishModel()


def test_single_words_are_likelier_than_phrases_and_phrases_than_nonsense(model):
    found = priors(model, ("next", "go back", "previous row", "onward please herring"))
    assert list(found.values()) == sorted(found.values(), reverse=True)
    assert found["next"] > LIKELY
    assert found["onward please herring"] < UNLIKELY
    assert found == pytest.approx(priors(model, tuple(found)), abs=1e-6)


def test_the_kept_priors_are_those_that_are_measured(model):
    assert set(USUAL_PRIORS) == set(PHRASES)
    assert priors(model, PHRASES) == USUAL_PRIORS
    assert measured_priors(model, PHRASES) == pytest.approx(USUAL_PRIORS, abs=0.5)


@pytest.mark.parametrize("snr_db", [5, 10, 20])
def test_noise_below_a_word_is_seen_and_makes_the_bound_looser(snr_db):
    word = sounds.say("next row")
    mixed = sounds.in_noise(word, sounds.pink(3.0), snr_db, gap_s=0.25)
    quiet = np.concatenate([sounds.quiet(0.25), word, sounds.quiet(0.29)])
    assert above_noise_db(mixed) == pytest.approx(snr_db + 6, abs=6)
    assert above_noise_db(quiet) > QUIET_DB
    assert looser_by(noisiness(above_noise_db(quiet))) == IN_QUIET
    assert IN_QUIET < looser_by(noisiness(above_noise_db(mixed))) <= IN_NOISE


@given(st.floats(0, 80), st.floats(0, 80))
def test_the_more_noise_the_looser(one, other):
    assert noisiness(min(one, other)) >= noisiness(max(one, other))
