"""A second session on one pattern: it looks on, and takes over when the first one ends."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from caller.calling.events import Events, Moved, News
from caller.calling.place import Place
from caller.devices.storage.journal import FileJournal

LOOKS_ON = "Another session calls this pattern. This one looks on, and calls what is called there."
TAKES_OVER = "The other session has ended. This one goes on by itself."
LOOK_S = 0.3
"""Seconds from one look at the place to the next."""


@contextmanager
def looking_on(journal: FileJournal, place: Place | None, events: Events) -> Iterator[None]:
    """Follow the other session's place on a thread, from this one on, until either session ends."""
    done = threading.Event()

    def follow(last: Place | None) -> None:
        while not done.wait(LOOK_S):
            now = journal.look()
            if now is not None and now != last:
                events.put(Moved(now))
                last = now
            if not journal.looks_on:
                events.put(News(TAKES_OVER))
                return

    thread = threading.Thread(target=follow, args=(place,), name="looking-on", daemon=True)
    thread.start()
    try:
        yield
    finally:
        done.set()
        thread.join(5)
