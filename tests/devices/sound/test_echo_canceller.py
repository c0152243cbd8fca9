"""The echo canceller against echoes that are known, with the real library.

The measure is the echo return loss enhancement, echo power before to after, as ITU-T G.168 has it
(from memory); the 20 dB asked for after two seconds are this project's own aim. The room is made
by the formula in echoes.py; the speech is espeak-ng's.
"""

import queue

import numpy as np
import pytest
import sounds
from echoes import as_sound, echo_of, loss_db, room
from hypothesis import given, settings
from hypothesis import strategies as st
from sounds import RATE

from caller.devices.sound.echo_canceller import FRAME, EchoCanceller, LoudspeakerEcho
from caller.devices.sound.resample import resampled
from caller.errors import ListeningError

pytest.importorskip("pywebrtc_audio")

CALL = "Row twelve, to the right. Navy, to left twenty. Ivory, to right five. Red, to right thirty."
SETTLED = 3 * RATE


@pytest.fixture(scope="module")
def call():
    """Some twelve seconds of call, with pauses."""
    said = sounds.say(CALL, wpm=160)
    return np.concatenate([said, sounds.quiet(0.4)] * 2)


def cancelled(near, far, portion=1_600):
    """What is left, frames that are not whole left away."""
    canceller = EchoCanceller()
    parts = [
        canceller.cancel(near[start : start + portion], far[start : start + portion])
        for start in range(0, len(near), portion)
    ]
    canceller.close()
    return np.concatenate(parts)


@pytest.mark.parametrize("late_s", [0.01, 0.06, 0.2, 0.4])
@pytest.mark.parametrize("reverberation_s", [0.2, 0.4])
@pytest.mark.parametrize("level_db", [0, -10])
def test_the_echo_is_taken_out(call, reverberation_s, late_s, level_db):
    near = as_sound(echo_of(call, room(reverberation_s, late_s), level_db))
    left = cancelled(near, call)
    assert loss_db(near[SETTLED : len(left)], left[SETTLED:]) >= 20


def best_gain_db(said, left):
    """How loud `said` is in `left`, which comes a little later."""
    from scipy import signal

    fit = signal.correlate(left.astype(float), said.astype(float), mode="full", method="fft")
    return 20 * np.log10(fit.max() / np.sum(said.astype(float) ** 2))


@pytest.mark.parametrize("with_call", [False, True])
def test_speech_without_an_echo_is_left_as_it_is(call, with_call):
    """Also while the call is heard on headphones, once it is known that nothing comes back."""
    said = np.tile(np.concatenate([sounds.say("previous row", "en+f3"), sounds.quiet(0.7)]), 8)
    said = said[: len(call)]
    far = call[: len(said)] if with_call else np.zeros_like(said)
    left = cancelled(said, far)
    settled = slice(SETTLED if with_call else 0, len(left))
    assert abs(loss_db(said[settled], left[settled])) < 3
    assert abs(best_gain_db(said[settled], left[settled])) < 3


