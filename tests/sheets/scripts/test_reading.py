"""The row script to read: read back by other decoders, and by an accessibility checker."""

import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wcwidth import wcswidth

from caller.errors import PatternFileError, YarnError
from caller.pattern.bed import Bed
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.storage.pattern_file import load
from caller.pattern.yarns import Yarn
from caller.sheets.scripts.reading import COLUMNS, as_html, as_large_print, write_reading
from caller.sheets.scripts.row_script import as_json

DEMOS = [  # shaped rows are read in test_shaped_script.py
    path
    for path in sorted((Path(__file__).parents[3] / "demo_patterns").glob("*.toml"))
    if not load(path).chart.shaped
]


def chart_of(rows: int, stitches: int, yarns: int, number: int = 1) -> Chart:
    random = np.random.default_rng(number)
    cells = random.integers(0, yarns, (rows, stitches), dtype=np.uint8)
    return Chart(np.repeat(cells, 3, axis=1)[:, :stitches])


class PageReader(HTMLParser):
    """Rebuilds the row script from a page's headings and lists."""

    VOID = ("meta", "link", "br", "img", "input")

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[tuple[str, dict]] = []
        self.tags: list[tuple[str, dict]] = []
        self.headings: list[tuple[str, str]] = []
        self.items: list[tuple[str, str, str | None]] = []
        self.paragraphs: list[str] = []
        self.texts = [""]
        self.feed(page)
        self.close()
        assert not self.open, f"not closed: {self.open}"
        self.colours = re.findall(r"\.y(\d+)\{background:(#\w+)\}", page)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append((tag, dict(attrs)))
            self.texts.append("")
        if tag == "i":
            self.swatch = dict(attrs)["class"]

    def handle_endtag(self, tag):
        opened, _ = self.open.pop()
        assert opened == tag
        text = self.texts.pop()
        if tag in ("h1", "h2", "h3"):
            self.headings.append((tag, text))
        elif tag == "li":
            self.items.append((self.headings[-1][1], text, getattr(self, "swatch", None)))
        elif tag == "p":
            self.paragraphs.append(text)
            text += "\n"
        self.texts[-1] += text

    def handle_data(self, data):
        self.texts[-1] += data

    def under(self, heading: str) -> list[tuple[str, str | None]]:
        return [(text, swatch) for above, text, swatch in self.items if above == heading]

    def script(self) -> dict:
        """In the shape of the JSON row script."""
        size = re.fullmatch(r"(\d+) stitches, from (\w+) to (\w+)\.", self.items[0][1])
        colours = dict(self.colours)
        yarns = [
            {"name": name, "colour": colours[swatch[1:]]}
            for name, swatch in self.under("Yarns")
            if not re.fullmatch(r"Row \d+", name)
        ]
        rows = [text for level, text in self.headings if re.fullmatch(r"Row \d+, .*", text)]
        return {
            "cast_on": int(size[1]),
            "first_needle": size[2],
            "last_needle": size[3],
            "yarns": yarns,
            "rows": [self._row(heading, yarns) for heading in rows],
        }

    def _row(self, heading: str, yarns: list[dict]) -> dict:
        number, direction = re.fullmatch(r"Row (\d+), going (right|left)", heading).groups()
        runs = []
        for text, swatch in self.under(heading):
            told, more, _ = text.split("\n")
            run = run_of(f"{told}: {more}", [yarn["name"] for yarn in yarns])
            assert yarns[int(swatch[1:])]["name"] == run["yarn"], "a colour beside another's name"
            runs.append(run)
        return {"row": int(number), "direction": direction, "runs": runs}


def run_of(line: str, names: list[str]) -> dict:
    """A run from its line: "new cream 2 to L6: from L1, 6 stitches, bobbin 2; cut after …"."""
    told, more = re.fullmatch(r"(.+): (from .+)", line).groups()
    new, end, hung, _, last = re.fullmatch(
        r"(new )?(.+?)(?: waiting at (\w+),)? (to|only) (\w+)", told
    ).groups()
    first, stitches, bobbin, cut = re.fullmatch(
        r"from (\w+), (\d+) stitch(?:es)?(?:, bobbin (\d+))?"
        r"(; cut after the pass|; keep it to bind off)?",
        more,
    ).groups()
    named = [name for name in names if end in (name, f"{name} {bobbin}")]
    if new and not named:  # a yarn that is itself called new something
        new, named = None, [name for name in names if f"new {end}" in (name, f"{name} {bobbin}")]
    assert named, line
    return {
        "yarn": named[0],
        "from": first,
        "to": last,
        "stitches": int(stitches),
        "new": bool(new),
        "hung": hung,
        "bobbin": int(bobbin or 1),
        "cut": cut == "; cut after the pass",
    }


