"""The pattern file (TOML), in and out; docs/picture.md explains its lines."""

import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING, Any

from caller import toml_tables
from caller.errors import BadInputError, BedError, PatternFileError
from caller.files import not_written, refuse_to_replace, write_all_whole
from caller.pattern.bed import Bed
from caller.pattern.gauge import Gauge
from caller.pattern.panels import PanelOf
from caller.pattern.pattern import Fabric, Pattern, Reminder, SupplyRules
from caller.pattern.picture.charting import check_chart_picture, exact_chart
from caller.pattern.picture.picture import read_picture
from caller.pattern.picture.source import Source
from caller.pattern.storage.chart_png import chart_png, read_chart
from caller.pattern.storage.schema import SHAPED_VERSION, VERSION, check
from caller.pattern.yarn_counts import parse_count
from caller.pattern.yarns import Yarn
from caller.plain_text import LONGEST_TITLE, shortened
from caller.toml_tables import TomlFile

if TYPE_CHECKING:
    from tomlkit.items import AoT


def load(path: Path) -> Pattern:
    """Read a pattern file, or a bare picture taken as one pixel a stitch.

    Raises a BadInputError that names the file, and the line where there is one.
    """
    if path.suffix.lower() == ".toml":
        return _load_file(path)
    chart, yarns = exact_chart(read_picture(path, check=check_chart_picture))
    try:
        return Pattern(title_of(path), chart, yarns)
    except BedError as error:
        make = f"row-caller chart {quote(str(path))} --gauge 32x42/10cm"
        wishes = f"--width {chart.stitches} --height {chart.rows} --colours {len(yarns)}"
        raise BedError(
            error.finding,
            "a bare picture is taken as one pixel a stitch. With your own gauge, make a smaller "
            f"chart of it: {make} --width {Bed().needles}. Or knit it in panels, stitch for "
            f"stitch: {make} {wishes} --seen-from purl --panels",
        ) from None


def title_of(path: Path) -> str:
    """A title from a file name: "sailing-boat.png" is "Sailing boat"."""
    words = re.sub(r"[-_.\s]+", " ", path.stem).strip().capitalize()
    return shortened(words, LONGEST_TITLE) or "A picture"


def _load_file(path: Path) -> Pattern:
    file = _opened(path)
    table = file.parsed()
    check(file, table)
    yarns = tuple(_yarn(file, index, entry) for index, entry in enumerate(table["yarns"]))
    bed = dict(table.get("bed", {}))
    first_needle = bed.pop("first_needle", None)
    try:
        return Pattern(
            title=table["title"],
            chart=read_chart(
                path.parent / table["chart"], yarns, table["version"] >= SHAPED_VERSION
            ),
            yarns=yarns,
            bed=Bed(**bed),
            first_needle=first_needle,
            gauge=Gauge(**table["gauge"]) if "gauge" in table else None,
            first_direction=table.get("first_direction", "right"),
            seen_from=table.get("seen_from", "purl"),
            fabric=Fabric(**table.get("fabric", {})),
            supply_rules=SupplyRules(**table.get("supplies", {})),
            shaping=table.get("shaping", {}).get("method", "fully fashioned"),
            reminders=tuple(Reminder(**entry) for entry in table.get("reminders", ())),
            source=Source(**table["picture"]) if "picture" in table else None,
            panel=PanelOf(**table["panel"]) if "panel" in table else None,
        )
    except BadInputError as error:
        raise error.at(f"In {path}") from None


def _opened(path: Path) -> TomlFile:
    file = toml_tables.read(path, "pattern file", PatternFileError)
    if file is None:
        raise PatternFileError(f"There is no pattern file {path}", "check the name.")
    return file


def _yarn(file: TomlFile, index: int, entry: Mapping[str, Any]) -> Yarn:
    parts = dict(entry)
    try:
        if "count" in parts:
            parts["count"] = parse_count(parts["count"])
        return Yarn(**parts)
    except BadInputError as error:
        raise error.at(file.line_of("name", "yarns", index)) from None


def pattern_text(pattern: Pattern, chart_name: str) -> str:
    """The pattern file, with comments that help to edit it by hand."""
    import tomlkit  # late: only what writes a file needs it

    document = tomlkit.document()
    document.add(tomlkit.comment("A pattern for caller. Its docs/picture.md explains every line."))
    shaped = pattern.chart.shaped
    document.add("version", tomlkit.item(version_of(pattern)))
    document.add("title", tomlkit.item(pattern.title))
    document.add(tomlkit.comment("The chart picture: one pixel a stitch; its bottom row is row 1."))
    if shaped:
        document.add(tomlkit.comment("Transparent pixels are needles out of work."))
    document.add("chart", tomlkit.item(chart_name))
    document.add(tomlkit.comment('Where the carriage goes in row 1: "right" or "left".'))
    document.add("first_direction", tomlkit.item(pattern.first_direction))
    document.add(tomlkit.comment("The side that shows the picture; the purl side faces you."))
    document.add("seen_from", tomlkit.item(pattern.seen_from))
    for name, entries in _tables(pattern):
        document.add(name, tomlkit.item(entries))
    for name, list_of_entries in _lists(pattern):
        document.add(name, _listed(list_of_entries))
    return tomlkit.dumps(document)


