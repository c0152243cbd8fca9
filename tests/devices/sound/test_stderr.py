"""Standard error, silenced on several threads, speaks again when the last of them has ended."""

import os
import threading

import pytest

from caller.devices.sound.stderr import stderr_silenced


def write(text):
    os.write(2, text.encode())


def test_what_is_written_within_is_dropped(capfd):
    write("before ")
    with stderr_silenced():
        write("within ")
    write("after")
    assert capfd.readouterr().err == "before after"


def test_one_within_another(capfd):
    with stderr_silenced():
        with stderr_silenced():
            write("a")
        write("b")
    write("c")
    assert capfd.readouterr().err == "c"


def test_two_threads_that_overlap_leave_it_as_it_was(capfd):
    """The one that began first ends first; its end must not be undone by the other's."""
    begun, first_ended = threading.Event(), threading.Event()

    def second():
        with stderr_silenced():
            begun.set()
            assert first_ended.wait(10)
            write("second ")

    thread = threading.Thread(target=second)
    with stderr_silenced():
        thread.start()
        assert begun.wait(10)
    first_ended.set()
    thread.join(10)
    write("afterwards")
    assert capfd.readouterr().err == "afterwards"


def test_an_error_within_ends_the_silence(capfd):
    with pytest.raises(ZeroDivisionError), stderr_silenced():
        write(str(1 / 0))
    write("afterwards")
    assert capfd.readouterr().err == "afterwards"
