"""Cutting words out of a stream: exact boundaries, nothing lost or invented, bounded memory.

The numbers of EndpointSettings were measured (tests/bench/listening.py prints them anew); here
they are only checked for being kept.
"""

import dataclasses
import math
import tracemalloc
from itertools import groupby

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.listening.blocks import BLOCK_S, BLOCK_SAMPLES, RATE
from caller.calling.listening.endpointing import Endpointer, EndpointSettings
from caller.errors import SettingError

ON, BETWEEN, OFF = 0.9, 0.4, 0.1
HANG, PRE_ROLL, SHORTEST, LONGEST = 9, 8, 8, 50  # blocks of 32 ms in the usual settings

probabilities = st.lists(
    st.tuples(st.sampled_from([ON, BETWEEN, OFF]), st.integers(1, 60)), max_size=12
).map(lambda runs: [value for value, count in runs for _ in range(count)])


def stream(count):
    """Samples that are all different, so that a shifted segment cannot go unnoticed."""
    return np.arange(count * BLOCK_SAMPLES, dtype=np.int64).astype(np.int16)


def segments_of(values, settings=None):
    endpointer, sound = Endpointer(settings), stream(len(values))
    blocks = sound.reshape(-1, BLOCK_SAMPLES)
    found = [endpointer.feed(block, value) for block, value in zip(blocks, values, strict=True)]
    return [segment for segment in found if segment is not None], sound


def talk(blocks, before=20, after=20):
    return [OFF] * before + [ON] * blocks + [OFF] * after


def test_a_word_is_cut_with_its_pre_roll_and_hang():
    [segment], sound = segments_of(talk(20))
    assert segment.word_s == pytest.approx(20 * BLOCK_S)
    assert segment.start_s == pytest.approx((20 - PRE_ROLL) * BLOCK_S)
    assert segment.end_s == pytest.approx((40 + HANG) * BLOCK_S)
    first, last = (20 - PRE_ROLL) * BLOCK_SAMPLES, (40 + HANG) * BLOCK_SAMPLES
    np.testing.assert_array_equal(segment.samples, sound[first:last])


@pytest.mark.parametrize(
    ("blocks", "accepted"),
    [(1, 0), (SHORTEST - 1, 0), (SHORTEST, 1), (LONGEST, 1), (LONGEST + 1, 0), (500, 0)],
)
def test_talk_is_a_command_from_a_quarter_second_to_one_and_six_tenths(blocks, accepted):
    assert len(segments_of(talk(blocks))[0]) == accepted


def test_a_short_breath_within_a_phrase_does_not_part_it():
    together, _ = segments_of([OFF] * 9 + [ON] * 10 + [OFF] * (HANG - 1) + [ON] * 10 + [OFF] * 9)
    apart, _ = segments_of([OFF] * 9 + [ON] * 10 + [OFF] * HANG + [ON] * 10 + [OFF] * 9)
    assert (len(together), len(apart)) == (1, 2)


def test_half_sure_sound_keeps_talk_going_but_never_begins_it():
    assert segments_of([BETWEEN] * 40 + [OFF] * 20)[0] == []
    [segment], _ = segments_of([OFF] * 10 + [ON] * 10 + [BETWEEN] * 10 + [OFF] * 20)
    assert segment.end_s == pytest.approx((30 + HANG) * BLOCK_S)


def test_a_phrase_within_a_conversation_is_dropped_with_it():
    """0.2 s of quiet on each side are not enough."""
    assert (
        segments_of([ON] * 40 + [OFF] * 6 + [ON] * 20 + [OFF] * 6 + [ON] * 40 + [OFF] * 20)[0] == []
    )


@settings(deadline=None, max_examples=50)
@given(probabilities)
def test_no_sample_is_lost_or_invented(values):
    segments, sound = segments_of(values)
    for segment in segments:
        start, end = round(segment.start_s * RATE), round(segment.end_s * RATE)
        np.testing.assert_array_equal(segment.samples, sound[start:end])
        assert segment.start_s <= segment.word_s < segment.end_s
        begins = round(segment.word_s / BLOCK_S)
        assert values[begins] == ON
        assert all(value != ON for value in values[round(segment.start_s / BLOCK_S) : begins])


