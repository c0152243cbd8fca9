"""The queue of a session, which signals reach too."""

import queue
import signal
import sys
import threading

import pytest

from caller.calling.commands import Command
from caller.calling.events import next_event


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
