"""The row script to read: large print, and a page that a screen reader walks row by row."""

from collections.abc import Iterator
from html import escape
from pathlib import Path

from caller.calling.words import clauses
from caller.errors import PatternFileError
from caller.files import write_whole
from caller.pattern.pattern import Pattern
from caller.pattern.supplies.plan import SuppliedRun
from caller.plain_text import folded, plain
from caller.sheets.scripts.reading_style import STYLE

COLUMNS = 40
"""Of the large print: a line of a braille display, or of a page of A4 in type of 20 points."""


def as_large_print(pattern: Pattern) -> str:
    """The whole script in lines of at most 40 columns, for a large font or a braille display.

    One run a line (a long one goes on, set in, on the next), an empty line before each row.
    """
    script, label = pattern.script, pattern.bed.label
    lines = [*_folded(_title(pattern)), ""]
    for fact in _facts(pattern):
        lines += _folded(fact)
    for number, yarn in enumerate(pattern.yarns, start=1):
        lines += _folded(f"Yarn {number}: {plain(yarn.name)}")
    lines += _folded("In a row, each run: yarn: first needle to last needle, stitches, supply.")
    for row in script:
        lines += [
            "",
            *_folded(f"Row {row.number} of {script.rows}, {clauses.way(row.direction)}"),
        ]
        for reminder in pattern.reminders_at(row.number):
            lines += _folded(f"Remember: {plain(reminder)}.")
        for entry in pattern.supply_plan.row(row.number):
            run = entry.run
            lines += _folded(
                f"{plain(pattern.yarns[run.yarn].name)}: {label(run.first)} to {label(run.last)}, "
                f"{run.stitches}, supply {_supply(entry)}"
            )
    return "\n".join([*lines, ""])


def as_html(pattern: Pattern) -> str:
    """The whole script as one page that needs nothing else, after WCAG 2.2 AA.

    A heading and a table a row, so that a screen reader goes from heading to heading; type of 18
    points, in light or dark as the reader's computer is set; colours only beside their names.
    """
    return "\n".join([*_html(pattern), ""])


def write_reading(pattern: Pattern, path: Path) -> None:
    """Write the page when the name ends in .html, otherwise the large print; in UTF-8.

    Raises PatternFileError when the file cannot be written.
    """
    html = path.suffix.lower() in (".html", ".htm")
    text = as_html(pattern) if html else as_large_print(pattern)
    try:
        write_whole(path, text.encode("utf-8", "replace"))
    except OSError as error:
        raise PatternFileError(f"{path} cannot be written: {error.strerror}.") from None


def _title(pattern: Pattern) -> str:
    return plain(pattern.title) or "A pattern"


def _facts(pattern: Pattern) -> list[str]:
    script, bed = pattern.script, pattern.bed
    first, last = bed.label(script.first_needle), bed.label(script.last_needle)
    plan = pattern.supply_plan
    return [
        f"{pattern.chart.stitches} stitches, from {first} to {last}.",
        f"{script.rows} rows, from the bottom up.",
        f"{plan.total} supplies, at most {plan.at_once} at once.",
    ]


def _supply(entry: SuppliedRun) -> str:
    """The supply's number and what is done with it: "16", "19; join", "17; carry 3; cut"."""
    done = [
        "join" if entry.start == "join" else "",
        f"carry {entry.carry}" if entry.carry else "",
        "cut" if entry.end == "cut" else "",
    ]
    return "; ".join([str(entry.supply), *filter(None, done)])


def _folded(text: str) -> list[str]:
    return folded(text, COLUMNS, whole_words=False)


def _html(pattern: Pattern) -> Iterator[str]:
    title, rows = escape(_title(pattern)), pattern.script.rows
    swatches = "".join(f".y{n}{{background:{y.colour}}}" for n, y in enumerate(pattern.yarns))
    yield '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{title}, row by row</title>\n<style>\n{STYLE}{swatches}\n</style>\n</head>"
    yield '<body>\n<a class="skip" href="#rows">Skip to row 1</a>'
    yield f"<header>\n<h1>{title}, row by row</h1>\n<ul>"
    yield from (f"<li>{escape(fact)}</li>" for fact in _facts(pattern))
    yield "</ul>"
    yield from _yarn_table(pattern)
    yield '</header>\n<nav aria-labelledby="jump">\n<h2 id="jump">Go to a row</h2>\n<ul>'
    step = 10 if rows <= 400 else 50
    for number in [1, *range(step, rows + 1, step)]:
        yield f'<li><a href="#r{number}">Row {number}</a></li>'
    yield '</ul>\n</nav>\n<main id="rows" tabindex="-1">'
    for number in range(1, rows + 1):
        yield from _row(pattern, number)
    yield f"<p>The picture is finished. All {rows} rows are knitted.</p>\n</main>\n</body>\n</html>"


def _yarn_table(pattern: Pattern) -> Iterator[str]:
    yield "<h2>Yarns</h2>\n<table>\n<caption>The yarns and their colours</caption>"
    yield '<thead><tr><th scope="col">Yarn</th><th scope="col">Colour</th></tr></thead>\n<tbody>'
    for number, yarn in enumerate(pattern.yarns):
        yield f"<tr>{_yarn_cell(pattern, number)}<td>{yarn.colour}</td></tr>"
    yield "</tbody>\n</table>"


def _row(pattern: Pattern, number: int) -> Iterator[str]:
    label = pattern.bed.label
    entries = pattern.supply_plan.row(number)
    way = clauses.way(pattern.script.direction(number))
    runs = f"{len(entries)} runs" if len(entries) > 1 else "1 run"
    yield f'<section>\n<h2 id="r{number}">Row {number}, {way}</h2>'
    for reminder in pattern.reminders_at(number):
        yield f"<p>Remember: {escape(plain(reminder))}.</p>"
    yield f"<table>\n<caption>Row {number}: {runs}</caption>\n{_HEADINGS}\n<tbody>"
    for entry in entries:
        run = entry.run
        cells = (label(run.first), label(run.last), str(run.stitches), _supply(entry))
        told = "".join(f"<td>{cell}</td>" for cell in cells)
        yield f"<tr>{_yarn_cell(pattern, run.yarn)}{told}</tr>"
    yield "</tbody>\n</table>\n</section>"


_HEADINGS = (
    "<thead><tr>"
    + "".join(
        f'<th scope="col">{name}</th>' for name in ("Yarn", "From", "To", "Stitches", "Supply")
    )
    + "</tr></thead>"
)


def _yarn_cell(pattern: Pattern, number: int) -> str:
    name = escape(plain(pattern.yarns[number].name))
    return f'<th scope="row"><i class="y{number}"></i>{name}</th>'
