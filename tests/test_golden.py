"""The row script and the words of each demo pattern, against files that a person has read.

After a change that is meant, write them anew with CALLER_WRITE_GOLDEN=1 and read the difference.
"""

import os
from pathlib import Path

import pytest

from caller.calling import wording
from caller.pattern.pattern_file import load
from caller.sheets.row_script import as_lines

ROOT = Path(__file__).parent
DEMOS = sorted((ROOT.parent / "demo_patterns").glob("*.toml"))


def check(name: str, text: str) -> None:
    file = ROOT / "golden" / name
    if os.environ.get("CALLER_WRITE_GOLDEN"):
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")


def test_there_are_three():
    assert len(DEMOS) == 3


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_rows(path):
    check(f"{path.stem}.rows.txt", "\n".join(as_lines(load(path))) + "\n")


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_words(path):
    pattern = load(path)
    rows = (wording.said(wording.row_call(pattern, row)) for row in pattern.script)
    check(f"{path.stem}.said.txt", "\n".join(rows) + "\n")
