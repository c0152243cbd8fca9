"""The queue of a session, which signals reach too."""

import ctypes
import queue
import signal
import sys
import threading

import pytest

from caller.calling.commands import Command
from caller.calling.events import next_event
from caller.cli.streams import ended_properly


class EndedBySignalError(Exception):
    pass


def end(_number, _frame):
    raise EndedBySignalError


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals")
def test_a_signal_that_does_not_wake_the_wait_is_noticed_all_the_same():
    """As when it comes just before the wait: here it comes on another thread, so that the main
    one is not interrupted."""
    before = signal.signal(signal.SIGUSR1, end)
    try:
        timer = threading.Timer(
            0.2, lambda: signal.pthread_kill(threading.get_ident(), signal.SIGUSR1)
        )
        timer.start()
        with pytest.raises(EndedBySignalError):
            next_event(queue.SimpleQueue())
    finally:
        signal.signal(signal.SIGUSR1, before)
        timer.join()


def test_what_comes_is_given_and_a_wait_with_an_end_ends():
    events = queue.SimpleQueue()
    events.put(Command.NEXT)
    assert next_event(events) is Command.NEXT
    with pytest.raises(queue.Empty):
        next_event(events, 0.01)


@pytest.mark.skipif(sys.platform == "win32", reason="POSIX signals")
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("timeout_s", [None, 5.0])
def test_an_end_that_was_dropped_in_a_callback_comes_with_the_next_wait(timeout_s):
    @ctypes.CFUNCTYPE(None)
    def callback():
        signal.raise_signal(signal.SIGTERM)
        threading.Event().wait(0.01)

    endings = (signal.SIGTERM, signal.SIGHUP)
    before = {number: signal.getsignal(number) for number in endings}
    try:
        with ended_properly():
            callback()  # Python drops what is raised here
            with pytest.raises(SystemExit) as ended:
                next_event(queue.SimpleQueue(), timeout_s)
            assert ended.value.code == 128 + signal.SIGTERM
    finally:
        for number, what in before.items():  # after the first one they are ignored
            signal.signal(number, what)
    events = queue.SimpleQueue()
    events.put(Command.NEXT)
    assert next_event(events) is Command.NEXT, "the next session is not ended"
