"""The ears with an echo remover: open while the loudspeaker speaks, and the call made softer."""

import numpy as np

from caller.calling.commands import Command
from caller.calling.events import Events, NotQuiteHeard, Spoken, Trouble
from caller.calling.listening.listener import HeardPhrase, Listener, NearlyHeard, listen
from caller.calling.ports import Verdict
from caller.devices.sound.silent import SilentLoudspeaker
from caller.errors import ListeningError

BLOCK = 512


class Microphone:
    def __init__(self, *blocks):
        self._blocks = blocks

    def blocks(self):
        yield from self._blocks

    def close(self):
        pass


class Speaking(SilentLoudspeaker):
    def quiet_for(self):
        return 0.0


class Minus:
    """Takes away half of what is heard, a block late, and counts what it is asked for."""

    def __init__(self, error=None):
        self.softened, self._late, self._error = 0, np.zeros(0, np.int16), error

    def clean(self, heard):
        if self._error:
            raise self._error
        late, self._late = self._late, heard // 2
        return late

    def soften(self):
        self.softened += 1

    def close(self):
        pass


class LoudIsSpeech:
    def probability(self, samples):
        return 0.9 if np.abs(samples.astype(int)).mean() > 100 else 0.0

    def reset(self):
        pass


class Always:
    name = "scripted"

    def __init__(self):
        self.segments = []

    def recognise(self, segment):
        self.segments.append(segment)
        return Verdict("next row")

    def close(self):
        pass


def blocks(*loudness):
    return [np.full(BLOCK, level, np.int16) for level in loudness]


def heard(*loudness, echo, listener):
    events = Events()
    listen(Microphone(*blocks(*loudness)), listener, Speaking(), events, echo)
    return [events.get_nowait() for _ in range(events.qsize())]


def test_what_is_left_is_heard_while_the_loudspeaker_speaks():
    recogniser, echo = Always(), Minus()
    word = [0] * 10 + [1000] * 16 + [0] * 12
    found = heard(*word, echo=echo, listener=Listener(LoudIsSpeech(), recogniser))
    assert found == [Spoken(Command.NEXT)]
    assert recogniser.segments[0].max() == 500, "the cut is of what was cleaned"


def test_the_call_is_softer_from_a_words_beginning_to_its_end_and_no_longer():
    echo = Minus()
    heard(*[0] * 10, echo=echo, listener=Listener(LoudIsSpeech(), Always()))
    assert echo.softened == 0
    heard(*[1000] * 16, *[0] * 30, echo=echo, listener=Listener(LoudIsSpeech(), Always()))
    assert 16 <= echo.softened <= 16 + 10, "the word and the quiet that ends it"


def test_talk_that_runs_on_is_no_command_and_leaves_the_call_alone():
    echo = Minus()
    heard(*[1000] * 400, echo=echo, listener=Listener(LoudIsSpeech(), Always()))
    assert echo.softened < 60


def test_without_a_remover_the_same_word_is_not_heard():
    word = [0] * 10 + [1000] * 16 + [0] * 12
    assert heard(*word, echo=None, listener=Listener(LoudIsSpeech(), Always())) == []


def test_what_was_nearly_heard_is_told():
    class Nearly:
        in_word = False

        def feed(self, _samples):
            return [NearlyHeard(0.0), HeardPhrase(0.0, "go back", Command.BACK, "scripted")]

    assert heard(0, echo=Minus(), listener=Nearly()) == [NotQuiteHeard(), Spoken(Command.BACK)]


def test_a_remover_that_has_ended_is_trouble():
    echo = Minus(ListeningError("Listening has ended."))
    assert heard(0, 0, echo=echo, listener=Listener(LoudIsSpeech(), Always())) == [
        Trouble(ListeningError("Listening has ended."))
    ]