def version_of(pattern: Pattern) -> int:
    """The version of the file that the pattern needs."""
    return SHAPED_VERSION if pattern.chart.shaped else VERSION


def _listed(list_of_entries: list[dict[str, Any]]) -> "AoT":
    import tomlkit  # late: only what writes a file needs it

    tables = tomlkit.aot()
    for entries in list_of_entries:
        tables.append(tomlkit.item(entries))
    return tables


def _tables(pattern: Pattern) -> list[tuple[str, dict[str, Any]]]:
    """The tables of the file; what is left at its default is left out, but for the bed."""
    gauge, bed, fabric, rules = pattern.gauge, pattern.bed, pattern.fabric, pattern.supply_rules
    tables: list[tuple[str, dict[str, Any]]] = []
    if gauge is not None:
        tables.append(("gauge", vars(gauge).copy()))
    placed: dict[str, Any] = {
        "needles": bed.needles,
        "pitch_mm": bed.pitch_mm,
        "numbering": bed.numbering,
    }
    if pattern.first_needle is not None:
        placed["first_needle"] = pattern.first_needle
    tables.append(("bed", placed))
    for name, settings, default in (
        ("fabric", fabric, Fabric()),
        ("supplies", rules, SupplyRules()),
    ):
        changed = {
            key: value for key, value in vars(settings).items() if value != getattr(default, key)
        }
        if changed:
            tables.append((name, changed))
    if pattern.source is not None:
        tables.append(("picture", pattern.source.wishes()))
    if pattern.panel is not None:
        tables.append(("panel", vars(pattern.panel).copy()))
    if pattern.chart.shaped:
        tables.append(("shaping", {"method": pattern.shaping}))
    return tables


def _lists(pattern: Pattern) -> list[tuple[str, list[dict[str, Any]]]]:
    yarns = []
    for yarn in pattern.yarns:
        entry: dict[str, Any] = {"name": yarn.name, "colour": yarn.colour}
        if yarn.count is not None:
            entry["count"] = yarn.count.written
        if yarn.ball_g is not None:
            entry["ball_g"] = yarn.ball_g
        yarns.append(entry)
    lists = [("yarns", yarns)]
    if pattern.reminders:
        lists.append(("reminders", [vars(reminder).copy() for reminder in pattern.reminders]))
    return lists


def refuse_existing(path: Path, replace: bool) -> Path:
    """Where the chart picture of this pattern file goes.

    Raises PatternFileError when either exists and `replace` is not given.
    """
    chart_path = path.with_name(f"{path.stem}.chart.png")
    for each in (path, chart_path):
        refuse_to_replace(each, replace, PatternFileError)
    return chart_path


def save(pattern: Pattern, path: Path, replace: bool = False) -> tuple[Path, Path]:
    """Write PATH and its chart picture beside it; the two paths written.

    Each file is written whole or not at all. Raises PatternFileError when one of them exists and
    `replace` is not given, or when the folder cannot be written.
    """
    chart_path = refuse_existing(path, replace)
    try:
        # The chart first: a power cut must not leave a pattern without its chart.
        text = pattern_text(pattern, chart_path.name).encode()
        write_all_whole({chart_path: chart_png(pattern), path: text})
    except OSError as error:
        raise not_written(path, error, PatternFileError) from None
    return path, chart_path


def amend(
    path: Path,
    changes: Mapping[str, Mapping[str, Any] | list[dict[str, Any]]],
    chart: bytes | None = None,
) -> None:
    """Set keys in tables of a pattern file, {"gauge": {"stitches": 30}}; all else stays as it is.

    "" is the table of the keys at the top; a list takes the place of a list of tables. Comments,
    order and spacing are kept. With a `chart`, its picture is written anew, too. Raises
    PatternFileError, with the file untouched, when the file cannot be read or written or would not
    be a pattern any more.
    """
    import tomlkit  # late: only what writes a file needs it

    file = _opened(path)
    check(file, file.parsed())
    document = tomlkit.parse(file.text)
    for name, entries in changes.items():
        if isinstance(entries, list):
            document.pop(name)
            if entries:
                document.add(name, _listed(entries))
            continue
        if name and name not in document:
            document.add(name, tomlkit.table())
        table: Any = document[name] if name else document
        for key, value in entries.items():
            table[key] = value
    amended = tomlkit.dumps(document)
    check(replace(file, text=amended), document.unwrap())
    charts = {} if chart is None else {path.parent / document.unwrap()["chart"]: chart}
    try:
        write_all_whole({**charts, path: amended.encode()})
    except OSError as error:
        raise not_written(path, error, PatternFileError) from None
