"""A take in other places: as loud as it was, in rooms that fall as they should."""

import numpy as np
import pytest
import sounds

from caller.devices.recognisers.own_voice.augmentation import (
    ROOMS,
    augmented,
    in_room,
    machine_noise,
    room_response,
)
from caller.devices.recognisers.own_voice.word_bounds import find_word


def take():
    return sounds.apart([sounds.say("next row", "en-us")], 0.3)


def power(sound):
    return float(np.sum(np.asarray(sound, dtype=float) ** 2))


@pytest.mark.parametrize(("decay_s", "direct_db"), ROOMS)
def test_a_room_falls_by_sixty_decibels_in_its_time(decay_s, direct_db):
    """Schroeder's backward integration (JASA 1965, 37:409), -5 to -25 dB: ISO 3382's T20."""
    response = room_response(decay_s, direct_db)[48:]
    left = 10 * np.log10(np.cumsum(response[::-1] ** 2)[::-1] / power(response))
    begin, end = (int(np.argmax(left < level)) for level in (-5, -25))
    assert 3 * (end - begin) / sounds.RATE == pytest.approx(decay_s, rel=0.15)


@pytest.mark.parametrize(("decay_s", "direct_db"), ROOMS)
def test_the_direct_sound_stands_so_far_above_the_reflected(decay_s, direct_db):
    response = room_response(decay_s, direct_db)
    assert 10 * np.log10(response[0] ** 2 / power(response[1:])) == pytest.approx(direct_db)


def test_a_take_in_a_room_is_as_loud_and_has_a_tail():
    dry = take()
    wet = in_room(dry, 0.6, -3.0)
    assert power(wet) == pytest.approx(power(dry), rel=0.01)
    word = find_word(dry)
    behind = slice(word.stop + 800, word.stop + 2_400)
    assert power(wet[behind]) > 10 * power(dry[behind])


def test_the_take_itself_comes_first_and_no_place_is_like_another():
    dry = take()
    found = augmented(dry, find_word(dry))
    assert np.array_equal(found[0], dry)
    assert len({sound.tobytes() for sound in found}) == len(found) == 6
    again = augmented(dry, find_word(dry))
    assert all(np.array_equal(one, other) for one, other in zip(found, again, strict=True))


def test_silence_stays_silence_in_a_room():
    assert not in_room(np.zeros(16_000, dtype=np.int16), 0.5, 0.0).any()


def test_the_machine_has_power_one_and_rumbles():
    noise = machine_noise()
    assert np.mean(noise**2) == pytest.approx(1)
    spectrum = np.abs(np.fft.rfft(noise)) ** 2
    hz = np.fft.rfftfreq(len(noise), 1 / sounds.RATE)
    assert spectrum[hz < 800].sum() > 0.8 * spectrum.sum()
