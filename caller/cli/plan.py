"""Before the first stitch: the plan, the swatch and the pictures."""

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from caller.cli import again
from caller.cli.base import AS_JSON, FILE, PATTERN, main
from caller.cli.screen import progress, show, show_json
from caller.errors import PatternFileError, SettingError

if TYPE_CHECKING:
    from caller.pattern.pattern import Pattern

_UNLIKELY = 1.6
"""Times what the gauge leads to. A swatch and its gauge are usually within a quarter."""


@main.command("plan")
@click.argument("patterns", metavar="PATTERN...", type=FILE, nargs=-1, required=True)
@AS_JSON
@click.option("--max-carry", type=int, help="The longest carry in needles, for this plan.")
@click.option("--max-rest-rows", type=int, help="The most rows an end may wait, for this plan.")
def plan_command(
    patterns: tuple[Path, ...], as_json: bool, max_carry: int | None, max_rest_rows: int | None
) -> None:
    """Say where the work lies, how many ends it takes and how much yarn.

    Of several patterns, the pieces of one garment: what each takes, and the yarn of all of them.
    """
    from caller.pattern.storage.pattern_file import load
    from caller.pattern.tidy.advice import advise
    from caller.pattern.tidy.trial import alike_to_picture
    from caller.sheets import garment, plan

    pieces = [_by_rules(load(path), max_carry, max_rest_rows) for path in patterns]
    if len(pieces) > 1:
        told, lines = garment.as_json(pieces), garment.as_lines(pieces)
    else:
        made_from = again.original_of(patterns[0], pieces[0])
        with progress(1000, "Trying what would help") as bar:
            advice = advise(
                pieces[0], lambda done: bar.update(round(done * 1000) - bar.pos), made_from
            )
        alike = alike_to_picture(pieces[0], made_from, pieces[0].chart) if made_from else None
        told = plan.as_json(pieces[0], advice, alike)
        lines = plan.as_lines(pieces[0], advice, alike)
    if as_json:
        show_json(told)
    else:
        for line in lines:
            show(line)


def _by_rules(pattern: "Pattern", max_carry: int | None, max_rest_rows: int | None) -> "Pattern":
    rules = pattern.supply_rules
    if max_carry is not None:
        rules = replace(rules, max_carry=max_carry)
    if max_rest_rows is not None:
        rules = replace(rules, max_rest_rows=max_rest_rows)
    return replace(pattern, supply_rules=rules)


@main.command()
@PATTERN
@click.option("--stitches", type=float, help="Stitches between the marks; usually 40.")
@click.option("--rows", type=float, help="Rows between the marks; usually 60.")
@click.option(
    "--measured",
    multiple=True,
    help="Width x height between the marks, like 13.2x15.4cm; give three readings.",
)
@click.option("--unravelled", help="Stitches and the yarn they gave, like 40=52cm.")
@click.option("--weighed", help="Stitches and their weight, like 2400=2.3g; needs --count.")
@click.option("--count", help="The swatch yarn's count, like '2/28 Nm' or '400 m/100 g'.")
def swatch(
    pattern_path: Path,
    stitches: float | None,
    rows: float | None,
    measured: tuple[str, ...],
    unravelled: str | None,
    weighed: str | None,
    count: str | None,
) -> None:
    """Write the gauge, and the yarn in a stitch, from a measured swatch into PATTERN."""
    from caller.pattern.storage.pattern_file import amend, load
    from caller.pattern.swatch import unravelled_loop_mm, weighed_loop_mm
    from caller.pattern.yarn_counts import parse_count

    if pattern_path.suffix.lower() != ".toml":
        raise PatternFileError(
            f"A swatch is written into a pattern file, and {pattern_path} is none",
            "make one with row-caller chart.",
        )
    before = load(pattern_path)
    changes: dict[str, dict[str, Any]] = {}
    if measured:
        changes["gauge"] = _gauge(stitches, rows, measured)
    if unravelled is not None:
        number, length, unit = _equation(unravelled, "mm|cm|m|in|yd", "--unravelled 40=52cm")
        changes["fabric"] = {"loop_mm": round(unravelled_loop_mm(number, length, unit), 3)}
    elif weighed is not None:
        if count is None:
            raise SettingError(
                "A weighed swatch needs its yarn's count", "give it like --count '2/28 Nm'."
            )
        number, mass, _ = _equation(weighed, "g", "--weighed 2400=2.3g")
        loop = weighed_loop_mm(mass, parse_count(count).tex_for_mass(), number)
        changes["fabric"] = {"loop_mm": round(loop, 3)}
    if not changes:
        raise SettingError(
            "Nothing was measured",
            "give --stitches 40 --rows 60 --measured 13.2x15.4cm, or --unravelled 40=52cm.",
        )
    _check_loop(before, changes)
    amend(pattern_path, changes)
    if "fabric" in changes:
        show(f"One stitch takes {changes['fabric']['loop_mm']:g} mm of yarn.")
    show(f"Written into {pattern_path}.")
    if "gauge" in changes:
        again.offer(pattern_path, before)


