"""Ears that are opened beside the session."""

import threading
import time

import numpy as np
import pytest

from caller.calling.events import Events, Trouble
from caller.calling.listening.listener import listen
from caller.calling.listening.loading import (
    AGAIN,
    MOST_FAILURES,
    NOT_LOADED,
    READY,
    STILL_LOADING,
    LoadingRecogniser,
)
from caller.calling.ports import NOTHING, Verdict
from caller.errors import ListeningError

SEGMENT = np.ones(16_000, dtype=np.int16)


class Echo:
    """A recogniser that hears one phrase in everything."""

    name = "echo"
    closed = 0

    def recognise(self, _segment):
        return Verdict("next row")

    def close(self):
        self.closed += 1


class Slow:
    """Opens when it is let."""

    def __init__(self, result):
        self.result = result
        self.let = threading.Event()

    def __call__(self):
        assert self.let.wait(20)
        if isinstance(self.result, Exception):
            raise self.result
        return self.result


def until(true):
    end = time.monotonic() + 20
    while not true():
        assert time.monotonic() < end
        time.sleep(0.005)


@pytest.fixture
def told():
    return []


def loading(opening, told, slow_s=600.0):
    return LoadingRecogniser("echo", opening, told.append, slow_s)


def test_nothing_is_heard_before_it_is_open_and_all_after(told):
    opening = Slow(Echo())
    recogniser = loading(opening, told)
    assert recogniser.name == "echo"
    assert recogniser.recognise(SEGMENT) == NOTHING
    assert not recogniser.wait(0.01)
    opening.let.set()
    assert recogniser.wait(20)
    assert recogniser.recognise(SEGMENT) == Verdict("next row")
    recogniser.close()
    assert told == [], "what was soon open is not worth a word"


def test_a_long_loading_is_told_of_and_then_its_end(told):
    opening = Slow(Echo())
    recogniser = loading(opening, told, slow_s=0.01)
    until(lambda: told)
    assert told == [STILL_LOADING]
    opening.let.set()
    assert recogniser.wait(20)
    assert told == [STILL_LOADING, READY]
    recogniser.close()


def test_what_cannot_be_opened_is_told_once_and_hears_nothing(told):
    opening = Slow(ListeningError("The model is broken."))
    recogniser = loading(opening, told)
    opening.let.set()
    assert recogniser.wait(20)
    assert told == [Trouble(ListeningError("The model is broken."))]
    assert recogniser.recognise(SEGMENT) == NOTHING
    recogniser.close()
    recogniser.close()


def test_closed_while_loading_it_waits_lets_go_and_tells_nothing(told):
    engine = Echo()
    opening = Slow(engine)
    recogniser = loading(opening, told, slow_s=0.2)
    closing = threading.Thread(target=recogniser.close)
    closing.start()
    closing.join(0.05)
    assert closing.is_alive(), "a library at work is not left alone"
    opening.let.set()
    closing.join(20)
    assert engine.closed
    assert told == []
    with pytest.raises(ListeningError, match="ended"):
        recogniser.recognise(SEGMENT)


def test_a_failure_after_closing_is_told_to_nobody(told):
    opening = Slow(ListeningError("The model is broken."))
    recogniser = loading(opening, told)
    closing = threading.Thread(target=recogniser.close)
    closing.start()
    closing.join(0.05)
    opening.let.set()
    closing.join(20)
    assert told == []


def test_what_opens_too_late_for_closing_is_closed_all_the_same(told, monkeypatch):
    monkeypatch.setattr("caller.calling.listening.loading.LONGEST_CLOSE_S", 0.01)
    engine = Echo()
    opening = Slow(engine)
    recogniser = loading(opening, told)
    recogniser.close()
    assert not engine.closed
    opening.let.set()
    assert recogniser.wait(20)
    assert engine.closed == 1


def failing(error):
    class Failing(Echo):
        def recognise(self, _segment):
            raise error

    return Failing


def until_it_raises(recogniser):
    for _ in range(MOST_FAILURES - 1):
        assert recogniser.recognise(SEGMENT) == NOTHING
        assert recogniser.wait(20)
    recogniser.recognise(SEGMENT)


def test_an_engine_that_fails_again_and_again_says_so(told):
    recogniser = loading(failing(ListeningError("The recogniser failed.")), told)
    assert recogniser.wait(20)
    with pytest.raises(ListeningError, match="failed"):
        until_it_raises(recogniser)
    assert told == [AGAIN, READY, READY]
    recogniser.close()


def test_what_an_engine_raises_unexpectedly_is_said_as_trouble(told):
    recogniser = loading(failing(ZeroDivisionError()), told)
    assert recogniser.wait(20)
    with pytest.raises(ListeningError, match=r"failed: ZeroDivisionError\. Keys and pedals work"):
        until_it_raises(recogniser)
    recogniser.close()


def test_an_engine_that_hangs_while_hearing_is_not_waited_for(told):
    let = threading.Event()

    class Hanging(Echo):
        def recognise(self, _segment):
            let.wait(60)
            return NOTHING

    recogniser = LoadingRecogniser("echo", Hanging, told.append, hangs_s=0.05)
    assert recogniser.wait(20)
    with pytest.raises(ListeningError, match="does not answer any more"):
        until_it_raises(recogniser)
    let.set()
    recogniser.close()


def test_an_engine_that_never_opens_is_told_of_as_trouble(told):
    opening = Slow(Echo())
    recogniser = LoadingRecogniser("echo", opening, told.append, never_s=0.01)
    until(lambda: told)
    assert told == [NOT_LOADED]
    opening.let.set()
    assert recogniser.wait(20)
    assert told == [NOT_LOADED, READY], "what opens late all the same is said"
    recogniser.close()


def test_what_fails_around_the_engine_leaves_the_session_its_keys():
    class Broken:
        closed = False

        def blocks(self):
            raise RuntimeError("a slip of a library")

        def close(self):
            self.closed = True

    microphone, events = Broken(), Events()
    listen(microphone, None, None, events)
    trouble = events.get(timeout=1)
    assert isinstance(trouble, Trouble)
    assert "Keys and pedals work" in trouble.sentence
    assert microphone.closed