@settings(deadline=None, max_examples=50)
@given(probabilities)
def test_the_cuts_are_the_runs_of_talk_of_the_right_length(values):
    """Counted again in another way: blocks are talk, quiet, or undecided as the one before."""
    talking, state = [], False
    for index, value in enumerate(values):
        if value == ON:
            state = True
        elif state:
            state = any(later != OFF for later in values[max(0, index - HANG + 1) : index + 1])
        talking.append(state)
    wanted, index = [], 0
    for is_talk, run in groupby(talking):
        count = len(list(run))
        ended = index + count < len(values)
        if is_talk and ended and SHORTEST <= count - (HANG - 1) <= LONGEST:
            wanted.append(index)
        index += count
    assert [round(segment.word_s / BLOCK_S) for segment in segments_of(values)[0]] == wanted


@settings(deadline=None, max_examples=50)
@given(probabilities, probabilities, st.integers(0, 100_000))
def test_skipping_forgets_the_past_and_keeps_the_clock(before, after, skipped):
    endpointer, sound = Endpointer(), stream(len(before) + len(after)).reshape(-1, BLOCK_SAMPLES)
    for block, value in zip(sound, before, strict=False):
        endpointer.feed(block, value)
    endpointer.skip(skipped)
    fed = [endpointer.feed(b, v) for b, v in zip(sound[len(before) :], after, strict=True)]
    fresh, _ = segments_of(after)
    late_s = len(before) * BLOCK_S + skipped / RATE
    later = [segment for segment in fed if segment]
    assert [segment.word_s for segment in later] == pytest.approx(
        [c.word_s + late_s for c in fresh]
    )
    assert [len(segment.samples) for segment in later] == [
        len(segment.samples) for segment in fresh
    ]


def test_hours_of_talk_take_no_memory():
    endpointer, block = Endpointer(), np.ones(BLOCK_SAMPLES, dtype=np.int16)
    for _ in range(200):
        endpointer.feed(block, ON)
    tracemalloc.start()
    for _ in range(round(3600 / BLOCK_S)):
        assert endpointer.feed(block, ON) is None
    grown, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert grown < 100_000


def test_what_the_microphone_writes_over_later_does_not_change_a_segment():
    endpointer, block, segment = Endpointer(), np.zeros(BLOCK_SAMPLES, dtype=np.int16), None
    for number, value in enumerate(talk(10, before=0, after=HANG), start=1):
        block[:] = number  # one buffer, as sound libraries use it
        segment = endpointer.feed(block, value) or segment
    assert segment is not None
    assert segment.samples[0] == 1
    assert segment.samples[-1] == 10 + HANG


@pytest.mark.parametrize(
    "changed",
    [
        {"off_probability": 0.6},
        {"on_probability": 1.0},
        {"off_probability": 0.0},
        {"pre_roll_s": 0.4},
        {"pre_roll_s": -0.1},
        {"hangover_s": 0.01, "pre_roll_s": 0.0},
        {"shortest_s": 2.0},
        {"longest_s": float("nan")},
        {"early_s": 0.29, "sure_s": 0.29},
        {"early_s": 0.2},
        {"early_s": 0.0},
    ],
)
def test_settings_that_contradict_one_another_are_refused(changed):
    with pytest.raises(SettingError, match="contradict"):
        dataclasses.replace(EndpointSettings(), **changed)


@pytest.mark.parametrize("samples", [0, 1, 511, 513])
def test_a_block_of_another_length_is_refused(samples):
    with pytest.raises(ValueError, match="512"):
        Endpointer().feed(np.zeros(samples, dtype=np.int16), ON)


EARLY = EndpointSettings(early_s=0.04, longest_s=2.4)


