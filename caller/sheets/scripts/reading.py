"""The row script to read: large print, or a page that calls the rows."""

from collections.abc import Mapping
from pathlib import Path

from caller.calling.words import clauses
from caller.errors import PatternFileError
from caller.files import not_written, write_whole
from caller.pattern.pattern import Pattern
from caller.plain_text import folded
from caller.sheets.scripts.page import as_html
from caller.sheets.scripts.row_lines import before_row_1, facts, run_lines, shape_lines

COLUMNS = 40
"""Of the large print: a line of a braille display, or of a page of A4 in type of 20 points."""


def as_large_print(pattern: Pattern) -> str:
    """The whole script in lines of at most 40 columns, for a large font or a braille display.

    One run a line (a long one goes on, set in, on the next), an empty line before each row.
    """
    script = pattern.script
    lines = [*_folded(pattern.title), ""]
    for fact in facts(pattern):
        lines += _folded(fact)
    for number, yarn in enumerate(pattern.yarns, start=1):
        lines += _folded(f"Yarn {number}: {yarn.name}")
    for line in before_row_1(pattern):
        lines += _folded(line)
    for row in script:
        lines += [
            "",
            *_folded(f"Row {row.number} of {script.rows}, {clauses.way(row.direction)}"),
        ]
        for line in shape_lines(pattern, row.number):
            lines += _folded(line)
        for run in run_lines(pattern, row.number):
            lines += _folded(f"{run.end} {run.parts.to} {run.parts.last}: {run.more}")
        for reminder in pattern.reminders_at(row.number):
            lines += _folded(f"Remember: {reminder}.")
    return "\n".join([*lines, ""])


def write_reading(pattern: Pattern, path: Path, sounds: Mapping[int, str] | None = None) -> None:
    """Write the page when the name ends in .html, otherwise the large print; in UTF-8.

    `sounds` are the names of the rows' tracks, which lie beside the page. Raises PatternFileError
    when the file cannot be written.
    """
    html = path.suffix.lower() in (".html", ".htm")
    text = as_html(pattern, sounds, path.stem) if html else as_large_print(pattern)
    try:
        write_whole(path, text.encode("utf-8", "replace"))
    except OSError as error:
        raise not_written(path, error, PatternFileError) from None


def _folded(text: str) -> list[str]:
    return folded(text, COLUMNS, whole_words=False)