def expected_rows(pattern: Pattern) -> list[dict]:
    """The rows as the plan has them, which is not where the page takes its words from."""
    plan, label = pattern.supply_plan, pattern.bed.label
    rows = []
    for row in as_json(pattern)["rows"]:
        runs = []
        for run, entry in zip(row["runs"], plan.row(row["row"]), strict=True):
            hung = entry.carried_from
            runs.append(
                {key: run[key] for key in ("yarn", "from", "to", "stitches")}
                | {
                    "new": run["start"] == "join" and row["row"] > 1,
                    "hung": None if hung is None else label(hung),
                    "bobbin": int(plan.bobbins.bobbin[entry.supply - 1]),
                    "cut": run["end"] == "cut",
                }
            )
        rows.append({"row": row["row"], "direction": row["direction"], "runs": runs})
    return rows


def assert_told(read: list[dict], pattern: Pattern) -> None:
    """All of the plan is told; where an end hangs need not be where the eye finds it by itself."""
    expected = expected_rows(pattern)
    assert len(read) == len(expected)
    for row, wanted in zip(read, expected, strict=True):
        for run, right in zip(row["runs"], wanted["runs"], strict=True):
            run["hung"] = run["hung"] or right["hung"]
        assert row == wanted


def large_print_rows(text: str, pattern: Pattern) -> list[dict]:
    """The rows of the large print."""
    names = [yarn.name for yarn in pattern.yarns]
    unfolded = re.sub(r"\n  +", " ", text)
    rows = []
    for block in unfolded.split("\n\n")[2:]:
        heading, *lines = block.strip("\n").split("\n")
        number, direction = re.fullmatch(r"Row (\d+) of \d+, going (\w+)", heading).groups()
        runs = [run_of(line, names) for line in lines if not line.startswith("Remember: ")]
        rows.append({"row": int(number), "direction": direction, "runs": runs})
    return rows


def assert_page(page: PageReader, pattern: Pattern) -> None:
    read, expected = page.script(), as_json(pattern)
    assert_told(read.pop("rows"), pattern)
    del expected["rows"]
    assert read == expected


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_the_demo_patterns_read_back(path):
    pattern = load(path)
    assert_page(PageReader(as_html(pattern)), pattern)
    assert_told(large_print_rows(as_large_print(pattern), pattern), pattern)


LETTERS = st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp", "Zs"))
NAMES = st.lists(st.text(LETTERS, min_size=1, max_size=9), min_size=1, max_size=4).map(" ".join)


def can_be_called(name: str) -> bool:
    """Names that may be given, but for those that end like another's bobbin ("navy 2")."""
    if any(character.isdigit() for character in name):
        return False
    try:
        Yarn(name, "#000000")
    except YarnError:
        return False
    return True


@settings(deadline=None)
@given(st.data())
def test_any_pattern_reads_back(data):
    yarns = data.draw(st.integers(2, 5))
    names = st.lists(
        NAMES.filter(can_be_called), min_size=yarns, max_size=yarns, unique_by=str.casefold
    )
    chart = chart_of(data.draw(st.integers(1, 6)), data.draw(st.integers(1, 30)), yarns)
    says = data.draw(st.lists(st.text(max_size=60), max_size=2))
    pattern = Pattern(
        data.draw(st.text(max_size=50)),
        chart,
        tuple(Yarn(name, f"#{n}{n}{n}a0f") for n, name in enumerate(data.draw(names))),
        Bed(200, 4.5, data.draw(st.sampled_from(["centre", "straight"]))),
        first_direction=data.draw(st.sampled_from(["right", "left"])),
        reminders=tuple(Reminder(1, say) for say in says),
    )
    page = PageReader(as_html(pattern))
    assert_page(page, pattern)
    told = [text for text in page.paragraphs if text.startswith("Remember: ")]
    assert len(told) == len(says)
    large = as_large_print(pattern)
    assert_told(large_print_rows(large, pattern), pattern)
    assert max(wcswidth(line) for line in large.split("\n")) <= COLUMNS


def test_large_print():
    cells = [[0, 0, 1, 1, 1, 1], [0, 0, 0, 1, 1, 1], [0, 1, 1, 1, 0, 0]]
    yarns = (Yarn("navy", "#1d3557"), Yarn("a pale and rather woolly green", "#bcd8b0"))
    reminder = Reminder(2, "move the weights up")
    chart = Chart(np.array(cells, dtype=np.uint8))
    assert as_large_print(Pattern("Flag", chart, yarns, reminders=(reminder,))) == (
        "Flag\n"
        "\n"
        "6 stitches, from L3 to R3.\n"
        "3 rows, from the bottom up.\n"
        "3 ends to hang in all, at most 3 at\n"
        "  once.\n"
        "Yarn 1: navy\n"
        "Yarn 2: a pale and rather woolly green\n"
        "Before row 1, the carriage stands on the\n"
        "  left.\n"
        "Hang 2 ends, tails to the left:\n"
        "navy 1 at L3;\n"
        "a pale and rather woolly green at L1.\n"
        "Where two yarns meet, take up the next\n"
        "  one from under the one just laid.\n"
        "\n"
        "Row 1 of 3, going right\n"
        "navy to L2: from L3, 2 stitches, bobbin\n"
        "  1\n"
        "a pale and rather woolly green to R3:\n"
        "  from L1, 4 stitches\n"
        "\n"
        "Row 2 of 3, going left\n"
        "a pale and rather woolly green to R1:\n"
        "  from R3, 3 stitches\n"
        "navy to L3: from L1, 3 stitches, bobbin\n"
        "  1\n"
        "Remember: move the weights up.\n"
        "\n"
        "Row 3 of 3, going right\n"
        "navy only L3: from L3, 1 stitch, bobbin\n"
        "  1; cut after the pass\n"
        "a pale and rather woolly green waiting\n"
        "  at R1, to R1: from L2, 3 stitches; cut\n"
        "  after the pass\n"
        "new navy 2 to R3: from R2, 2 stitches,\n"
        "  bobbin 2; keep it to bind off\n"
    )


