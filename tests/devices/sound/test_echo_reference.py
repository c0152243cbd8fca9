"""Two streams kept side by side, whatever the portions and however the devices stumble."""

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.listening.blocks import RATE
from caller.devices.sound.echo_reference import CUSHION, MOST_WAITING, PATIENCE, EchoReference

BLOCK = RATE // 10


def numbered(start: int, count: int) -> np.ndarray:
    """Samples that tell where in their stream they stand, to 30,000."""
    return (np.arange(start, start + count) % 30_000 + 1).astype(np.int16)


def matched(steps) -> tuple[np.ndarray, np.ndarray]:
    """Run steps of ("played" or "heard", samples); all that was matched, heard and played."""
    streams, heard, played = EchoReference(), [], []
    for kind, samples in steps:
        if kind == "played":
            streams.played(samples)
        else:
            near, far = streams.heard(samples)
            assert near.shape == far.shape
            heard.append(near)
            played.append(far)
    return np.concatenate(heard), np.concatenate(played)


def evenly(seconds: float, played_rate: float = RATE, silent: bool = False):
    """Both devices at work, in turns of a tenth of a second."""
    given_out = 0
    for turn in range(round(seconds * 10)):
        upto = round((turn + 1) * played_rate / 10)
        block = numbered(given_out, upto - given_out)
        yield "played", block % 8 if silent else block
        given_out = upto
        yield "heard", numbered(turn * BLOCK, BLOCK)


@given(
    st.lists(st.tuples(st.booleans(), st.integers(0, 900)), min_size=1, max_size=60),
    st.integers(0, 3 * RATE),
)
def test_nothing_heard_is_lost_or_swapped(turns, before):
    steps, counts = [("played", numbered(0, before))], {"played": before, "heard": 0}
    for is_played, count in turns:
        kind = "played" if is_played else "heard"
        steps.append((kind, numbered(counts[kind], count)))
        counts[kind] += count
    heard, _ = matched([*steps, ("heard", np.zeros(0, np.int16))])
    np.testing.assert_array_equal(heard, numbered(0, len(heard)))
    assert counts["heard"] - len(heard) <= PATIENCE


@given(st.lists(st.integers(1, 1600), min_size=1, max_size=40))
@settings(max_examples=40)
def test_portions_make_no_difference(portions):
    """A tenth of a second at once, or the same in any pieces: the same matches."""
    ends = np.cumsum(portions)
    pieces = []
    for start, end in zip([0, *ends], ends, strict=False):
        pieces += [
            ("played", numbered(start + CUSHION, end - start)),
            ("heard", numbered(start, end - start)),
        ]
    heard, played = matched([("played", numbered(0, CUSHION)), *pieces])
    np.testing.assert_array_equal(heard, played)


def test_it_begins_with_what_was_played_just_now():
    _, played = matched([("played", numbered(0, 20_000)), ("heard", numbered(0, BLOCK))])
    np.testing.assert_array_equal(played, numbered(20_000 - BLOCK - CUSHION, BLOCK))


def test_late_devices_leave_no_gap():
    """Blocks that come two at a time are matched at one distance throughout."""
    steps = list(evenly(4))
    late = []
    for turn in range(0, len(steps), 4):
        late += [steps[turn], steps[turn + 2], steps[turn + 1], steps[turn + 3]]
    heard, played = matched(late)
    assert len(set((heard.astype(int) - played) % 30_000)) == 1


def test_a_loudspeaker_that_stops_does_not_stop_the_ears():
    steps = [*evenly(1), *[("heard", numbered(RATE + turn * BLOCK, BLOCK)) for turn in range(20)]]
    heard, played = matched(steps)
    assert len(heard) >= 3 * RATE - PATIENCE
    assert not played[RATE:].any()


def test_a_microphone_that_was_away_is_matched_with_now_again():
    streams = EchoReference()
    for kind, samples in evenly(1):
        (streams.played if kind == "played" else streams.heard)(samples)
    streams.played(numbered(RATE, RATE * 8 // 10))
    streams.heard(numbered(0, BLOCK))
    now = RATE + RATE * 8 // 10
    streams.played(numbered(now, BLOCK))
    _, played = streams.heard(numbered(0, BLOCK))
    assert now + BLOCK - CUSHION == played[-1]


def test_clocks_that_differ_are_brought_together_in_silence_only():
    """200 parts in a million, more than any sound card's crystal differs, for a quarter hour."""
    faster = RATE * (1 + 200e-6)

    def waiting(silent: bool) -> int:
        streams = EchoReference()
        given_out = matched_count = 0
        for kind, samples in evenly(900, faster, silent):
            if kind == "played":
                streams.played(samples)
                given_out += len(samples)
            else:
                matched_count += len(streams.heard(samples)[1])
        return len(streams._played)

    assert waiting(silent=True) <= MOST_WAITING + BLOCK
    assert waiting(silent=False) == 900 * RATE * 200 // 1_000_000, "no jump while it speaks"


def test_a_slower_loudspeaker_never_makes_the_ears_late():
    heard, _ = matched(evenly(900, RATE * (1 - 200e-6)))
    assert 900 * RATE - len(heard) <= PATIENCE
