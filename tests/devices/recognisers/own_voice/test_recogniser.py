"""The own voice with real engines, taught and spoken to by espeak-ng's voices."""

import sys
from functools import cache
from operator import eq

import numpy as np
import pytest
import rooms
import sounds

from caller.calling.ports import NOTHING
from caller.devices.recognisers.english import model_files
from caller.devices.recognisers.english.encoder import STEP_SAMPLES, WIDTH, Encoder
from caller.devices.recognisers.onnx_session import OnnxSession
from caller.devices.recognisers.own_voice.outlook import outlook
from caller.devices.recognisers.own_voice.recogniser import (
    OwnVoiceLikeness,
    OwnVoiceRecogniser,
    TakeStates,
)
from caller.devices.recognisers.own_voice.states import SpeechStates
from caller.errors import ListeningError

ENGLISH = ("next", "repeat", "where am i", "go back")
SPEAKERS = {
    "en-us": ENGLISH,
    "en-gb-x-rp+f4": ENGLISH,
    "en-029": ENGLISH,
    # "the next one", "again", "where am I", "go back"
    "ko+m3": ("다음", "다시 말해", "지금 어디", "뒤로 가"),
}
OTHER = ("red", "thirty", "to the right", "hello there", "thank you", "put the kettle on", "coffee")

TAUGHT = ((132, 50), (148, 56), (140, 44))
"""Words a minute and pitch of each take."""


def as_segment(word):
    """With the quiet before and after it that a segment has."""
    return np.concatenate([sounds.quiet(0.25), word, sounds.quiet(0.29)])


def segments(words, voice, wpm=138, pitch=53):
    return [as_segment(word) for word in sounds.spoken(words, voice, wpm, pitch)]


@cache
def takes(voice):
    words = SPEAKERS[voice]
    said = [segments(words, voice, wpm, pitch) for wpm, pitch in TAUGHT]
    return {word: [take[number] for take in said] for number, word in enumerate(words)}


@pytest.fixture(scope="module", autouse=True)
def learnt_once():
    """Takes that several recognisers learn are learnt once; what is heard is heard anew."""
    learn, known = TakeStates.learn, {}

    def remembered(states, take):
        if (key := take.tobytes()) not in known:
            known[key] = learn(states, take)
        return known[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TakeStates, "learn", remembered)
        yield


@cache
def encoder():
    return Encoder()


@cache
def recogniser_of(voice="en-us", strictness=50):
    return OwnVoiceRecogniser(takes(voice), strictness, encoder())


@pytest.mark.parametrize("voice", SPEAKERS)
def test_the_speaker_is_heard_whatever_the_words(voice):
    heard = [
        recogniser_of(voice).recognise(segment).phrase
        for segment in segments(SPEAKERS[voice], voice)
    ]
    assert heard == list(SPEAKERS[voice])


@pytest.mark.parametrize("gain", [0.05, 0.2, 0.6])
def test_louder_and_softer_is_the_same(gain):
    heard = [
        recogniser_of().recognise((segment * gain).astype(np.int16)).phrase
        for segment in segments(ENGLISH, "en-us")
    ]
    assert heard == list(ENGLISH)


@pytest.mark.parametrize("noise", [sounds.pink, sounds.carriage_rasp])
def test_noise_hides_few_words_and_makes_none_another(noise):
    said = [
        (word, recogniser_of(voice).recognise(sounds.with_noise(segment, noise(3.0), 7.0)).phrase)
        for voice in ("en-us", "en-gb-x-rp+f4", "en-029")
        for word, segment in zip(ENGLISH, segments(ENGLISH, voice), strict=True)
    ]
    assert [pair for pair in said if pair[1] not in (None, pair[0])] == []
    assert sum(heard == word for word, heard in said) >= 10


