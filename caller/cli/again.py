"""A chart made anew from the picture that its pattern file remembers."""

import os
from dataclasses import replace
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Any

from caller.cli.screen import ask, asks, show, tell
from caller.errors import BadInputError, PatternFileError, SettingError

if TYPE_CHECKING:
    from caller.pattern.bed import Bed
    from caller.pattern.pattern import Pattern
    from caller.pattern.picture.again import Original
    from caller.pattern.picture.source import Source

_REMEMBERED = ("width", "height", "crop", "rotate", "flip", "border", "plain_below", "plain_above")
_MARKED = 0.01
"""The part of a size from which a stretched picture is told of."""


def source_of(picture: Path, pattern_path: Path, wishes: dict[str, Any]) -> "Source":
    """What a pattern file at this path is to remember."""
    from caller.pattern.picture.source import Source

    kept = {name: wishes[name] for name in (*_REMEMBERED, "colours", "background") if wishes[name]}
    if "rotate" in kept:
        kept["rotate"] = int(kept["rotate"])
    return Source(_as_seen_from(pattern_path, picture), **kept)


def moved(source: "Source", before: Path, after: Path) -> "Source":
    """The source of a pattern file that is written at another path; the picture stays."""
    return replace(source, file=_as_seen_from(after, before.parent / source.file))


def _as_seen_from(pattern_path: Path, picture: Path) -> str:
    whole, folder = picture.resolve(), pattern_path.resolve().parent
    try:
        return Path(os.path.relpath(whole, folder)).as_posix()
    except ValueError:  # on another drive
        return str(whole)


def original_of(path: Path, pattern: "Pattern") -> "Original | None":
    """What the chart of a pattern file was made from; None, and a line, where it cannot be had."""
    from caller.pattern.picture.again import original

    if pattern.source is None:
        return None
    try:
        return original(pattern, path.parent)
    except BadInputError as error:
        tell(f"Likeness to the picture is not told. {error}")
        return None


def bed_of(wishes: dict[str, Any], bed: "Bed | None" = None) -> "Bed":
    """The bed that is wished for; what is not said is as on `bed`, else as usual."""
    from caller.pattern.bed import COMMON_BEDS, Bed

    kind, needles, pitch = (wishes.get(name) for name in ("bed_kind", "needles", "pitch"))
    if kind is not None or bed is None:
        common = COMMON_BEDS[kind or "standard"]
        bed = Bed(*common, bed.numbering if bed else "centre")
    return Bed(
        bed.needles if needles is None else needles,
        bed.pitch_mm if pitch is None else pitch,
        wishes.get("numbering") or bed.numbering,
    )


def make(path: Path, typed: dict[str, Any]) -> None:
    """Make the chart of a pattern file anew, with the wishes that are typed in place of its own."""
    from caller.pattern.picture.again import made_again
    from caller.pattern.storage import pattern_file

    pattern = pattern_file.load(path)
    for name in ("colours", "yarns", "panels", "seam", "title", "output"):
        if name in typed:
            raise SettingError(
                f"--{name.replace('yarns', 'yarn')} is not for a chart that is made anew",
                f"change it in {path}, or begin again from the picture.",
            )
    again = made_again(_wished(pattern, typed), path.parent)
    if not typed.get("replace"):
        raise PatternFileError(
            f"The chart of {path} would be made anew, {_size(again)} in place of {_size(pattern)}."
            f"{_lost(pattern)}",
            "Add --replace for that.",
        )
    _write(path, pattern, again)


