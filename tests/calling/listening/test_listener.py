"""From sound to commands, with the real detector and recogniser and with scripted ones.

The speech is espeak-ng's; the sound of the loudspeaker's own calls must set nothing off.
"""

from pathlib import Path

import numpy as np
import pytest
import soundfile
import sounds
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.commands import PHRASES, Command, from_phrase
from caller.calling.listening.blocks import BLOCK_SAMPLES, RATE
from caller.calling.listening.endpointing import EndpointSettings
from caller.calling.listening.listener import (
    HeardPhrase,
    Listener,
    ListenerSettings,
    hear_recording,
)
from caller.calling.ports import Verdict
from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser
from caller.devices.recognisers.silero_vad import SileroDetector
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import read_sound
from caller.errors import ListeningError

VOICE = "en-us"


class LoudIsSpeech:
    """A detector for drawn sound: loud is speech. Counts how often it was reset."""

    def __init__(self):
        self.resets = 0

    def probability(self, samples):
        return 0.9 if np.abs(samples.astype(int)).mean() > 100 else 0.0

    def reset(self):
        self.resets += 1


class Scripted:
    """Answers each segment with the next phrase of a script."""

    name = "scripted"

    def __init__(self, *answers):
        self.answers, self.segments, self.closed = list(answers), [], 0

    def recognise(self, segment):
        self.segments.append(segment)
        answer = self.answers.pop(0) if self.answers else "next row"
        if isinstance(answer, Exception):
            raise answer
        return answer if isinstance(answer, Verdict) else Verdict(answer)

    def close(self):
        self.closed += 1


def knocks(*starts_s, length_s=0.5, total_s=12.0):
    """Loud for half a second at each of these times."""
    sound = np.zeros(round(total_s * RATE), dtype=np.int16)
    for start_s in starts_s:
        sound[round(start_s * RATE) :][: round(length_s * RATE)] = 1000
    return sound


def fresh(*answers):
    return Listener(LoudIsSpeech(), Scripted(*answers))


def fed(listener, sound, sizes):
    heard, at = [], 0
    for size in sizes:
        heard += listener.feed(sound[at : at + size])
        at += size
    return heard + listener.feed(sound[at:])


@settings(deadline=None, max_examples=50)
@given(st.lists(st.integers(0, 5000), max_size=40))
def test_how_the_sound_is_portioned_makes_no_difference(sizes):
    sound = knocks(1.0, 3.3, 7.77)
    heard = fed(fresh("next row", None, "go back"), sound, sizes)
    assert [(phrase.command, phrase.engine) for phrase in heard] == [
        (Command.NEXT, "scripted"),
        (Command.BACK, "scripted"),
    ]
    assert [phrase.at_s for phrase in heard] == pytest.approx([1.0, 7.77], abs=0.033)


@settings(deadline=None, max_examples=50)
@given(st.integers(0, 3000), st.lists(st.integers(0, 3000), min_size=1, max_size=30))
def test_the_clock_goes_on_while_deaf(before, deaf):
    listener = fresh()
    listener.feed(np.zeros(before, dtype=np.int16))
    for samples in deaf:
        listener.deafen(samples)
    [heard] = listener.feed(knocks(2.0))
    late = before + sum(deaf)
    assert heard.at_s == pytest.approx(2.0 + late / RATE, abs=0.033)


def test_a_word_that_was_begun_is_forgotten_when_it_goes_deaf():
    detector, recogniser = LoudIsSpeech(), Scripted()
    listener, sound = Listener(detector, recogniser), knocks(1.0)
    listener.feed(sound[: round(1.4 * RATE)])
    listener.deafen(512)
    assert listener.feed(np.zeros(RATE * 3, dtype=np.int16)) == []
    assert recogniser.segments == []
    assert detector.resets == 1


def test_what_is_no_command_is_no_command():
    assert fresh(None).feed(knocks(1.0)) == []
    assert fresh("not in the table").feed(knocks(1.0)) == []


def test_a_failing_recogniser_is_said_and_the_next_word_is_heard_again():
    listener = fresh(ListeningError("The recogniser failed."), "repeat that")
    with pytest.raises(ListeningError, match="failed"):
        listener.feed(knocks(1.0))
    assert [phrase.command for phrase in listener.feed(knocks(1.0))] == [Command.REPEAT]


def test_a_recording_may_end_with_its_last_word():
    sound = knocks(1.0, total_s=1.5)
    assert [phrase.command for phrase in hear_recording(sound, fresh())] == [Command.NEXT]


