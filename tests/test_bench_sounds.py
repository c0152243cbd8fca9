"""The bench of listening measures what it says: levels, rooms, intervals, a fair split."""

import sys
from pathlib import Path

import numpy as np
import pytest
import sounds
from hypothesis import given, settings
from hypothesis import strategies as st

sys.path.append(str(Path(__file__).parent / "bench"))

import hearing
import negatives
import speakers
import trials
from intervals import Hourly, Share

# Newcombe, "Two-sided confidence intervals for the single proportion", Statistics in Medicine 17
# (1998) 857-872, table I, method 3 (score, no continuity correction); from memory.
NEWCOMBE = {
    (81, 263): (0.2553, 0.3662),
    (15, 148): (0.0624, 0.1605),
    (0, 20): (0.0, 0.1611),
    (1, 29): (0.0061, 0.1718),
}
# Garwood's exact limits of a Poisson count at 95 %, as in Ulm, American Journal of Epidemiology 131
# (1990) 373-375, and in most tables of them; from memory.
GARWOOD = {0: (0.0, 3.689), 1: (0.0253, 5.572), 10: (4.795, 18.390)}


@pytest.mark.parametrize(("counted", "limits"), NEWCOMBE.items())
def test_wilson_against_newcombes_table(counted, limits):
    assert Share(*counted).interval == pytest.approx(limits, abs=0.00006)


@pytest.mark.parametrize(("count", "limits"), GARWOOD.items())
def test_poisson_against_garwoods_table(count, limits):
    assert Hourly(count, 1.0).interval == pytest.approx(limits, abs=0.0006)
    assert Hourly(count, 2.0).interval == pytest.approx([x / 2 for x in limits], abs=0.0006)


def test_nothing_counted_is_nothing_known():
    assert Share(0, 0).interval == (0.0, 1.0)
    assert Hourly(0, 0.0).interval == (0.0, float("inf"))


@settings(deadline=None, max_examples=30)
@given(st.sampled_from([-5, 0, 5, 10, 20]), st.integers(200, 3000), st.integers(0, 10**6))
def test_the_noise_lies_as_far_below_the_word_as_asked(snr_db, level, number):
    """The streams hold the same noise with and without the word, so it can be taken out again."""
    random = np.random.default_rng(number)
    word = random.normal(0, level, 8_000).clip(-9000, 9000).astype(np.int16)
    noise = sounds.pink(2.0, number)[: len(word) + 2 * sounds.RATE]
    mixed = sounds.in_noise(word, noise, snr_db, gap_s=0.5).astype(float)
    begin = sounds.RATE // 2
    laid = mixed.copy()
    laid[begin : begin + len(word)] -= word
    found = 10 * np.log10(np.mean(word.astype(float) ** 2) / np.mean(laid**2))
    assert found == pytest.approx(snr_db, abs=1.2)  # pink noise is uneven over a second or two


@pytest.mark.parametrize("number", range(3))
def test_noises_have_power_one(number):
    for noise in (sounds.pink(5, number), sounds.carriage_rasp(5, number)):
        assert np.mean(noise**2) == pytest.approx(1.0)


@pytest.mark.parametrize("decay_s", [0.3, 0.5, 0.8])
@pytest.mark.parametrize("distance_m", [1.0, 2.0])
def test_rooms_ring_about_as_long_as_asked(decay_s, distance_m):
    """T30 by ISO 3382-1's backward integration, as pyroomacoustics measures it."""
    pytest.importorskip("pyroomacoustics")
    import rooms

    assert rooms.decay(rooms.response(decay_s, distance_m)) == pytest.approx(decay_s, rel=0.15)
    word = np.random.default_rng(1).normal(0, 1000, 8_000).astype(np.int16)
    heard = rooms.in_room(word, decay_s, distance_m)[: len(word)].astype(float)
    assert np.mean(heard**2) == pytest.approx(np.mean(word.astype(float) ** 2), rel=0.01)


@settings(deadline=None)
@given(st.integers(0, 16_000), st.floats(0.1, 1.0), st.integers(100, 8000))
def test_the_end_of_a_word_is_found(after, length_s, peak):
    word = np.concatenate([sounds.tone(200, length_s, peak), np.zeros(after, dtype=np.int16)])
    assert hearing.word_end_s(word) == pytest.approx(length_s, abs=0.011)


def test_no_speaker_is_in_two_parts():
    everyone = [one for people in speakers.PARTS.values() for one in people]
    assert len(set(everyone)) == len(everyone)
    assert set(speakers.speakers()) <= set(everyone)


@settings(deadline=None)
@given(st.lists(st.integers(1, 40 * sounds.RATE), min_size=1, max_size=30))
def test_talk_is_put_in_a_row_whole_and_once(lengths):
    files = [np.full(length, number + 1, dtype=np.int16) for number, length in enumerate(lengths)]
    row = np.concatenate(list(negatives.stretches(files, seconds=60.0, gap_s=0.0)))
    assert np.array_equal(row, np.concatenate(files))
    first = negatives.first_minutes(files, 1.0)
    assert sum(map(len, first)) <= 60 * sounds.RATE
    assert len(first) == len(files) or sum(lengths[: len(first) + 1]) > 60 * sounds.RATE


def test_each_speakers_worst_word():
    heard = trials.Heard()
    for speaker, word, hit in [
        ("a", "x", True),
        ("a", "y", False),
        ("a", "y", True),
        ("b", "x", True),
    ]:
        heard.by_speaker[speaker, word, hit] += 1
    assert heard.worst_words() == {"a": ("y", 1, 2), "b": ("x", 1, 1)}
