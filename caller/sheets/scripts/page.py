"""The row script as a page that calls the rows: one file, without anything from a network.

A heading and a list a row, so that a screen reader goes from heading to heading and nothing is
wider than a small screen; colours only beside their names. Where a row's track is known, the page
plays it.
"""

from collections.abc import Iterator, Mapping
from html import escape
from importlib.resources import files
from urllib.parse import quote

from caller.calling.words import clauses
from caller.pattern.laying import laying_of
from caller.pattern.pattern import Pattern
from caller.sheets.scripts.row_lines import RunLine, before_row_1, facts, run_lines, shape_lines


def as_html(pattern: Pattern, sounds: Mapping[int, str] | None = None, name: str = "") -> str:
    """The whole script as one page, after WCAG 2.2 AA, in light or dark as the reader likes.

    `sounds` are the names of the rows' tracks, which lie beside the page; `name` tells the page
    from others in one folder, and under it a browser keeps the place.
    """
    return "\n".join([*_page(pattern, sounds or {}, name), ""])


def _page(pattern: Pattern, sounds: Mapping[int, str], name: str) -> Iterator[str]:
    title, rows = escape(pattern.title), pattern.script.rows
    swatches = "".join(f".y{n}{{background:{y.colour}}}\n" for n, y in enumerate(pattern.yarns))
    yield '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width, initial-scale=1">'
    yield f"<title>{title}, row by row</title>"
    yield f"<style>\n{_file('page.css')}{swatches}</style>\n</head>"
    # A place belongs to the chart as it is, not to another of the same name.
    chart = laying_of(pattern).chart
    yield f'<body data-pattern="{escape(name or pattern.title)} {chart}">'
    yield '<a class="skip" href="#rows">Skip to row 1</a>'
    yield f"<header>\n<h1>{title}, row by row</h1>\n<ul>"
    yield from (f"<li>{escape(fact)}</li>" for fact in facts(pattern))
    yield '</ul>\n<section aria-labelledby="yarns">\n<h2 id="yarns">Yarns</h2>\n<ul class="yarns">'
    for number, yarn in enumerate(pattern.yarns):
        yield f'<li><i class="y{number}"></i>{_name(yarn.name)}</li>'
    yield '</ul>\n</section>\n<section aria-labelledby="before">\n<h2 id="before">To begin</h2>'
    yield from (f"<p>{escape(line)}</p>" for line in before_row_1(pattern))
    yield "</section>"
    yield from _choices(bool(sounds))
    yield '<details>\n<summary>Go to a row</summary>\n<nav aria-label="Rows">\n<ul>'
    step = 10 if rows <= 400 else 50
    for number in [1, *range(step, rows + 1, step)]:
        yield f'<li><a href="#r{number}">Row {number}</a></li>'
    yield '</ul>\n</nav>\n</details>\n</header>\n<main id="rows" tabindex="-1">'
    for number in range(1, rows + 1):
        yield from _row(pattern, number, sounds.get(number))
    yield f'<p class="finished">The picture is finished. All {rows} rows are knitted.</p>\n</main>'
    yield _BAR
    yield f"<script>\n{_file('page.js')}</script>\n</body>\n</html>"


def _choices(sounds: bool) -> Iterator[str]:
    hidden = "" if sounds else " hidden"
    yield f'<p class="sound"{hidden}><label><input type="checkbox" checked>Play the sound</label>'
    yield "</p>\n<details>\n<summary>Buttons, keys and pedals</summary>"
    yield (
        "<p>Next: space, Enter, Page Down, the right arrow, or a pedal that sends one of them. "
        "Back: Page Up, the left arrow or Backspace. After a button was pressed, r or the up arrow "
        "repeats, and b goes back. The browser keeps your place.</p>\n</details>"
    )


def _row(pattern: Pattern, number: int, sound: str | None) -> Iterator[str]:
    direction = pattern.script.direction(number)
    yield f'<section id="r{number}">'
    yield f'<h2 class="{direction}">Row {number}, {clauses.way(direction)}</h2>'
    for line in shape_lines(pattern, number):
        yield f'<p class="shape">{escape(line)}</p>'
    yield "<ol>"
    yield from map(_run, run_lines(pattern, number))
    yield "</ol>"
    for reminder in pattern.reminders_at(number):
        yield f'<p class="remember">Remember: {escape(reminder)}.</p>'
    if sound is not None:
        yield f'<p class="hear"><a href="{quote(sound)}">Hear row {number}</a></p>'
    yield "</section>"


def _run(run: RunLine) -> str:
    # A name may be written in any script, and does not turn what stands beside it.
    parts = run.parts
    end = f"{escape(parts.before)}{_name(parts.name)}{escape(parts.after)}"
    return (
        f'<li><i class="y{run.yarn}"></i><div><p>{end} {parts.to} <b>{parts.last}</b></p>'
        f"<p>{escape(run.more)}</p></div></li>"
    )


def _name(name: str) -> str:
    return f"<bdi>{escape(name)}</bdi>"


def _file(name: str) -> str:
    return files(__package__).joinpath(name).read_text(encoding="utf-8")


_BAR = """\
<section class="bar" aria-label="Call the rows" hidden>
<p role="status"></p>
<div><button type="button" data-move="back">Back</button>
<button type="button" data-move="again">Repeat</button>
<button type="button" class="next" data-move="next">Next</button></div>
</section>"""