@pytest.mark.parametrize("samples", [0, 1, BLOCK_SAMPLES - 1])
def test_a_recording_without_a_word_holds_no_command(samples):
    assert hear_recording(np.zeros(samples, dtype=np.int16), fresh()) == []


def test_closing_closes_the_recogniser():
    recogniser = Scripted()
    listener = Listener(LoudIsSpeech(), recogniser)
    listener.close()
    listener.close()
    assert recogniser.closed == 2


# With the real detector and PocketSphinx.


# PocketSphinx does not know "bobbin is filled" from espeak's mouth; the English model does.
HEARD = tuple(phrase for phrase in PHRASES if phrase != "bobbin is filled")


@pytest.fixture(scope="module")
def recogniser():
    return PocketSphinxRecogniser(PHRASES)


@pytest.fixture(scope="module")
def phrases():
    return sounds.spoken(HEARD, VOICE)


def commands(sound, recogniser):
    listener = Listener(SileroDetector(), recogniser)
    return [(heard.phrase, heard.at_s) for heard in hear_recording(sound, listener)]


def test_every_phrase_is_heard_where_it_was_said(recogniser, phrases):
    heard = hear_recording(sounds.apart(phrases), Listener(SileroDetector(), recogniser))
    assert [phrase.phrase for phrase in heard] == list(HEARD)
    assert [phrase.command for phrase in heard] == [from_phrase(phrase) for phrase in HEARD]
    begins_s = np.cumsum([0.8] + [len(word) / RATE + 0.8 for word in phrases])[:-1]
    assert [phrase.at_s for phrase in heard] == pytest.approx(list(begins_s), abs=0.15)


@pytest.mark.parametrize(("rate", "channels"), [(8_000, 1), (16_000, 2), (44_100, 1), (48_000, 2)])
def test_the_kind_of_file_makes_no_difference(recogniser, phrases, tmp_path, rate, channels):
    path = Path(tmp_path, "said.wav")
    wanted = HEARD[:6]
    sound = resampled(sounds.apart(phrases[: len(wanted)]), RATE, rate)
    soundfile.write(path, np.repeat(sound[:, None], channels, axis=1), rate)
    read = read_sound(path)
    heard = commands(resampled(read.samples, read.rate, RATE), recogniser)
    said = [phrase for phrase, _ in heard]
    if rate == 8_000:  # half the sound is missing: some may not be heard, none for another
        assert len(said) >= len(wanted) - 2
        assert said == [phrase for phrase in wanted if phrase in said]
    else:
        assert said == list(wanted)


def test_a_phrase_inside_running_talk_is_no_command(recogniser):
    talk = sounds.say(
        "I told her that you only ever say next row when the yarns are laid and then we went on"
    )
    assert commands(sounds.apart([talk]), recogniser) == []


def test_deaf_while_the_loudspeaker_speaks(recogniser, phrases):
    """Each phrase is said twice: once while deaf, once a little after. Cut by itself, one or the
    other is heard nearly only."""
    listener, heard = Listener(SileroDetector(), recogniser), []
    wanted = HEARD[:9]
    for phrase in phrases[: len(wanted)]:
        sound = sounds.apart([phrase])
        for at in range(0, len(sound), 400):
            listener.deafen(len(sound[at : at + 400]))
        heard += listener.feed(sound)
    said = [one.phrase for one in heard if isinstance(one, HeardPhrase)]
    assert len(heard) == len(wanted)
    assert len(said) >= len(wanted) - 2
    assert said == [phrase for phrase in wanted if phrase in said]


def test_the_words_of_a_call_set_nothing_off(recogniser):
    """Clause by clause with quiet between, as half-duplex gating would fail to catch it."""
    said = sounds.spoken(
        (
            "Row one hundred and thirty-one, to the right.",
            "dark blue, to left twenty.",
            "red, to right forty-five.",
            "white, to left two.",
            "light grey, to right eleven.",
            "Remember: move the weights up.",
            "This is row twelve of ninety, to the left.",
            "This is the first row; nothing comes before it.",
            "Your place is kept.",
        ),
        VOICE,
        160,
    )
    assert commands(sounds.apart(said), recogniser) == []


EARLY = ListenerSettings(EndpointSettings(early_s=0.04))


def test_what_is_sure_is_heard_before_the_pause_is_over():
    def when(verdict):
        listener = Listener(LoudIsSpeech(), Scripted(verdict), EARLY)
        for block in range(100):
            at = block * BLOCK_SAMPLES
            if listener.feed(knocks(1.0)[at : at + BLOCK_SAMPLES]):
                return at / RATE
        raise AssertionError("not heard")

    assert when(Verdict("next row", sure=True)) == pytest.approx(1.5 + 0.1, abs=0.05)
    assert when(Verdict("next row")) == pytest.approx(1.5 + 0.29, abs=0.05)


