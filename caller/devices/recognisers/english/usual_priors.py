"""The priors of the program's own phrases (see `bounds`), so that a session need not find them
first: that takes longer than loading the model.

`measured_priors` of all of them at once, on x86-64; test_english_bounds.py compares. Other machines
and other phrases beside one change a prior by a few tenths.
"""

from collections.abc import Mapping

USUAL_PRIORS: Mapping[str, float] = {
    "next row": -20.36,
    "repeat that": -17.31,
    "go back": -16.06,
    "previous row": -24.06,
    "where am i": -16.51,
    "leave for today": -22.39,
    "go slower": -21.57,
    "go faster": -17.01,
    "time remaining": -20.99,
    "what hangs": -24.37,
    "what changes": -18.26,
    "how much yarn": -27.46,
    "bobbin is filled": -38.58,
    "how to finish": -18.20,
    "mark this row": -27.07,
    "pause listening": -22.75,
    "carry on listening": -33.76,
    "yes please": -13.79,
    "help me please": -18.00,
}