def test_speech_over_the_echo_survives_it(call):
    word = sounds.say("previous row", "en+f3")
    near = echo_of(call, room(0.3, 0.06), -10)
    at = 7 * RATE
    level = np.sqrt(np.mean(near**2) * 10 / np.mean(word.astype(float) ** 2))
    near[at : at + len(word)] += word * level
    left = cancelled(as_sound(near), call)
    spoken = left[at : at + len(word) + RATE // 10]
    assert best_gain_db(word * level, spoken) > -6


@given(st.lists(st.integers(1, 3_000), min_size=1, max_size=15))
@settings(max_examples=15, deadline=None)
def test_portions_make_no_difference(portions):
    random = np.random.default_rng(1)
    far = random.normal(0, 3000, sum(portions)).astype(np.int16)
    near = as_sound(0.5 * np.roll(far, 400).astype(float))
    canceller, ends = EchoCanceller(), np.cumsum(portions)[:-1]
    parts = [
        canceller.cancel(*pair)
        for pair in zip(np.split(near, ends), np.split(far, ends), strict=True)
    ]
    whole = len(near) - len(near) % FRAME
    left = np.concatenate(parts)
    assert len(left) == whole
    np.testing.assert_array_equal(left, cancelled(near, far, max(1, len(near)))[:whole])


def test_an_echo_that_comes_later_from_some_time_on_is_found_again(call):
    far = np.tile(call, 3)
    change, found = len(far) // 2, len(far) // 2 + 4 * RATE
    near = np.where(
        np.arange(len(far)) < change,
        echo_of(far, room(0.2, 0.05), -3),
        echo_of(far, room(0.2, 0.17), -3),
    )
    near = as_sound(near)
    left = cancelled(near, far)
    assert loss_db(near[SETTLED:change], left[SETTLED:change]) >= 20
    assert loss_db(near[found : len(left)], left[found:]) >= 20


@pytest.mark.parametrize("parts_in_a_million", [-100, 100])
def test_a_clock_that_drifts_a_little_does_not_matter(call, parts_in_a_million):
    """A microphone whose crystal is off by a common sound card's tolerance (common practice)."""
    far = np.tile(call, 3)
    near = as_sound(echo_of(far, room(0.2, 0.06), -3))
    at = np.arange(len(near)) * (1 + parts_in_a_million * 1e-6)
    near = as_sound(np.interp(at, np.arange(len(near)), near.astype(float)))
    left = cancelled(near, far)
    assert loss_db(near[SETTLED : len(left)], left[SETTLED:]) >= 15


def test_silence_stays_silent():
    nothing = np.zeros(RATE, np.int16)
    assert np.abs(cancelled(nothing, nothing)).max() <= 1


def test_wrong_shapes_are_refused():
    canceller = EchoCanceller()
    good = np.zeros(FRAME, np.int16)
    for near, far in [
        (good, good[1:]),
        (good[:, None], good[:, None]),
        (good.astype(float), good.astype(float)),
        (good, good.astype(np.int32)),
    ]:
        with pytest.raises(ValueError, match="int16 of one shape"):
            canceller.cancel(near, far)
    assert len(canceller.cancel(good, good)) == FRAME, "nothing of them was kept"


def test_once_closed_it_says_so():
    canceller = EchoCanceller()
    canceller.close()
    canceller.close()
    with pytest.raises(ListeningError, match="has ended"):
        canceller.cancel(np.zeros(FRAME, np.int16), np.zeros(FRAME, np.int16))


def test_without_the_library_there_is_one_command(monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "pywebrtc_audio", None)
    with pytest.raises(ListeningError, match=r"it: row-caller add listen-while-speaking$"):
        EchoCanceller()


class Tapped:
    """A loudspeaker that plays nothing, and tells what the test puts into its queue."""

    rate = 22_050

    def __init__(self):
        self.told: queue.SimpleQueue | None = None
        self.softened = 0

    def tell(self, played):
        self.told = played

    def soften(self):
        self.softened += 1


def test_the_whole_way_with_the_loudspeakers_own_rate_and_blocks(call):
    """What is told comes in other blocks than what is heard, and earlier."""
    loudspeaker = Tapped()
    echo = LoudspeakerEcho(loudspeaker)
    far, near = resampled(call, RATE, 22_050), as_sound(echo_of(call, room(0.2, 0.15), -3))
    loudspeaker.told.put(far[:2_205])
    left, given_out = [], 2_205
    for start in range(0, len(near), 1_600):
        while given_out < (start + 1_600) * 22_050 / RATE:
            loudspeaker.told.put(far[given_out : given_out + 777])
            given_out += 777
        left.append(echo.clean(near[start : start + 1_600]))
    after = np.concatenate(left)
    assert len(near) - len(after) < RATE // 10
    assert loss_db(near[SETTLED : len(after)], after[SETTLED:]) >= 20
    echo.soften()
    assert loudspeaker.softened == 1
    echo.close()
    assert loudspeaker.told is None
    echo.close()


def test_until_the_echo_is_known_it_is_deaf_while_it_speaks(call):
    """As in half-duplex; also after the loudspeaker has stumbled. In silence it hears at once."""
    loudspeaker = Tapped()
    loudspeaker.rate = RATE
    echo = LoudspeakerEcho(loudspeaker)
    hiss = np.random.default_rng(1).normal(0, 300, RATE // 10).astype(np.int16)

    def heard(played):
        loudspeaker.told.put(played)
        return echo.clean(hiss).any()

    speech = np.full(RATE // 10, 1000, np.int16)
    assert [heard(speech * 0) for _ in range(3)] == [True] * 3
    assert [heard(speech) for _ in range(20)] == [False] * 20
    assert all(heard(speech) for _ in range(10))
    loudspeaker.told.put(None)
    assert [heard(speech) for _ in range(10)] == [False] * 10
    silent = [bool(heard(speech * 0)) for _ in range(10)]
    assert silent == [False] * silent.index(True) + [True] * (10 - silent.index(True))
    assert 2 <= silent.index(True) <= 5, "the echo lingers a little"
    assert not heard(speech)
