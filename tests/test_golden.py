"""The row script and the words of each demo pattern, against files that a person has read.

After a change that is meant, write them anew with CALLER_WRITE_GOLDEN=1 and read the difference.
"""

import os
from pathlib import Path

import pytest

from caller.calling.commands import Command
from caller.calling.session import begin, step
from caller.calling.words.row_call import row_call
from caller.calling.words.utterance import said
from caller.pattern.storage.pattern_file import load
from caller.settings import CallSettings
from caller.sheets.scripts.row_script import as_lines

ROOT = Path(__file__).parent
DEMOS = sorted((ROOT.parent / "demo_patterns").glob("*.toml"))


def check(name: str, text: str) -> None:
    file = ROOT / "golden" / name
    if os.environ.get("CALLER_WRITE_GOLDEN"):
        file.write_text(text, encoding="utf-8")
    assert text == file.read_text(encoding="utf-8")


def test_there_are_four():
    assert len(DEMOS) == 4


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_rows(path):
    check(f"{path.stem}.rows.txt", "\n".join(as_lines(load(path))) + "\n")


@pytest.mark.parametrize("wording", ["short", "full", "changes"])
@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_words(path, wording):
    pattern, settings = load(path), CallSettings(wording=wording)
    rows = (said(row_call(pattern, row, settings)) for row in pattern.script)
    check(f"{path.stem}.{wording}.txt", "\n".join(rows) + "\n")


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_a_session(path):
    """What a knitter hears who does nothing but go on to the next row, as usual."""
    pattern, usual = load(path), CallSettings()
    answer = begin(pattern, usual, None, 160)
    heard = [said(answer.say)]
    while answer.state.place.row <= pattern.script.rows:
        answer = step(pattern, usual, answer.state, Command.NEXT)
        heard.append(said(answer.say))
    check(f"{path.stem}.session.txt", "\n".join(heard) + "\n")