@pytest.mark.parametrize("voice", ["en-us", "en-gb-x-rp+f4", "en-029"])
def test_other_words_in_the_same_voice_are_nothing(voice):
    heard = dict(
        zip(OTHER, map(recogniser_of(voice).recognise, segments(OTHER, voice)), strict=True)
    )
    assert {word: verdict for word, verdict in heard.items() if verdict.phrase} == {}


def test_a_stranger_is_never_heard_as_another_command():
    for stranger in ("en-us+m5", "en-gb-scotland", "en-us-nyc"):
        for word, segment in zip(ENGLISH, segments(ENGLISH, stranger), strict=True):
            assert recogniser_of().recognise(segment).phrase in (None, word)
        assert {
            recogniser_of().recognise(segment).phrase for segment in segments(OTHER, stranger)
        } == {None}


def test_what_is_no_speech_is_nothing():
    segments = {
        "empty": np.zeros(0, dtype=np.int16),
        "one sample": np.full(1, 1000, dtype=np.int16),
        "a few samples": np.full(300, 1000, dtype=np.int16),
        "silence": np.zeros(16_000, dtype=np.int16),
        "stuck": np.full(16_000, -32768, dtype=np.int16),
        "quiet room": sounds.quiet(1.0),
        "pink noise": (sounds.pink(1.2) * 3000).astype(np.int16),
        "carriage": (sounds.carriage_rasp(1.2) * 3000).astype(np.int16),
        "tone": as_segment(sounds.tone(440, 0.5)),
        "high tone": as_segment(sounds.tone(1320, 0.4)),
    }
    recogniser = recogniser_of()
    for name, segment in segments.items():
        assert recogniser.recognise(segment) == NOTHING, name


def test_the_answer_hangs_on_the_cut_alone():
    segment = segments(("repeat",), "en-us")[0]
    first = recogniser_of().recognise(segment)
    recogniser_of().recognise((sounds.pink(1.2) * 3000).astype(np.int16))
    assert recogniser_of().recognise(segment) == first
    assert OwnVoiceRecogniser(takes("en-us")).recognise(segment) == first


def test_stricter_hears_no_more():
    asked = [*segments(ENGLISH, "en-us"), *segments(("text", "beat", "where", "go slow"), "en-us")]
    asked += [sounds.with_noise(segment, sounds.pink(3.0), 0.0) for segment in asked]
    levels = (100, 50, 0)
    heard = {strictness: set() for strictness in levels}
    for n, segment in enumerate(asked):
        for strictness in levels:  # the encoder keeps the states of the last segment
            if recogniser_of("en-us", strictness).recognise(segment).phrase:
                heard[strictness].add(n)
    assert heard[100] <= heard[50] <= heard[0]
    assert heard[100] < heard[0]


def test_takes_need_not_be_as_many_of_each_command():
    uneven = {**takes("en-us"), "next": takes("en-us")["next"] + segments(("next",), "en-us", 160)}
    heard = OwnVoiceRecogniser(uneven, encoder=encoder()).recognise(segments(("next",), "en-us")[0])
    assert heard.phrase == "next"


def test_one_command_alone_can_be_taught():
    alone = OwnVoiceRecogniser({"next": takes("en-us")["next"]}, encoder=encoder())
    assert alone.recognise(segments(("next",), "en-us")[0]).phrase == "next"
    assert alone.recognise(segments(("thirty",), "en-us")[0]) == NOTHING


def test_closed_twice_it_says_so():
    opened = OwnVoiceRecogniser(takes("en-us"))
    opened.close()
    opened.close()
    with pytest.raises(ListeningError, match="ended"):
        opened.recognise(segments(("next",), "en-us")[0])


def test_a_network_that_fails_is_told_of():
    """Here by an input that it does not take."""
    opened = Encoder()
    opened._network = OnnxSession(model_files.model_folder() / model_files.DECODER, "english")
    with pytest.raises(ListeningError, match="use the keys"):
        opened.states(sounds.say("next row"))


def test_without_takes_it_tells_how_to_teach():
    with pytest.raises(ListeningError, match="caller teach"):
        OwnVoiceRecogniser({})


