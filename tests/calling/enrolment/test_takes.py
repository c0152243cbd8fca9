"""The checks on takes: what is fit to be kept, and each way not to be."""

from dataclasses import dataclass

import numpy as np
import pytest
import sounds
from hypothesis import given
from hypothesis import strategies as st

from caller.calling.commands import Command
from caller.calling.enrolment import takes
from caller.calling.enrolment.takes import LIKE, Finding, Take, check, in_recording
from caller.calling.listening.blocks import BLOCK_SAMPLES, RATE
from caller.calling.listening.endpointing import Endpointer, EndpointSettings
from caller.devices.recognisers.silero_vad import SileroDetector

VOICES = sounds.SPEAKERS[::3]


def made(level: float = 3000, talk_s: float = 0.8, noise: float = 5, room_s: float = 0.25) -> Take:
    """Noise in the rhythm of syllables, with a quiet room around it."""
    random = np.random.default_rng(1)
    room, talk = round(room_s * RATE), round(talk_s * RATE)
    rhythm = 1 + 0.5 * np.sin(np.arange(talk) / RATE * 2 * np.pi * 4)
    sound = random.normal(0, noise, talk + 2 * room)
    sound[room : room + talk] += random.normal(0, level, talk) * rhythm
    samples = np.clip(np.rint(sound), -32768, 32767).astype(np.int16)
    return Take(samples, room, room + talk)


@dataclass(frozen=True)
class BySize:
    """A stand-in: as far apart as their first samples are, 100 being as far as LIKE."""

    def distance(self, one, other):
        return abs(int(one[0]) - int(other[0])) / 100 * LIKE


def sized(*firsts: int) -> list[np.ndarray]:
    return [np.array([first, 0], dtype=np.int16) for first in firsts]


def test_a_good_take_has_nothing_wrong():
    assert check(made()) is None


@pytest.mark.parametrize("room_s", [0.02, 0.05, 0.1])
def test_a_little_quiet_around_it_is_enough(room_s):
    assert check(made(room_s=room_s)) is None


@pytest.mark.parametrize(
    ("take", "finding"),
    [
        (made(level=30, noise=1), Finding.QUIET),
        (made(level=60_000), Finding.CLIPPED),
        (made(talk_s=0.2), Finding.SHORT),
        (made(talk_s=1.7), Finding.LONG),
        (made(noise=1500), Finding.NOISY),
        (made(room_s=0.015), Finding.CUT_OFF),
        (made(room_s=0), Finding.CUT_OFF),
    ],
    ids=lambda value: value.fault.replace(" ", "-") if isinstance(value, Finding) else "",
)
def test_each_fault_is_found(take, finding):
    assert check(take) is finding


@pytest.mark.parametrize("side", ["begin", "end"])
def test_talk_at_either_edge_is_cut_off(side):
    """The detector is some blocks late, so talk can lie in what it takes for quiet."""
    good = made()
    if side == "begin":
        segment = Take(good.samples[good.begin + 600 :], 2000, good.end - good.begin - 600)
    else:
        segment = Take(good.samples[: good.end - 600], good.begin, good.end - 2600)
    assert check(segment) is Finding.CUT_OFF


def test_what_is_too_long_or_short_is_what_listening_drops():
    settings = EndpointSettings(shortest_s=0.5, longest_s=0.7)
    assert check(made(talk_s=0.4), settings) is Finding.SHORT
    assert check(made(talk_s=0.8), settings) is Finding.LONG
    assert check(made(talk_s=0.6), settings) is None


def test_a_breath_on_one_side_is_no_noise():
    take = made()
    samples = take.samples.copy()
    samples[take.end + 1000 :] += np.int16(400) * np.tile([1, -1], len(samples))[
        : len(samples) - take.end - 1000
    ].astype(np.int16)
    assert check(Take(samples, take.begin, take.end)) is None


