"""Which of two opinions is obeyed; with stand-ins. The real ones are in tests/contracts."""

import numpy as np
import pytest

from caller.calling.commands import BY_NAME, WORDS
from caller.calling.ports import NOTHING, Verdict
from caller.devices.recognisers.beside_takes import BesideTakes, as_taught

NEAR = Verdict(None, near_miss=True)
ROW = Verdict("go to row 42", rival="go to row 52", close=True)
NEXT, BACK = Verdict("next row"), Verdict("go back")
SURE = Verdict("next row", sure=True)
TAUGHT = Verdict("next")


class Says:
    name = "stand-in"

    def __init__(self, verdict):
        self.verdict = verdict

    def recognise(self, _segment):
        return self.verdict

    def close(self):
        self.verdict = None


@pytest.mark.parametrize(
    ("phrases", "takes", "together"),
    [
        (NOTHING, NOTHING, NOTHING),
        (NEXT, NOTHING, NEXT),
        (SURE, NEAR, SURE),
        (NOTHING, TAUGHT, Verdict(as_taught("next"))),
        (NEAR, TAUGHT, Verdict(as_taught("next"))),
        (NEAR, NOTHING, NEAR),
        (NOTHING, NEAR, NEAR),
        (NEXT, TAUGHT, NEXT),
        (SURE, Verdict("back"), SURE),
        (BACK, TAUGHT, NEAR),
        (ROW, NOTHING, ROW),
        (ROW, TAUGHT, NEAR),
    ],
)
def test_either_is_obeyed_and_neither_where_they_differ(phrases, takes, together):
    words = {**WORDS, **{as_taught(name): BY_NAME[name] for name in ("next", "back")}}
    both = BesideTakes(Says(phrases), Says(takes), words)
    assert both.recognise(np.zeros(16_000, np.int16)) == together
    both.close()