HOSTILE = "</title></style><script>alert(1)</script>\"'&amp;"


def hostile(rows: int = 30) -> Pattern:
    """Names that would be markup, a straight bed, many yarns and reminders."""
    yarns = [Yarn(f"<i>{n}\"'&lt;", f"#{n * 9:02x}{255 - n * 9:02x}80") for n in range(24)]
    reminders = (Reminder(1, HOSTILE), Reminder(rows, "<b>cast off"))
    return Pattern(
        HOSTILE, chart_of(rows, 60, 24), tuple(yarns), Bed(200, 4.5, "straight"), None, "left",
        reminders,
    )  # fmt: skip


def test_names_are_no_markup():
    page = PageReader(as_html(hostile(), {1: "<b>&\"'.ogg"}, HOSTILE))
    assert_page(page, hostile())
    used = {tag for tag, _ in page.tags}
    assert not used & {"img", "link", "iframe", "audio"}
    assert [tag for tag, _ in page.tags].count("script") == 1
    assert page.headings[0][1] == f"{HOSTILE}, row by row"
    assert f"Remember: {HOSTILE}." in page.paragraphs
    (sound,) = [link["href"] for tag, link in page.tags if tag == "a" and "%" in link["href"]]
    assert sound == "%3Cb%3E%26%22%27.ogg"


def test_how_the_page_is_built():
    pattern = load(DEMOS[-1])
    text = as_html(pattern, {1: "boat-001.ogg", 3: "boat-003.ogg"})
    page = PageReader(text)
    tags = [tag for tag, _ in page.tags]
    assert [tags.count(tag) for tag in ("html", "title", "h1", "main", "nav", "header")] == [1] * 6
    assert ("html", {"lang": "en"}) in page.tags
    rows = [heading for heading in page.headings if heading[1].startswith("Row ")]
    assert len(rows) == pattern.script.rows
    assert all(level == "h2" for level, _ in rows)
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(ids) == len(set(ids))
    links = [attributes["href"] for tag, attributes in page.tags if tag == "a"]
    assert links[0] == "#rows"
    assert {link.removeprefix("#") for link in links if link[0] == "#"} <= set(ids)
    assert [link for link in links if link[0] != "#"] == ["boat-001.ogg", "boat-003.ogg"]
    # One file, that fetches nothing but the tracks beside it.
    assert not re.search(r"https?:|url\(|@import|src=|fetch\(|XMLHttp|import\(", text)


def test_long_work_stays_one_page():
    pattern = Pattern("Long", chart_of(600, 40, 2), (Yarn("a", "#000000"), Yarn("b", "#ffffff")))
    text = as_html(pattern)
    assert len(text) < 1_200_000
    page = PageReader(text)
    assert_page(page, pattern)
    jumps = [text for _, text, _ in page.items if re.fullmatch(r"Row \d+", text)]
    assert jumps[:3] == ["Row 1", "Row 50", "Row 100"]
    assert jumps[-1] == "Row 600"


def test_files(tmp_path):
    pattern = load(DEMOS[0])
    for name, text in [
        ("rows.html", as_html(pattern, None, "rows")),
        ("rows.txt", as_large_print(pattern)),
    ]:
        write_reading(pattern, tmp_path / name)
        assert (tmp_path / name).read_text(encoding="utf-8") == text
    assert len(list(tmp_path.iterdir())) == 2


def test_a_file_that_cannot_be_written(tmp_path):
    (tmp_path / "rows.html").mkdir()
    with pytest.raises(PatternFileError, match=r"rows\.html cannot be written: .+\."):
        write_reading(load(DEMOS[0]), tmp_path / "rows.html")
    with pytest.raises(PatternFileError, match="cannot be written"):
        write_reading(load(DEMOS[0]), tmp_path / "nowhere" / "rows.txt")
    assert [path.name for path in tmp_path.iterdir()] == ["rows.html"]
