"""The tidyings that a plan advises: each was tried, and is advised only if it does no harm."""

from collections.abc import Callable
from dataclasses import dataclass

from caller.errors import BadInputError
from caller.pattern.pattern import Pattern
from caller.pattern.picture.again import Original
from caller.pattern.tidy.lines import WHOLE_LINE
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.tidying import Progress
from caller.pattern.tidy.trial import Trial, alike_to_picture, remedied, tried
from caller.pattern.workload import crowded, summary

MANY_SUPPLIES = 12
"""More supplies than this in one row are hard to keep apart (common practice)."""
LEAST_LIKENESS = 0.9
"""Below this likeness a tidying is not advised: on drawings of lettering, letters begin to fill."""
_ALLOWED = "longest_carry"


@dataclass(frozen=True, eq=False)
class Advice:
    """What was tried for `wish`: `trial` is the best way found, None where there is none."""

    wish: TidySettings
    trial: Trial | None

    @property
    def stands(self) -> bool:
        """Whether the plan would stand behind it: it looks alike, and nothing is worse or gone.

        Letters must not run together, nor their openings close. A few stitches of a line, as where
        two lines meet, may go, and a carry may be longer, as far
        as the pattern allows it. Where the picture can be had, the chart must look nearly as alike
        to it as the untouched one, so that several tidyings do not add up.
        """
        trial = self.trial
        return (
            trial is not None
            and all(lines.stitches < WHOLE_LINE for lines in trial.lost)
            and not trial.shapes
            and all(worse.figure == _ALLOWED for worse in trial.worse)
            and trial.likeness >= LEAST_LIKENESS
            and not far_from_picture(trial)
        )


def far_from_picture(trial: Trial) -> bool:
    """Whether the chart looks much less like its picture than the untouched one does."""
    if trial.original is None or trial.likeness_to_picture is None:
        return False
    untouched = alike_to_picture(trial.pattern, trial.original, trial.original.chart)
    return trial.likeness_to_picture[1] < LEAST_LIKENESS * untouched


def wishes(pattern: Pattern) -> tuple[TidySettings, ...]:
    """What a knitter might wish of this pattern."""
    plan = pattern.supply_plan
    found: list[TidySettings] = []
    if summary(plan).single_stitches:
        found.append(TidySettings(shortest_run=2))
    if crowded(plan, MANY_SUPPLIES):
        found.append(TidySettings(at_once=MANY_SUPPLIES))
    return tuple(found)


def advise(
    pattern: Pattern, progress: Progress | None = None, original: Original | None = None
) -> tuple[Advice, ...]:
    """Try every wish, and where it makes another figure worse, with a bound on that one, too.

    `progress` is told the part done, 0 to 1; `original` is what the chart was made from.
    """
    asked = wishes(pattern)
    found = []
    for number, wish in enumerate(asked):
        parts = (_part(progress, 2 * number + half, 2 * len(asked)) for half in (0, 1))
        found.append(_advice(pattern, wish, original, *parts))
    return tuple(found)


def _advice(
    pattern: Pattern,
    wish: TidySettings,
    original: Original | None,
    first: Progress | None,
    then: Progress | None,
) -> Advice:
    try:
        trial = tried(pattern, wish, first, original=original)
    except BadInputError:
        return Advice(wish, None)
    plain = Advice(wish, trial)
    if plain.stands or not trial.worse:
        return plain
    better = remedied(trial, then)
    return plain if better is None else Advice(wish, better)


def _part(progress: Progress | None, number: int, of: int) -> Callable[[float], None] | None:
    if progress is None:
        return None
    return lambda done: progress((number + done) / of)
