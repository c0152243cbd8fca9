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
    compared,
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
    lower, higher = bound("a", min(one, other), moves), bound("a", max(one, other), moves)
    assert lower.score <= higher.score
    assert lower.against_free <= higher.against_free
    assert lower.against_sure <= higher.against_sure
    assert lower.ahead <= higher.ahead


@given(logarithms, st.floats(0.01, 1))
def test_what_moves_is_stricter_and_so_is_what_is_asked_to_be(prior, part):
    asks = bound("a", prior, False)
    assert bound("a", prior, True).score >= asks.score
    stricter, looser = (bound("a", prior, False, **{way: part}) for way in ("stricter", "looser"))
    assert stricter.score > asks.score > looser.score
    assert stricter.against_sure > asks.against_sure >= looser.against_sure


@given(logarithms, logarithms, logarithms, logarithms, st.floats(0, 5))
def test_a_likelier_hearing_is_never_refused_where_a_less_likely_one_is_taken(p, s, f, a, more):
    one = bound("a", p, True)
    assert one.is_met(s + more, f, a + more) or not one.is_met(s, f, a)


@given(logarithms, st.floats(-20, -2), st.floats(0.1, 1.9))
def test_the_surer_the_free_writing_the_nearer_the_phrase_must_be(prior, score, surer):
    """What is refused beside an unsure writing is refused beside a surer one too."""
    one = bound("a", prior, True)
    for free in np.arange(-15, -2, 0.5):
        assert one.is_met(score, free, 9.0) or not one.is_met(score, free + surer, 9.0)


def test_the_ends_are_as_told():
    assert bound("a", LIKELY, True) == bound("a", LIKELY, False)
    assert bound("a", UNLIKELY - 5, False) == bound("a", UNLIKELY - 9, False)
    assert bound("a", 0.0, False).score > bound("a", LIKELY, False).score
    assert bound("Where am I", LIKELY, False).score > bound("a", LIKELY, False).score


# Scores that were kept of words and sentences said by the voices that choose, in quiet: the
# phrase, what was said, the phrase's score, that of the free writing, and how far it is ahead.
KEPT = [
    ("where am i", "where am i", -0.3, -0.4, 25.7),
    ("where am i", "where are you?", -6.1, -0.8, 9.9),
    ("where am i", "where have I been?", -8.2, -3.7, 9.9),
    ("where am i", "where are they?", -8.3, -4.0, 11.6),
    ("where am i", "we're in my way", -7.5, -2.0, 13.9),
    ("go back", "go back", -5.4, -6.3, 20.5),
    ("go back", "Go, Jack!", -7.1, -1.8, 16.5),
    ("what changes", "what changes", -3.3, -3.0, 22.7),
    ("what changes", "what changed?", -8.6, -1.0, 17.4),
    ("go slower", "go slower", -7.6, -6.8, 8.3),
    ("go slower", "go slowly", -12.2, -0.9, 9.7),
    ("next row", "next row", -4.9, -4.2, 11.0),
    ("next row", "let's throw", -9.4, -0.6, 10.2),
]


@pytest.mark.parametrize(("phrase", "said", "score", "free", "ahead"), KEPT)
def test_the_phrase_is_told_from_sentences_near_it(phrase, said, score, free, ahead):
    moves = phrase in ("next row", "go back")
    limit = bound(phrase, USUAL_PRIORS[phrase], moves, looser_by(0.0))
    assert limit.is_met(score, free, ahead) == (said == phrase)


def test_a_phrase_likely_in_any_sound_hides_no_other():
    """Of a flite voice beside a carriage: "next row", with "yes please" a little likelier."""
    assert compared(-7.6, USUAL_PRIORS["next row"]) > compared(-6.7, USUAL_PRIORS["yes please"])
    assert compared(-7.6, USUAL_PRIORS["next row"]) < compared(-5.0, USUAL_PRIORS["yes please"])
    assert compared(-9.0, UNLIKELY - 20) == compared(-9.0, UNLIKELY)


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
