"""What the commands print on a real pseudo-terminal: harmless, and in lines that fit it."""

import json
import re
import subprocess
import sys
import unicodedata
from pathlib import Path

import numpy as np
import pytest
from child_env import WITHOUT_SOUND
from click.testing import CliRunner
from PIL import Image
from wcwidth import wcswidth

from caller.cli import main

pexpect = pytest.importorskip("pexpect")

CALLER = [sys.executable, "-m", "caller"]
ESCAPES = "\x1b[2J\x1b]0;mine\x07\x9b31m"
TURNED = "\u202edrawkcab\u202c\u200b\ufeff"
TITLE = f"A boat{ESCAPES}{TURNED} and 針仕事の船 on a calm sea"
YARN = "navy\x1b[31m\nRow 9\u2066"
SAY = f"move\x07 the\r\nweights{TURNED}"
HOSTILE = f"""version = 1
title = {json.dumps(TITLE)}
chart = "boat.png"
[[yarns]]
name = {json.dumps(YARN)}
colour = "#1b2a4a"
[[yarns]]
name = "an ivory of undyed wool"
colour = "#f4efe0"
[[reminders]]
row = 2
say = {json.dumps(SAY)}
"""


@pytest.fixture
def boat(tmp_path):
    """A pattern of eighty stitches with a hostile title, names, reminder and file name."""
    colours = np.array([(0x1B, 0x2A, 0x4A), (0xF4, 0xEF, 0xE0)], dtype=np.uint8)
    cells = np.arange(80) // 5 % 2 ^ (np.arange(6)[:, None] % 3 == 0)
    Image.fromarray(colours[cells]).save(tmp_path / "boat.png")
    path = tmp_path / "boat\x1b[31m\u202e of\nmine.toml"
    path.write_text(HOSTILE, encoding="utf-8")
    return path


def spawn(columns: int, *arguments: object, **env: str):
    return pexpect.spawn(
        CALLER[0],
        [*CALLER[1:], *map(str, arguments)],
        env={**WITHOUT_SOUND, "TERM": "xterm", **env},
        encoding="utf-8",
        dimensions=(24, columns),
        timeout=90,
    )


def on_terminal(columns: int, *arguments: object, **env: str) -> str:
    child = spawn(columns, *arguments, **env)
    child.expect(pexpect.EOF)
    child.close()
    return child.before


PROGRESS = re.compile(r"(?:\r?\x1b\[\?25l[^\r\n]*)+(?:\r\n)?")
"""A progress bar: it hides the cursor, and draws over its own line. It has a test of its own."""


def assert_fits(text: str, columns: int) -> None:
    """Only signs that are seen, in lines of whole words."""
    lines = text.replace("\r\n", "\n").split("\n")
    for line in lines:
        assert all(unicodedata.category(c) not in ("Cc", "Cf", "Cs") for c in line), repr(line)
        # A word that is longer than the terminal is a file's path or the like, by itself.
        assert wcswidth(line) <= columns or " " not in line.strip(), repr(line)


def labels(text: str) -> list[str]:
    return re.findall(r"\b[LR][0-9]+\b", text)


@pytest.mark.parametrize(
    ("columns", "name", "options"),
    [
        (20, "rows", ()),
        (200, "rows", ()),
        (20, "plan", ()),
        (97, "plan", ()),
        (40, "say", ("--row", 2, "--text")),
    ],
)
def test_a_hostile_pattern_at_any_width(boat, columns, name, options):
    shown = PROGRESS.sub("", on_terminal(columns, name, boat, *options))
    assert_fits(shown, columns)
    # Broken lines lose no word and split no needle label: what a pipe gets is one line each.
    piped = CliRunner().invoke(main, [name, str(boat), *map(str, options)])
    whole, code = piped.stdout, piped.exit_code
    assert code == 0
    assert shown.split() == whole.split()
    assert labels(shown) == labels(whole)
    if name == "rows":
        assert "A boat [2J ]0;mine 31mdrawkcab and 針仕事の船 on a calm sea." in whole
        assert len(labels(shown)) > 80
        assert len(whole.splitlines()) == 8  # where it lies, the ends to hang, and one a row


