"""The tidyings that were tried for a plan, in words and as data."""

from collections.abc import Sequence
from typing import Any

from caller.calling.words.numbers import counted
from caller.pattern.tidy.advice import LEAST_LIKENESS, Advice
from caller.pattern.tidy.lines import WHOLE_LINE
from caller.pattern.tidy.trial import Trial
from caller.sheets.tidy_report import (
    figures,
    options,
    percent,
    place,
    rise,
    shapes_place,
    to_picture,
)


def advised(advice: Sequence[Advice], figure: str) -> str:
    """What follows on a warning that a bound on `figure` may help against; just "." if untried."""
    for one in advice:
        if getattr(one.wish, figure) not in (None, 1):
            return _advised(one)
    return "."


def tried_as_json(advice: Advice) -> dict[str, Any]:
    """The wish, whether it is advised, and the figures of what was tried; null where it failed."""
    trial = advice.trial
    return {
        "wish": options(advice.wish),
        "advised": advice.stands,
        "tried": None if trial is None else figures(trial),
    }


def _advised(advice: Advice) -> str:
    trial = advice.trial
    if trial is None:
        return f". row-caller tidy {options(advice.wish)} was tried, and it cannot be done."
    if not advice.stands:
        return (
            f". row-caller tidy {options(trial.wish)} was tried and is not advised: "
            f"{_why_not(trial)}."
        )
    after = trial.result.report.after
    return (
        f"; row-caller tidy {options(trial.wish)} was tried and is advised: "
        f"{counted(trial.stitches_changed, 'stitch changes', 'stitches change')}, "
        f"likeness {percent(trial.likeness)}"
        f"{to_picture(trial)}, {after.supplies} ends in all, {after.at_once} at once, and no whole "
        "thin line or letter goes."
    )


def _why_not(trial: Trial) -> str:
    gone = [lines for lines in trial.lost if lines.stitches >= WHOLE_LINE]
    if gone:
        largest = max(gone, key=lambda lines: lines.stitches)
        more = len(trial.lost) - 1
        others = f" and in {counted(more, 'more place')}" if more else ""
        return f"thin lines or gaps would go, {place(largest)}{others}"
    if trial.shapes:
        most = max(trial.shapes, key=lambda shapes: shapes.places)
        return shapes_place(most)
    if any(worse.figure != "longest_carry" for worse in trial.worse):
        return f"it makes worse {', and '.join(map(rise, trial.worse))}"
    if trial.likeness >= LEAST_LIKENESS:
        return (
            "it would look much less like its picture than the untouched chart does"
            f"{to_picture(trial)}"
        )
    return (
        f"its likeness is {percent(trial.likeness)}, and below {LEAST_LIKENESS * 100:.0f} letters "
        "and faces suffer"
    )
