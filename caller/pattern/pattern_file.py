"""The pattern file (TOML) and its chart picture (indexed PNG), in and out.

The README holds the schema. The chart picture has one pixel a stitch; a pixel's colour says its
yarn, so that the picture can be edited in any paint program.
"""

import io
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import tomlkit
from numpy.typing import NDArray
from PIL import Image
from tomlkit.exceptions import TOMLKitError

from caller.errors import BadInputError, PatternFileError
from caller.files import write_whole
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.gauge import Gauge
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.picture import exact_chart, read_picture
from caller.pattern.rows import Direction
from caller.pattern.yarns import Yarn

VERSION = 1
LARGEST_FILE = 1_000_000
"""Bytes. A pattern file is a page of text; anything larger is something else."""

_NUMBER = (int, float)
_SCHEMA: dict[str, dict[str, tuple[type, ...]]] = {
    "": {
        "version": (int,),
        "title": (str,),
        "chart": (str,),
        "first_direction": (str,),
        "gauge": (dict,),
        "bed": (dict,),
        "yarns": (list,),
        "reminders": (list,),
    },
    "gauge": {"stitches": _NUMBER, "rows": _NUMBER, "over": _NUMBER, "unit": (str,)},
    "bed": {"needles": (int,), "pitch_mm": _NUMBER},
    "yarns": {"name": (str,), "colour": (str,)},
    "reminders": {"row": (int,), "say": (str,)},
}
_NEEDED = {
    "": ("version", "title", "chart", "yarns"),
    "gauge": ("stitches", "rows"),
    "bed": (),
    "yarns": ("name", "colour"),
    "reminders": ("row", "say"),
}
_LISTS = ("yarns", "reminders")
_KINDS = {int: "a whole number", float: "a number", str: "text in quotes", dict: "a table"}


def load(path: Path) -> Pattern:
    """Read a pattern file, or a bare picture taken as one pixel a stitch.

    Raises a BadInputError that names the file, and the line where there is one.
    """
    if path.suffix.lower() == ".toml":
        return _load_file(path)
    chart, yarns = exact_chart(read_picture(path))
    return Pattern(title_of(path), chart, yarns)


def title_of(path: Path) -> str:
    """A title from a file name: "sailing-boat.png" is "Sailing boat"."""
    return re.sub(r"[-_.\s]+", " ", path.stem).strip().capitalize() or "A picture"


def _load_file(path: Path) -> Pattern:
    text = _read_text(path)
    try:
        table: Mapping[str, Any] = tomlkit.parse(text).unwrap()
    except TOMLKitError as error:
        raise PatternFileError(
            f"{path} is not valid TOML: {error}. Correct that line and try again."
        ) from None
    _check(path, text, table)
    yarns = tuple(_yarn(path, text, index, entry) for index, entry in enumerate(table["yarns"]))
    try:
        chart = _chart_in(path.parent / table["chart"], yarns)
        return Pattern(
            title=table["title"],
            chart=chart,
            yarns=yarns,
            bed=Bed(**table.get("bed", {})),
            gauge=Gauge(**table["gauge"]) if "gauge" in table else None,
            first_direction=_direction(table.get("first_direction", "right")),
            reminders=tuple(Reminder(**entry) for entry in table.get("reminders", ())),
        )
    except BadInputError as error:
        raise type(error)(f"In {path}: {error}") from None


def _read_text(path: Path) -> str:
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise PatternFileError(f"{path} is too large for a pattern file; is it another file?")
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        raise PatternFileError(f"There is no pattern file {path}; check the name.") from None
    except UnicodeDecodeError:
        raise PatternFileError(f"{path} is not a text file in UTF-8.") from None
    except OSError as error:
        raise PatternFileError(f"{path} cannot be read: {error.strerror}.") from None


def _check(path: Path, text: str, table: Mapping[str, Any]) -> None:
    """Every key known, of its kind, and none missing; the error names the line."""
    _check_table(path, text, table, "", 0)
    if table["version"] != VERSION:
        raise PatternFileError(
            f"{_line(path, text, 'version', '', 0)} is version {table['version']} of the pattern "
            f"file; this program reads version {VERSION}."
        )
    for name in ("gauge", "bed"):
        if name in table:
            _check_table(path, text, table[name], name, 0)
    for name in _LISTS:
        for index, entry in enumerate(table.get(name, ())):
            if not isinstance(entry, dict):
                raise PatternFileError(
                    f"{_line(path, text, name, '', 0)} must be written as tables [[{name}]]."
                )
            _check_table(path, text, entry, name, index)


def _check_table(path: Path, text: str, table: Mapping[str, Any], section: str, index: int) -> None:
    known = _SCHEMA[section]
    for key, value in table.items():
        here = _line(path, text, key, section, index)
        if key not in known:
            raise PatternFileError(
                f"{here}: {key!r} is not known here; the keys are {', '.join(known)}."
            )
        if isinstance(value, bool) or not isinstance(value, known[key]):
            kind = _KINDS.get(known[key][-1], f"a list of tables [[{key}]]")
            raise PatternFileError(f"{here}: {key!r} must be {kind}.")
    for key in _NEEDED[section]:
        if key not in table:
            where = f"number {index + 1} of [[{section}]]" if section in _LISTS else f"[{section}]"
            raise PatternFileError(f"{path}: {where if section else 'the file'} has no {key!r}.")


