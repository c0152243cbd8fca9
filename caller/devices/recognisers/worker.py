"""Runs a recogniser in a process of its own, which may hang or crash without harm.

`process.py` starts it. It is given what opens the recogniser and then segment after segment, and
answers each with what came of it. It ends when its input ends, even while a library hangs.
"""

import os
import pickle
import queue
import sys
import threading
from typing import IO, Any

from caller.calling.listening.loading import failed
from caller.devices.child import answers_apart
from caller.devices.memory import give_back
from caller.errors import CallerError


def _requests() -> "queue.SimpleQueue[Any]":
    requests: queue.SimpleQueue[Any] = queue.SimpleQueue()

    def read() -> None:
        try:
            while True:
                requests.put(pickle.load(sys.stdin.buffer))
        except (EOFError, OSError, pickle.UnpicklingError):
            os._exit(0)

    threading.Thread(target=read, name="requests", daemon=True).start()
    return requests


def _answer(answers: IO[bytes], answer: Any) -> None:
    pickle.dump(answer, answers)
    answers.flush()


def main() -> None:
    answers, requests = answers_apart(), _requests()
    try:
        recogniser = requests.get()()
    except CallerError as error:
        _answer(answers, error)
        return
    except Exception as error:  # whatever a library raises is the session's to tell
        _answer(answers, failed(error))
        return
    give_back()
    _answer(answers, recogniser.name)
    while True:
        try:
            _answer(answers, recogniser.recognise(requests.get()))
        except CallerError as error:
            _answer(answers, error)
        except Exception as error:
            _answer(answers, failed(error))