def early_segments(values, take=True):
    """Fed block by block, taking what has settled for ended: (early, whole) segments."""
    endpointer, sound = Endpointer(EARLY), stream(len(values))
    early, whole = [], []
    for block, value in zip(sound.reshape(-1, BLOCK_SAMPLES), values, strict=True):
        found = endpointer.feed(block, value)
        whole += [] if found is None else [found]
        if (so_far := endpointer.early) is not None:
            early.append(so_far)
        if (settled := endpointer.settled) is not None:
            assert settled.word_s == early[-1].word_s
            assert settled.end_s == pytest.approx(early[-1].end_s + 2 * BLOCK_S)
            if take:
                endpointer.end()
    return early, whole, sound


def test_the_talk_so_far_can_be_looked_at_early():
    [early], [whole], _ = early_segments(talk(20), take=False)
    assert early.end_s == pytest.approx((40 + 1) * BLOCK_S)
    assert (early.word_s, early.start_s) == (whole.word_s, whole.start_s)
    np.testing.assert_array_equal(early.samples, whole.samples[: len(early.samples)])
    assert early_segments(talk(SHORTEST - 1))[0] == []
    assert early_segments(talk(100))[0] == []


def test_two_words_in_a_row_are_two_once_the_first_is_taken():
    """0.16 s between them: one segment, but each by itself when the first is taken early."""
    values = [OFF] * 20 + [ON] * 15 + [OFF] * 5 + [ON] * 15 + [OFF] * 20
    early, whole, _ = early_segments(values)
    assert [round(one.word_s / BLOCK_S) for one in early] == [20, 40]
    assert whole == []
    assert early[1].start_s >= 35 * BLOCK_S, "nothing of the word before"
    assert len(early_segments(values, take=False)[1]) == 1


def test_talk_that_goes_on_at_once_is_looked_at_and_does_not_settle():
    early, [whole], _ = early_segments(
        [OFF] * 20 + [ON] * 15 + [OFF] * 2 + [ON] * 15 + [OFF] * 20, False
    )
    assert [round(one.end_s / BLOCK_S) for one in early] == [36, 53]
    early, _, _ = early_segments([OFF] * 20 + [ON] * 15 + [OFF] * 2 + [ON] * 15 + [OFF] * 20)
    assert [one.word_s for one in early] == [whole.word_s] * 2


@given(st.integers(1, 120), st.integers(HANG + 1, 60))
def test_how_long_it_was_quiet_before(before, quiet):
    """Since the end of talk, short or too long for a command; what is shorter is no talk."""
    [*_, found], _ = segments_of([ON] * before + [OFF] * quiet + talk(20, before=0))
    talked = before >= SHORTEST
    assert found.quiet_s == (pytest.approx(quiet * BLOCK_S) if talked else math.inf)


@pytest.mark.parametrize("forget", ["skip", "overhear"])
def test_what_the_loudspeaker_said_is_no_talk_before(forget):
    endpointer, sound = Endpointer(), stream(100).reshape(-1, BLOCK_SAMPLES)
    for block, value in zip(sound, talk(10, 0, 12), strict=False):
        endpointer.feed(block, value)
    endpointer.skip(BLOCK_SAMPLES) if forget == "skip" else endpointer.overhear(sound[22])
    found = [endpointer.feed(*one) for one in zip(sound[23:], talk(10, 0, 12), strict=False)]
    assert [one.quiet_s for one in found if one is not None] == [math.inf]


def test_a_word_that_is_taken_early_was_talk_too():
    values = [OFF] * 20 + [ON] * 15 + [OFF] * 5 + [ON] * 15 + [OFF] * 20
    early, _, _ = early_segments(values)
    assert [one.quiet_s for one in early] == [math.inf, pytest.approx(5 * BLOCK_S)]


def test_what_was_overheard_is_the_beginning_of_what_goes_on():
    endpointer, sound = Endpointer(), stream(60).reshape(-1, BLOCK_SAMPLES)
    for block in sound[:10]:
        endpointer.overhear(block)
    fed = [endpointer.feed(block, ON if at < 30 else OFF) for at, block in enumerate(sound[10:])]
    [segment] = [one for one in fed if one is not None]
    assert segment.word_s == pytest.approx(10 * BLOCK_S)
    np.testing.assert_array_equal(segment.samples[:BLOCK_SAMPLES], sound[10 - PRE_ROLL])