@given(st.integers(0, 60_000), st.integers(0, 60_000), st.binary(max_size=4000))
def test_any_sound_at_all_gets_an_answer(begin, end, content):
    samples = np.frombuffer(content[: len(content) // 2 * 2], dtype="<i2").astype(np.int16)
    begin, end = sorted((min(begin, len(samples)), min(end, len(samples))))
    assert check(Take(samples, begin, end)) in (*Finding, None)


def segments_of(samples: np.ndarray) -> list:
    detector, endpointer = SileroDetector(), Endpointer(takes.TAKING)
    whole = samples[: len(samples) - len(samples) % BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES)
    segments = (endpointer.feed(block, detector.probability(block)) for block in whole)
    return [segment for segment in segments if segment is not None]


PHRASES = ("next row", "repeat that", "weiter bitte", "noch einmal", "va bene")


@pytest.mark.parametrize("voice", VOICES)
def test_spoken_words_are_good_takes_by_the_microphone_and_from_a_file(voice):
    """Synthetic voices of espeak-ng; words of several languages with its English sounds."""
    for word in sounds.spoken(PHRASES, voice):
        (segment,) = segments_of(sounds.apart([word]))
        live, filed = (
            takes.from_segment(segment),
            in_recording(sounds.apart([word]), SileroDetector()),
        )
        assert check(live) is None
        assert check(filed) is None
        assert (live.begin, live.end) == (filed.begin, filed.end)
        assert np.array_equal(live.samples, filed.samples)
        # What is kept is looked at again when it is listed.
        again = in_recording(live.samples, SileroDetector())
        assert check(again) is None


def test_words_too_soft_too_loud_or_in_a_din_are_not():
    word = sounds.say("next row").astype(float)
    room = sounds.apart([np.zeros(len(word), dtype=np.int16)]).astype(float)
    at = round(0.8 * RATE)

    def spoken_at(gain: float, noise: float = 0.0) -> Finding | None:
        sound = room + sounds.pink(len(room) / RATE)[: len(room)] * noise
        sound[at : at + len(word)] += word * gain
        clipped = np.clip(sound, -32768, 32767).astype(np.int16)
        take = in_recording(clipped, SileroDetector())
        return take if isinstance(take, Finding) else check(take)

    assert spoken_at(1) is None
    assert spoken_at(0.1) is None
    assert spoken_at(0.02) is Finding.QUIET
    assert spoken_at(6) is Finding.CLIPPED
    assert spoken_at(1, noise=1500) is Finding.NOISY


def test_recordings_that_hold_no_single_take():
    word = sounds.say("next row")
    detector = SileroDetector()
    assert in_recording(np.zeros(0, dtype=np.int16), detector) is Finding.NO_WORDS
    assert in_recording(sounds.quiet(2), detector) is Finding.NO_WORDS
    assert in_recording(sounds.apart([word, word]), detector) is Finding.SEVERAL
    sentence = "the quick brown fox jumps over the lazy dog and then sleeps all the afternoon "
    long = in_recording(sounds.apart([sounds.say(sentence * 3)]), detector)
    assert (long if isinstance(long, Finding) else check(long)) in (Finding.LONG, Finding.SEVERAL)


@pytest.mark.parametrize("part", [slice(4000, None), slice(None, -4000), slice(4000, -4000)])
def test_a_recording_that_begins_or_ends_inside_the_words_is_cut_off(part):
    word = sounds.say("repeat that")
    before = sounds.quiet(0.5 if part.start is None else 0)
    behind = sounds.quiet(0.5 if part.stop is None else 0)
    take = in_recording(np.concatenate([before, word[part], behind]), SileroDetector())
    assert isinstance(take, Take)
    assert check(take) is Finding.CUT_OFF


def test_the_nearest_other_command_is_told():
    taught = {
        Command.NEXT: sized(0, 10),
        Command.BACK: sized(500, 520),
        Command.WHERE: sized(590),
        Command.HELP: [],
    }
    (sound,) = sized(560)
    found = [takes.like_another(sound, command, taught, BySize()) for command in taught]
    assert found == [Command.WHERE, Command.WHERE, Command.BACK, Command.WHERE]
    (far,) = sized(300)
    assert takes.like_another(far, Command.NEXT, taught, BySize()) is None
    assert takes.like_another(far, Command.NEXT, {}, BySize()) is None


firsts = st.lists(st.integers(-9000, 9000), min_size=1, max_size=7)


@given(firsts, st.integers(1, 5))
def test_the_most_alike_are_some_of_them_and_no_others_are_nearer(firsts, count):
    sounds_ = sized(*firsts)
    chosen = takes.most_alike(sounds_, count, BySize())
    assert len(chosen) == min(count, len(firsts))
    rest = iter(sounds_)
    assert all(any(one is other for other in rest) for one in chosen), "in their order"
    # On a line the nearest are neighbours.
    line = sorted(firsts)
    spans = [line[at + len(chosen) - 1] - line[at] for at in range(len(line) - len(chosen) + 1)]
    values = [int(one[0]) for one in chosen]
    assert max(values) - min(values) == min(spans)


def test_takes_are_alike_when_each_has_one_that_is_like_it():
    assert takes.alike(sized(0, 90, 180), BySize())
    assert not takes.alike(sized(0, 90, 300), BySize())
    assert takes.alike(sized(7), BySize())
    assert takes.alike([], BySize())


def test_every_finding_says_what_is_wrong_and_what_to_do():
    for finding in Finding:
        assert finding.sentence.endswith(".")
        assert finding.remedy.endswith(".")
    assert len({finding.fault for finding in Finding}) == len(Finding)