def offer(path: Path, before: "Pattern") -> None:
    """After a new gauge: say what it does to the picture, and offer to make the chart anew.

    `before` is the pattern at the old gauge.
    """
    from caller.pattern.picture.again import made_again
    from caller.pattern.storage import pattern_file

    pattern = pattern_file.load(path)
    happens = _stretched(before, pattern)
    if pattern.source is None:
        if happens:
            show(f"Take note: {happens} Make another chart from its picture with row-caller chart.")
        return
    try:
        again = made_again(pattern, path.parent)
    except BadInputError as error:
        show(f"Take note: {happens} The chart cannot be made anew: {error}")
        return
    if again.chart.cells.shape == pattern.chart.cells.shape:
        return
    show(f"Take note: {happens or 'the size changes.'}{_lost(pattern)}")
    question = f"Make it anew from {pattern.source.file}, {_size(again)}?"
    if not asks():
        show(f"row-caller chart {quote(str(path))} --replace makes it anew, {_size(again)}.")
    elif ask(question, ("no", "yes") if _lost(pattern) else ("yes", "no")) == "yes":
        _write(path, pattern, again)


def _wished(pattern: "Pattern", typed: dict[str, Any]) -> "Pattern":
    """The pattern with what was typed for its chart."""
    from caller.pattern.gauge import parse_gauge

    kept = {name: typed[name] for name in (*_REMEMBERED, "background") if name in typed}
    if "rotate" in kept:
        kept["rotate"] = int(kept["rotate"])
    return replace(
        pattern,
        source=replace(pattern.source, **kept) if pattern.source else None,
        gauge=parse_gauge(typed["gauge"]) if "gauge" in typed else pattern.gauge,
        bed=bed_of(typed, pattern.bed),
        **{
            name: typed[name]
            for name in ("seen_from", "first_needle", "first_direction")
            if name in typed
        },
    )


def _write(path: Path, before: "Pattern", again: "Pattern") -> None:
    from caller.devices.storage.place_file import place_file
    from caller.pattern.storage.chart_png import chart_png
    from caller.pattern.storage.pattern_file import amend, version_of

    assert again.source is not None
    assert again.gauge is not None
    changes: dict[str, Any] = {
        "": {
            "version": version_of(again),
            "seen_from": again.seen_from,
            "first_direction": again.first_direction,
        },
        "gauge": vars(again.gauge).copy(),
        "bed": vars(again.bed)
        | ({} if again.first_needle is None else {"first_needle": again.first_needle}),
        "picture": again.source.wishes(),
    }
    dropped = len(before.reminders) - len(again.reminders)
    if dropped:
        changes["reminders"] = [vars(one).copy() for one in again.reminders]
    amend(path, changes, chart_png(again))
    show(f"The chart of {path} is made anew: {_size(again)}.")
    if again.reminders:
        show("Take note: reminders stay at their rows; see whether these are still the right ones.")
    if dropped:
        show(f"Take note: {dropped} of the reminders were for rows that there are no more.")
    if place_file(path).exists():
        show("Take note: your place was kept in the old chart; the next session asks about it.")


def _size(pattern: "Pattern") -> str:
    return f"{pattern.chart.stitches} stitches and {pattern.chart.rows} rows"


def _lost(pattern: "Pattern") -> str:
    from caller.pattern.picture.again import changed_since

    if not changed_since(pattern):
        return ""
    return " Stitches were tidied or painted since it was made; that would be lost."


def _stretched(before: "Pattern", after: "Pattern") -> str:
    """A sentence that says how the piece comes out by another gauge; nothing where it is alike."""
    from caller.pattern.amounts import finished_size_cm

    assert after.gauge is not None
    chart = after.chart
    width, height = finished_size_cm(chart.stitches, chart.rows, after.gauge)
    now = f"At this gauge the chart comes out {width:.1f} by {height:.1f} cm"
    if before.gauge is None:
        return f"{now}."
    was = before.gauge
    wider = was.stitches_per_cm / after.gauge.stitches_per_cm - 1
    higher = was.rows_per_cm / after.gauge.rows_per_cm - 1
    taller = (1 + higher) / (1 + wider) - 1
    if abs(taller) < _MARKED:
        return f"{now}, as large as before." if abs(wider) < _MARKED else f"{now}."
    how = "taller" if taller > 0 else "flatter"
    return f"{now}, and its picture {abs(taller):.0%} {how} than it was made."
