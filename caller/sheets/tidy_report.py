"""What tidying does, or would do: as plain data and as sentences."""

from collections.abc import Iterator
from typing import Any

from caller.calling.words.numbers import counted
from caller.pattern.tidy.report import Effort
from caller.pattern.tidy.settings import TidySettings
from caller.pattern.tidy.trial import ChangedShapes, LostLines, Trial, Worse
from caller.plain_text import capitalised

_FIGURES = {
    "colour_changes": "Colour changes",
    "supplies": "Ends to hang in all",
    "at_once": "Ends at once",
    "longest_carry": "Longest carry",
    "single_stitches": "Single stitches",
}
_MOST_TOLD = 8


def options(wish: TidySettings) -> str:
    """The wish as it is typed."""
    given = [
        f"--{name.replace('_', '-')} {getattr(wish, name)}"
        for name, usual in (
            ("shortest_run", 1),
            ("specks", 0),
            ("at_once", None),
            ("in_all", None),
        )
        if getattr(wish, name) != usual
    ]
    return " ".join([*given, *(["--keep-thin-lines"] if wish.keep_thin_lines else [])])


def percent(likeness: float) -> str:
    return f"{likeness * 100:.1f} percent"


def to_picture(trial: Trial) -> str:
    """The likeness to the picture, in passing; nothing where it cannot be had."""
    if trial.likeness_to_picture is None:
        return ""
    before, after = map(percent, trial.likeness_to_picture)
    return f", to the picture {after} and now {before}"


def as_json(trial: Trial, remedy: Trial | None) -> dict[str, Any]:
    """The trial as plain data; `remedy` is the same wish bounded where it made a figure worse."""
    report = trial.result.report
    return {
        **figures(trial),
        "stitches": report.changed.size,
        "stitches_kept": int(report.kept.sum()),
        "price": round(float(report.price), 3),
        "lost_yarns": [trial.pattern.yarns[yarn].name for yarn in report.lost_yarns],
        "help": None if remedy is None else figures(remedy),
    }


def figures(trial: Trial) -> dict[str, Any]:
    """A trial's wish and figures as plain data."""
    report, both = trial.result.report, trial.likeness_to_picture
    return {
        "wish": options(trial.wish),
        "stitches_changed": trial.stitches_changed,
        "likeness": {"before": 1.0, "after": round(trial.likeness, 4)},
        "likeness_to_picture": None
        if both is None
        else {"before": round(both[0], 4), "after": round(both[1], 4)},
        "before": vars(report.before).copy(),
        "after": vars(report.after).copy(),
        "lost_lines": [vars(lost).copy() for lost in trial.lost],
        "shapes": [vars(shapes).copy() for shapes in trial.shapes],
        "worse": [vars(worse).copy() for worse in trial.worse],
    }


def as_lines(trial: Trial, remedy: Trial | None) -> Iterator[str]:
    """The trial as sentences: what goes first, then the figures, then what is worse."""
    report = trial.result.report
    yield from losses(trial)
    changed, size = trial.stitches_changed, report.changed.size
    yield f"{changed} of {size} stitches were changed ({changed / size:.1%})."
    yield f"Likeness in lines and edges: 100 percent before, {percent(trial.likeness)} after."
    if trial.likeness_to_picture is not None:
        before, after = map(percent, trial.likeness_to_picture)
        yield f"Likeness to the picture: {before} before, {after} after."
    for name, words in _FIGURES.items():
        yield f"{words}: {_part(report.before, name)} before, {_part(report.after, name)} after."
    for yarn in report.lost_yarns:
        yield f"Take note: {trial.pattern.yarns[yarn].name} is not used any more."
    if trial.worse:
        yield f"Take note: this makes worse {', and '.join(map(rise, trial.worse))}."
        yield _what_helps(trial, remedy)


def losses(trial: Trial) -> Iterator[str]:
    """The thin lines that go, the letters that can no longer be read, and how to keep them."""
    lost = sorted(trial.lost, key=lambda lines: -lines.stitches)
    for lines in lost[:_MOST_TOLD]:
        yield f"Thin lines or gaps go: {place(lines)}."
    if more := lost[_MOST_TOLD:]:
        stitches = counted(sum(one.stitches for one in more), "stitch", "stitches")
        yield f"And in {counted(len(more), 'smaller place')}, {stitches}."
    if lost:
        yield (
            "There is no room to widen them. --keep-thin-lines keeps them as thin as they are, and "
            "--protect MASK.png keeps a part."
        )
    shapes = sorted(trial.shapes, key=lambda one: -one.places)
    for changed in shapes[:_MOST_TOLD]:
        yield f"{capitalised(shapes_place(changed))}."
    if rest := shapes[_MOST_TOLD:]:
        yield f"And the like in {counted(sum(one.places for one in rest), 'smaller place')}."
    if shapes and not lost:
        yield "--protect MASK.png keeps a part as it is; a larger piece has more room."


def place(lines: LostLines) -> str:
    return f"{lines.yarn} in {_where(lines)}, {counted(lines.stitches, 'stitch', 'stitches')}"


def shapes_place(shapes: ChangedShapes) -> str:
    """ "letters or shapes of navy run together in rows 5 to 9, between L3 and R7, at 2 places"."""
    what = {"close": "openings in", "break open": "rings of"}.get(
        shapes.what, "letters or shapes of"
    )
    places = "" if shapes.places == 1 else f", at {shapes.places} places"
    return f"{what} {shapes.yarn} {shapes.what} in {_where(shapes)}{places}"


def _where(found: LostLines | ChangedShapes) -> str:
    rows = f"row {found.first_row}"
    if found.last_row > found.first_row:
        rows = f"rows {found.first_row} to {found.last_row}"
    needles = f"at {found.first_needle}"
    if found.last_needle != found.first_needle:
        needles = f"between {found.first_needle} and {found.last_needle}"
    return f"{rows}, {needles}"


def rise(worse: Worse) -> str:
    return f"{_FIGURES[worse.figure].lower()}: {worse.before} before and {worse.after} after"


def _what_helps(trial: Trial, remedy: Trial | None) -> str:
    if remedy is not None:
        after = remedy.result.report.after
        return (
            f"Tried, and it helps: {options(remedy.wish)} takes {after.supplies} ends in all and "
            f"{after.at_once} at once, likeness {percent(remedy.likeness)}."
        )
    if {worse.figure for worse in trial.worse} <= {"longest_carry"}:
        return "No carry is longer than the pattern allows; a lower max_carry there shortens it."
    return (
        "No bound on it was found that helps; fewer colours, --specks 3 or a larger piece may do."
    )


def _part(effort: Effort, name: str) -> int:
    return int(getattr(effort, name))
