"""Recognisers that fail in every way, to be opened in a process of their own."""

import os
import sys
import time
from functools import partial

import numpy as np

from caller.calling.ports import NOTHING, Verdict
from caller.errors import ListeningError

SEGMENT = np.ones(16_000, dtype=np.int16)


class Echo:
    """Hears "next row" in everything, but for what its first sample orders."""

    name = "echo"

    def recognise(self, segment):
        order = segment[0] if len(segment) else 0
        if order == 2:
            raise ZeroDivisionError
        if order == 3:
            os._exit(139)
        if order == 4:
            time.sleep(600)
        if order == 5:
            raise ListeningError("The engine has failed.", "Start again.")
        if order == 6:
            sys.stdout.write("a library's own words")
            os.write(1, b"and more")
            return NOTHING
        return Verdict("next row", rival=str(os.getpid()))

    def close(self):
        pass


def crash():
    os._exit(139)


def raise_():
    raise ZeroDivisionError


def miss():
    raise ListeningError("There is no model here", "add one.")


hang = partial(time.sleep, 600)


def only_the_second_time(flag):
    """Ends its process the first time that it is opened."""
    if not os.path.exists(flag):  # noqa: PTH110 (a worker's stand-in, kept plain)
        open(flag, "w").close()  # noqa: PTH123
        os._exit(139)
    return Echo()
