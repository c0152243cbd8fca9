"""What a pattern file may hold: its tables, their keys and kinds."""

from collections.abc import Mapping
from typing import Any

from caller.toml_tables import FLAG, NUMBER, TEXT, WHOLE, Section, TomlFile

VERSION = 1
SHAPED_VERSION = 2
"""Of patterns in whose chart transparent pixels are needles out of work; in version 1 they are
white."""

_FILE = Section(
    {"version": WHOLE, "title": TEXT, "chart": TEXT, "first_direction": TEXT, "seen_from": TEXT},
    needed=("version", "title", "chart", "yarns"),
)
_SECTIONS = {
    "gauge": Section(
        {"stitches": NUMBER, "rows": NUMBER, "over": NUMBER, "unit": TEXT},
        needed=("stitches", "rows"),
    ),
    "bed": Section({"needles": WHOLE, "pitch_mm": NUMBER, "numbering": TEXT, "first_needle": TEXT}),
    "fabric": Section(
        {"loop_mm": NUMBER, "relaxation": TEXT, "tail_cm": NUMBER, "allowance": NUMBER}
    ),
    "shaping": Section({"method": TEXT}),
    "supplies": Section({"max_carry": WHOLE, "max_rest_rows": WHOLE, "bobbin_m": NUMBER}),
    "picture": Section(
        {
            **dict.fromkeys(("file", "width", "height", "crop", "background", "made"), TEXT),
            **dict.fromkeys(("outline", "outline_side"), TEXT),
            **dict.fromkeys(("rotate", "colours", "border", "plain_below", "plain_above"), WHOLE),
            "flip": FLAG,
        },
        needed=("file",),
    ),
    "panel": Section(dict.fromkeys(("number", "of", "seam"), WHOLE), needed=("number", "of")),
    "yarns": Section(
        {"name": TEXT, "colour": TEXT, "count": TEXT, "ball_g": NUMBER},
        needed=("name", "colour"),
        listed=True,
    ),
    "reminders": Section({"row": WHOLE, "say": TEXT}, needed=("row", "say"), listed=True),
}


def check(file: TomlFile, table: Mapping[str, Any]) -> None:
    """Every key known, of its kind, and none missing; the error names the line."""
    file.check(table, _FILE, _SECTIONS)
    if table["version"] not in (VERSION, SHAPED_VERSION):
        raise file.error(
            f"{file.line_of('version')} is version {table['version']} of the pattern file",
            f"this program reads versions {VERSION} and {SHAPED_VERSION}.",
        )