def _check_loop(pattern: "Pattern", changes: dict[str, dict[str, Any]]) -> None:
    """Take note of a loop that the gauge does not lead to; measured wins all the same."""
    from caller.pattern.amounts import loop_length_mm
    from caller.pattern.gauge import Gauge

    gauge = Gauge(**changes["gauge"]) if "gauge" in changes else pattern.gauge
    if gauge is None or "fabric" not in changes:
        return
    measured, expected = changes["fabric"]["loop_mm"], loop_length_mm(gauge)
    if not 1 / _UNLIKELY < measured / expected < _UNLIKELY:
        show(
            f"Take note: the gauge leads to about {expected:.1f} mm of yarn in a stitch, and "
            f"{measured:.1f} mm was measured; count, measure or weigh again."
        )


def _gauge(stitches: float | None, rows: float | None, measured: tuple[str, ...]) -> dict[str, Any]:
    from caller.pattern.swatch import SwatchReading, swatch_gauge

    if stitches is None or rows is None:
        raise SettingError(
            "The stitches and rows of the swatch are missing.",
            "Say how much was measured: --stitches 40 --rows 60.",
        )
    readings = []
    for text in measured:
        found = re.fullmatch(r"\s*([\d.]+)\s*[x×]\s*([\d.]+)\s*(cm|in)\s*", text)
        if found is None:
            raise SettingError(f"{text!r} is not width x height", "write it like 13.2x15.4cm.")
        width, height = _number(found[1]), _number(found[2])
        readings.append(SwatchReading(stitches, rows, width, height, found[3]))
    result = swatch_gauge(readings)
    gauge = result.gauge
    show(f"{gauge.stitches:g} stitches and {gauge.rows:g} rows to {gauge.over:g} {gauge.unit}.")
    if result.warning:
        show(f"Take note: {result.warning}")
    return vars(gauge).copy()


def _equation(text: str, units: str, example: str) -> tuple[float, float, str]:
    """ "40=52cm" as 40, 52 and "cm"."""
    found = re.fullmatch(rf"\s*([\d.]+)\s*=\s*([\d.]+)\s*({units})\s*", text)
    if found is None:
        raise SettingError(f"{text!r} cannot be read", f"write it like {example}.")
    return _number(found[1]), _number(found[2]), found[3]


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise SettingError(f"{text!r} is not a number.", "Write one like 13.2.") from None


@main.command()
@PATTERN
@click.option("--output", type=FILE, help="Name for the pictures; otherwise PATTERN's, here.")
@click.option("--replace", is_flag=True, help="Overwrite pictures that exist.")
def preview(pattern_path: Path, output: Path | None, replace: bool) -> None:
    """Draw the piece from both sides, and which end knits where; say where each yarn lies."""
    from caller.pattern.storage.pattern_file import load
    from caller.sheets.in_words import yarns_in_words
    from caller.sheets.pictures.preview import write_pictures
    from caller.sheets.shaping import outline_lines

    pattern = load(pattern_path)
    for path in write_pictures(
        pattern, pattern.supply_plan, output or Path(pattern_path.stem), replace
    ):
        show(f"Written: {path}")
    for line in (*yarns_in_words(pattern), *outline_lines(pattern)):
        show(line)
