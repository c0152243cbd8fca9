"""Where the word lies in a take, with much and with little quiet around it."""

import numpy as np
import pytest
import sounds
from hypothesis import given
from hypothesis import strategies as st

from caller.devices.recognisers.own_voice.word_bounds import find_word


def word():
    said = sounds.say("repeat", "en-us")
    loud = np.flatnonzero(np.abs(said.astype(int)) > 1000)
    return said[loud[0] : loud[-1]]


@pytest.mark.parametrize("snr_db", [40, 12])
@pytest.mark.parametrize("quiet_s", [0.25, 0.04])
def test_the_word_is_found_in_its_take(snr_db, quiet_s):
    said, room = word(), sounds.quiet(quiet_s)
    take = np.concatenate([room, said, room])
    noise = sounds.pink(len(take) / sounds.RATE)[: len(take)]
    level = np.sqrt(np.mean(said.astype(float) ** 2)) / 10 ** (snr_db / 20)
    found = find_word(np.rint(take + noise * level).astype(np.int16))
    assert abs(found.start - len(room)) < 0.1 * sounds.RATE
    assert abs(found.stop - len(room) - len(said)) < 0.1 * sounds.RATE


def test_in_silence_there_is_none():
    assert find_word(np.zeros(16_000, dtype=np.int16)) == slice(0, 0)
    assert find_word(np.ones(100, dtype=np.int16)) == slice(0, 0)


@given(st.binary(max_size=8000))
def test_any_sound_at_all_has_a_slice_within_it(content):
    take = np.frombuffer(content[: len(content) // 2 * 2], dtype="<i2").astype(np.int16)
    found = find_word(take)
    assert 0 <= found.start <= found.stop <= len(take)