def test_a_session_follows_the_terminals_width(boat):
    sitting = spawn(60, "knit", boat, "--no-listen", "--voice", "espeak", "--row", 2, "--runs", 0)
    sitting.expect(r"Row\s+2,\s+going\s+left")
    sitting.expect(r"Remember")
    first = sitting.before
    for columns in (24, 150):
        sitting.setwinsize(24, columns)
        sitting.send("r")
        sitting.expect(r"to\s+L40")
        assert_fits(sitting.before.partition("\r\n")[2], columns)
        assert max(map(wcswidth, sitting.before.split("\r\n"))) > min(columns, 60) - 16
    sitting.send(" ")
    sitting.expect(r"Row\s+3")
    sitting.send("q")
    sitting.expect("Stopping at row 3 of 6")
    sitting.expect(pexpect.EOF)
    assert_fits(first, 60)


def test_errors_are_harmless_and_fit(boat):
    for arguments in (
        ("knit", boat.with_name("no\x1b[31m boat\u202e.toml")),
        ("knit", boat, "--row", 7),
        ("rows", boat, "--no\x1b[31msuch"),
        ("say", boat, "--row", "\x1b[31m"),
        (f"rows{ESCAPES}", boat),
    ):
        shown = on_terminal(40, *arguments)
        assert_fits(shown, 40)
        assert len(shown.split()) > 5


def test_the_settings_file_is_harmless_too(boat, tmp_path):
    settings = tmp_path / "my\x1b[31msettings.toml"
    for text in ('wording = "\\u001b[31m\\u202elong"\n', '"\\u001b[31m" = "long"\n'):
        settings.write_text(f"[options]\n{text}")
        command = ("say", boat, "--row", 1, "--text")
        assert_fits(on_terminal(40, *command, CALLER_SETTINGS=str(settings)), 40)


def test_json_is_ascii(boat):
    shown = on_terminal(40, "rows", boat, "--json")
    assert shown.isascii()
    assert json.loads(shown)["yarns"][0]["name"] == "navy [31m Row 9"


@pytest.mark.parametrize("columns", [20, 100])
def test_help_fits(columns):
    for command in ((), ("knit",)):
        lines = on_terminal(columns, *command, "--help").replace("\r", "").split("\n")
        # What is typed is left whole; all else is broken between words.
        prose = [line for line in lines if not line.lstrip().startswith(("-", "Usage"))]
        assert len(prose) > 5
        assert all(len(line) <= columns for line in prose)


def test_nothing_is_coloured(boat):
    assert "\x1b" not in PROGRESS.sub("", on_terminal(80, "plan", boat, FORCE_COLOR="1"))


def test_a_progress_bar_keeps_to_its_line(boat, tmp_path):
    columns = 20
    shown = on_terminal(
        columns, "tracks", boat, "-o", tmp_path / "tracks", "--voice", "espeak", "--rows", "2-3"
    )
    shown = re.sub(r"\x1b\[\?25[lh]", "", shown)  # the cursor, hidden and shown again
    bars = re.findall(r"[^\r\n]*\[[#-]+\][^\r\n]*", shown)
    assert bars
    assert all(len(bar) <= columns for bar in bars)


def test_a_terminal_that_knows_few_letters(boat):
    done = subprocess.run(
        [*CALLER, "rows", str(boat)],
        capture_output=True,
        env={**WITHOUT_SOUND, "PYTHONIOENCODING": "ascii"},
        check=False,
    )
    assert done.returncode == 0
    assert b"A boat [2J ]0;mine 31mdrawkcab and ????" in done.stdout
    assert not done.stderr


def test_only_the_screen_prints():
    for file in sorted((Path(__file__).parents[2] / "caller").rglob("*.py")):
        if file.name != "screen.py":
            assert not re.search(
                r"click\.(echo|secho|progressbar)|\bprint\(", file.read_text("utf-8")
            ), file