def test_a_pause_is_judged_once_and_talk_that_goes_on_is_judged_anew():
    recogniser = Scripted(None, Verdict("go back", sure=True))
    listener = Listener(LoudIsSpeech(), recogniser, EARLY)
    heard = listener.feed(knocks(1.0, 1.66))
    assert [one.command for one in heard] == [Command.BACK]
    assert len(recogniser.segments) == 2
    assert len(recogniser.segments[1]) > len(recogniser.segments[0]) + 0.5 * RATE
    assert recogniser.answers == []


@pytest.mark.parametrize("first", [Verdict("go back"), Verdict(None, near_miss=True)])
def test_what_may_be_a_command_is_judged_again_after_a_tenth_of_a_second(first):
    recogniser = Scripted(first, Verdict("next row", sure=True), first, None, None)
    found = Listener(LoudIsSpeech(), recogniser, EARLY).feed(knocks(1.0, 3.0, 5.0))
    assert [one.command for one in found] == [Command.NEXT]
    early, settled, *_, last = map(len, recogniser.segments)
    assert settled - early == 2 * BLOCK_SAMPLES
    assert last == early, "what was nothing is not judged again"


def test_what_goes_on_at_once_is_no_command_however_sure():
    """0.1 s must be quiet behind a word before it is obeyed."""
    beginning = Verdict("go back", sure=True)
    recogniser = Scripted(beginning, None)
    assert Listener(LoudIsSpeech(), recogniser, EARLY).feed(knocks(1.0, 1.56)) == []
    assert recogniser.answers == []


def test_two_commands_in_a_row():
    sure = Verdict("next row", sure=True)
    listener = Listener(LoudIsSpeech(), Scripted(sure, sure), EARLY)
    assert [one.command for one in listener.feed(knocks(1.0, 1.66))] == [Command.NEXT] * 2


ALONE = ListenerSettings(alone_s=1.0)


def heard_alone(sound, *answers):
    """The commands, with None for what was nearly one."""
    listener = Listener(LoudIsSpeech(), Scripted(*answers), ALONE)
    return [getattr(one, "command", None) for one in listener.feed(sound)]


def test_a_command_is_said_by_itself():
    """Not within a second of the end of talk, be that short or too long to be a command."""
    assert heard_alone(knocks(1.0, 2.0), None, "next row") == [None]
    assert heard_alone(knocks(1.0, 2.7), None, "next row") == [Command.NEXT]
    running = knocks(1.0, 1.5, 2.0, 2.5, 3.5)
    assert heard_alone(running, "next row") == [None]
    assert heard_alone(running[round(1.7 * RATE) :], None, "next row") == [None]
    cough = np.maximum(knocks(1.0, length_s=0.2), knocks(2.0))
    assert heard_alone(cough, "next row") == [Command.NEXT]
    assert [one.phrase for one in fresh(None, "next row").feed(knocks(1.0, 2.0))] == ["next row"]


def test_commands_in_a_row_are_not_amid_talk():
    """Nor is the one that is said again because the one before was not quite heard."""
    nearly = Verdict(None, near_miss=True)
    assert heard_alone(knocks(1.0, 2.0), "go back", "go back") == [Command.BACK] * 2
    assert heard_alone(knocks(1.0, 2.0), nearly, "go back") == [None, Command.BACK]
    said = heard_alone(knocks(1.0, 2.0, 3.0), None, "go back", "go back")
    assert said == [None, Command.BACK]


def test_the_callers_own_speech_is_not_the_talk_before():
    listener = Listener(LoudIsSpeech(), Scripted(None, "next row"), ALONE)
    sound = knocks(1.0, 2.5)
    assert listener.feed(sound[: 2 * RATE]) == []
    listener.deafen(round(0.3 * RATE))
    assert [one.command for one in listener.feed(sound[round(2.3 * RATE) :])] == [Command.NEXT]


def test_a_word_begun_while_deaf_is_whole_when_it_goes_on():
    recogniser = Scripted()
    listener, sound = Listener(LoudIsSpeech(), recogniser), knocks(1.0)
    listener.deafen(round(0.8 * RATE))
    listener.overhear(sound[round(0.8 * RATE) : round(1.1 * RATE)])
    assert listener.feed(sound[round(1.1 * RATE) :])
    [segment] = recogniser.segments
    assert np.count_nonzero(segment) > 0.45 * RATE
    listener.overhear(sound)
    assert len(recogniser.segments) == 1, "a word that is over while deaf is not heard"