def test_two_takes_are_too_few():
    with pytest.raises(ListeningError, match=r"repeat has 2 takes.*needs 3"):
        OwnVoiceRecogniser(
            {**takes("en-us"), "repeat": takes("en-us")["repeat"][:2]}, encoder=encoder()
        )


def test_a_take_in_which_nothing_is_heard_does_not_count():
    silent = [*takes("en-us")["repeat"][:2], np.zeros(16_000, dtype=np.int16)]
    with pytest.raises(ListeningError, match="repeat has 2 takes"):
        OwnVoiceRecogniser({"repeat": silent})


def test_a_missing_library_is_named(monkeypatch):
    monkeypatch.setitem(sys.modules, "onnxruntime", None)
    with pytest.raises(ListeningError, match=r"it: row-caller add english$"):
        OwnVoiceRecogniser(takes("en-us"))


def test_a_missing_model_is_named(monkeypatch):
    monkeypatch.setattr(model_files, "find_spec", lambda _: None)
    with pytest.raises(ListeningError, match=r"English model"):
        SpeechStates()


def test_a_damaged_model_is_told_of(tmp_path):
    (tmp_path / model_files.ENCODER).write_bytes(b"not a network")
    with pytest.raises(ListeningError, match="cannot be used"):
        Encoder(tmp_path)


def test_frames_have_length_one_and_follow_the_sound():
    """One each 384 samples: the encoder's three strides, 64 x 3 x 2 (seen in the graph)."""
    word = sounds.say("repeat that", "en-us", 100)[:20_000]
    frames = SpeechStates(encoder()).frames(word)
    assert frames.shape[1] == WIDTH
    assert abs(len(frames) - len(word) / STEP_SAMPLES) <= 3
    assert np.allclose(np.linalg.norm(frames, axis=1), 1, atol=1e-5)


@pytest.mark.parametrize("samples", [0, 1, 511, 1_599])
def test_too_little_for_a_frame_is_none(samples):
    assert SpeechStates(encoder()).frames(np.ones(samples, np.int16)).shape == (0, WIDTH)


@pytest.mark.parametrize("voice", ["en-us", "ko+m3"])
def test_what_was_taught_dry_and_near_is_heard_in_a_room(voice):
    """A living room by image sources, T60 0.6 s, 1 m; no such room is in the lesson."""
    pytest.importorskip("pyroomacoustics")
    heard = [
        recogniser_of(voice).recognise(rooms.in_room(segment, 0.6)[: len(segment) + 1_600]).phrase
        for segment in segments(SPEAKERS[voice], voice)
    ]
    assert sum(map(eq, heard, SPEAKERS[voice])) >= 3
    assert set(heard) <= {*SPEAKERS[voice], None}


def test_the_outlook_is_better_in_quiet_than_in_noise_and_falls_with_takes_that_differ():
    good = outlook({name: takes("en-us")[name] for name in ("where am i", "go back")})
    assert good.takes == 6
    assert good.quiet >= 5
    assert max(good.noise, good.room) <= good.takes
    mixed = [segments((word,), "en-us")[0] for word in ("thank you", "put the kettle on", "coffee")]
    bad = outlook({"where am i": takes("en-us")["where am i"], "go back": mixed})
    assert bad.quiet <= 3


def test_likeness_tells_the_same_words_from_others():
    likeness = OwnVoiceLikeness(encoder())
    [one, *_], [other, *_] = takes("en-us")["next"], takes("en-us")["repeat"]
    assert likeness.distance(one, one) == pytest.approx(0, abs=1e-6)
    assert likeness.distance(one, takes("en-us")["next"][1]) <= 1
    assert likeness.distance(one, other) > 1
    assert likeness.distance(one, other) == pytest.approx(likeness.distance(other, one))
    assert likeness.distance(one, np.zeros(16_000, dtype=np.int16)) == float("inf")
