"""A recogniser in a process of its own, which crashes, hangs and throws."""

import contextlib
import time
from functools import partial

import numpy as np
import psutil
import pytest
from broken_recognisers import SEGMENT, Echo, crash, hang, miss, only_the_second_time, raise_

from caller.calling.events import Trouble
from caller.calling.listening.loading import AGAIN, MOST_FAILURES, READY, LoadingRecogniser
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.process import RecogniserProcess
from caller.errors import ListeningError, RecogniserLostError

WORKER = "caller.devices.recognisers.worker"


def order(number):
    return np.full(16_000, number, dtype=np.int16)


@pytest.fixture
def echo():
    opened = RecogniserProcess(Echo, answers_s=20)
    yield opened
    opened.close()


def workers() -> list[psutil.Process]:
    """The processes of recognisers; this one may have others, of servers that the tests use."""
    found = []
    for child in psutil.Process().children(recursive=True):
        with contextlib.suppress(psutil.NoSuchProcess):
            if child.status() != psutil.STATUS_ZOMBIE and WORKER in " ".join(child.cmdline()):
                found.append(child)
    return found


def test_it_answers_as_the_recogniser_does_from_another_process(echo):
    assert echo.name == "echo"
    verdict = echo.recognise(SEGMENT)
    assert verdict.phrase == "next row"
    assert psutil.Process(int(verdict.rival)).ppid() == psutil.Process().pid
    assert echo.recognise(order(6)) == NOTHING, "what a library prints is no answer"
    with pytest.raises(ListeningError, match=r"engine has failed\. Start again"):
        echo.recognise(order(5))
    with pytest.raises(RecogniserLostError, match="ZeroDivisionError"):
        echo.recognise(order(2))
    assert echo.recognise(SEGMENT) == verdict, "it has not ended by that"
    echo.close()
    echo.close()
    assert not psutil.pid_exists(int(verdict.rival))
    with pytest.raises(ListeningError, match="ended"):
        echo.recognise(SEGMENT)


def test_a_crash_is_an_error_and_no_more(echo):
    with pytest.raises(RecogniserLostError, match="has ended"):
        echo.recognise(order(3))


def test_one_that_hangs_is_ended():
    hanging = RecogniserProcess(Echo, answers_s=0.5)
    with pytest.raises(RecogniserLostError, match="does not answer"):
        hanging.recognise(order(4))
    assert not workers()


@pytest.mark.parametrize(
    ("opens", "told"),
    [
        (crash, "has ended"),
        (raise_, "ZeroDivisionError"),
        (miss, "no model here; add one"),
        (hang, "does not answer"),
    ],
)
def test_what_goes_wrong_while_it_opens(opens, told):
    with pytest.raises(ListeningError, match=told):
        RecogniserProcess(opens, opens_s=0.5 if opens is hang else 30)
    assert not workers()


def test_watched_it_is_told_once_started_again_and_given_up_in_the_end():
    told = []
    watched = LoadingRecogniser("echo", partial(RecogniserProcess, Echo), told.append, 600.0)
    assert watched.wait(30)
    first = watched.recognise(SEGMENT)
    for failure in (3, 2):
        assert watched.recognise(order(failure)) == NOTHING
        assert watched.wait(30)
        assert watched.recognise(SEGMENT).rival != first.rival
    assert told == [AGAIN, READY, READY]
    with pytest.raises(RecogniserLostError):
        watched.recognise(order(3))
    assert MOST_FAILURES == 3
    assert watched.recognise(SEGMENT) == NOTHING
    watched.close()
    assert told == [AGAIN, READY, READY]
    until = time.monotonic() + 20
    while workers():
        assert time.monotonic() < until


def test_one_that_crashes_while_it_opens_is_tried_once_more(tmp_path):
    told = []
    open_ = partial(RecogniserProcess, partial(only_the_second_time, str(tmp_path / "flag")))
    watched = LoadingRecogniser("echo", open_, told.append, 600.0)
    assert watched.wait(30)
    assert watched.recognise(SEGMENT).phrase == Verdict("next row").phrase
    watched.close()
    assert told == []
    watched = LoadingRecogniser("echo", partial(RecogniserProcess, crash), told.append, 600.0)
    assert watched.wait(30)
    watched.close()
    [trouble] = told
    assert isinstance(trouble, Trouble)
    assert "Keys and pedals work" in trouble.sentence