def _line(path: Path, text: str, key: str, section: str, index: int) -> str:
    """Where the key stands: "FILE, line 7", or just the file when it is written in another way."""
    here, counts = "", {"": 0}
    opening = re.compile(r"""\s*["']?([^"'=\s]+)["']?\s*=""")
    for number, line in enumerate(text.splitlines(), start=1):
        header = re.match(r"\s*\[\[?\s*([^\]]+?)\s*\]", line)
        if header:
            here = header[1]
            counts[here] = counts.get(here, -1) + 1
            if section == "" and here == key:
                return f"{path}, line {number}"
        elif (here, counts.get(here, 0)) == (section, index):
            found = opening.match(line)
            if found and found[1] == key:
                return f"{path}, line {number}"
    return str(path)


def _yarn(path: Path, text: str, index: int, entry: Mapping[str, Any]) -> Yarn:
    try:
        return Yarn(**entry)
    except BadInputError as error:
        raise type(error)(f"{_line(path, text, 'name', 'yarns', index)}: {error}") from None


def _direction(text: str) -> Direction:
    match text:
        case "right" | "left":
            return text
    raise PatternFileError(f'first_direction must be "right" or "left", not {text!r}.')


def _chart_in(path: Path, yarns: tuple[Yarn, ...]) -> Chart:
    """The chart picture as yarn numbers, each pixel matched to the yarn of just its colour."""
    by_colour: dict[int, int] = {}
    for number, yarn in enumerate(yarns):
        if (colour := _packed(np.array(yarn.rgb))) in by_colour:
            twin = yarns[by_colour[int(colour)]]
            raise PatternFileError(
                f"The yarns {twin.name!r} and {yarn.name!r} have the same colour {yarn.colour}, so "
                "the chart cannot tell them apart; give one of them another colour in both."
            )
        by_colour[int(colour)] = number
    packed = _packed(read_picture(path).rgb[::-1])
    colours, numbers = np.unique(packed, return_inverse=True)
    numbers = numbers.reshape(packed.shape)
    for index, colour in enumerate(colours.tolist()):
        if colour not in by_colour:
            row, stitch = np.argwhere(numbers == index)[0]
            raise PatternFileError(
                f"The chart {path.name} has the colour #{colour:06x} in row {row + 1}, stitch "
                f"{stitch + 1} from the left, and no yarn has it; the yarns are "
                + ", ".join(f"{yarn.name} {yarn.colour}" for yarn in yarns)
                + "."
            )
    for number, yarn in enumerate(yarns):
        if not np.isin(int(_packed(np.array(yarn.rgb))), colours):
            raise PatternFileError(
                f"No stitch of the chart {path.name} has the colour {yarn.colour} of yarn "
                f"{number + 1}, {yarn.name!r}; remove the yarn or correct its colour."
            )
    lookup = np.array([by_colour[colour] for colour in colours.tolist()], dtype=np.uint8)
    return Chart(lookup[numbers])


def _packed(rgb: NDArray[Any]) -> NDArray[np.uint32]:
    """Red, green, blue along the last axis as one number 0xrrggbb."""
    packed: NDArray[np.uint32] = rgb.astype(np.uint32) @ np.array([65536, 256, 1], np.uint32)
    return packed


def chart_picture(pattern: Pattern) -> Image.Image:
    """The chart as an indexed picture, one pixel a stitch; palette entry i is yarn i."""
    picture = Image.fromarray(np.ascontiguousarray(pattern.chart.cells[::-1]), mode="P")
    picture.putpalette([part for yarn in pattern.yarns for part in yarn.rgb])
    return picture


def pattern_text(pattern: Pattern, chart_name: str) -> str:
    """The pattern file, with comments that help to edit it by hand."""
    document = tomlkit.document()
    document.add(tomlkit.comment("A pattern for caller. The README of caller explains every line."))
    document.add("version", tomlkit.item(VERSION))
    document.add("title", tomlkit.item(pattern.title))
    document.add(tomlkit.comment("The chart picture: one pixel a stitch; its bottom row is row 1."))
    document.add("chart", tomlkit.item(chart_name))
    document.add(tomlkit.comment('Where the carriage goes in row 1: "right" or "left".'))
    document.add("first_direction", tomlkit.item(pattern.first_direction))
    if pattern.gauge is not None:
        gauge = tomlkit.table()
        gauge.update(
            {
                "stitches": pattern.gauge.stitches,
                "rows": pattern.gauge.rows,
                "over": pattern.gauge.over,
                "unit": pattern.gauge.unit,
            }
        )
        document.add("gauge", gauge)
    bed = tomlkit.table()
    bed.update({"needles": pattern.bed.needles, "pitch_mm": pattern.bed.pitch_mm})
    document.add("bed", bed)
    yarns = tomlkit.aot()
    for yarn in pattern.yarns:
        yarns.append(tomlkit.item({"name": yarn.name, "colour": yarn.colour}))
    document.add("yarns", yarns)
    if pattern.reminders:
        reminders = tomlkit.aot()
        for reminder in pattern.reminders:
            reminders.append(tomlkit.item({"row": reminder.row, "say": reminder.say}))
        document.add("reminders", reminders)
    return tomlkit.dumps(document)


def save(pattern: Pattern, path: Path, replace: bool = False) -> tuple[Path, Path]:
    """Write PATH and its chart picture beside it; the two paths written.

    Each file is written whole or not at all. Raises PatternFileError when one of them exists and
    `replace` is not given, or when the folder cannot be written.
    """
    chart_path = path.with_name(f"{path.stem}.chart.png")
    for existing in (path, chart_path):
        if existing.exists() and not replace:
            raise PatternFileError(
                f"{existing} exists already; add --replace to overwrite it, or choose another name "
                "with --output."
            )
    encoded = io.BytesIO()
    chart_picture(pattern).save(encoded, "PNG")
    try:
        write_whole(chart_path, encoded.getvalue())
        write_whole(path, pattern_text(pattern, chart_path.name).encode())
    except OSError as error:
        raise PatternFileError(f"{path} cannot be written: {error.strerror}.") from None
    return path, chart_path
