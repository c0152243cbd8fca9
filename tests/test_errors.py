"""Errors carry what is wrong and what to do, each by itself, and read as one text."""

import ast
import pickle
from collections.abc import Iterator
from pathlib import Path

import pytest

from caller import errors
from caller.errors import BedError, CallerError, GaugeError

FILES = sorted((Path(__file__).parents[1] / "caller").rglob("*.py"))
NAMES = {name for name, value in vars(errors).items() if isinstance(value, type)}


@pytest.mark.parametrize(
    ("finding", "remedy", "text"),
    [
        ("There is no chart", "check the name.", "There is no chart; check the name."),
        ("It is full.", "Make room.", "It is full. Make room."),
        ("Which pedal?", "Choose one.", "Which pedal? Choose one."),
        ("It has been closed.", "", "It has been closed."),
    ],
)
def test_finding_and_remedy_read_as_one_text(finding, remedy, text):
    error = CallerError(finding, remedy)
    assert str(error) == text
    assert (error.finding, error.remedy) == (finding, remedy)
    again = pickle.loads(pickle.dumps(error))
    assert again == error
    assert hash(again) == hash(error)


def test_errors_that_differ_are_not_equal():
    assert BedError("a", "b") == BedError("a", "b")
    assert BedError("a", "b") != GaugeError("a", "b")
    assert BedError("a", "b") != BedError("a")
    assert BedError("a") != "a"


def test_where_it_was_found_stands_in_front_and_the_kind_stays():
    error = BedError("The bed is too narrow", "choose a wider one.").at("boat.toml, line 3")
    assert type(error) is BedError
    assert str(error) == "boat.toml, line 3: The bed is too narrow; choose a wider one."


def remedies_in_findings(file: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or getattr(node.func, "id", "") not in NAMES:
            continue
        if len(node.args) == 1 and not isinstance(node.args[0], ast.Starred):
            parts = [n.value for n in ast.walk(node.args[0]) if isinstance(n, ast.Constant)]
            if "; " in "".join(map(str, parts)):
                yield f"{file}, line {node.lineno}"


def test_no_finding_holds_its_remedy() -> None:
    """An error with a semicolon in its only text would hide what to do in what is wrong."""
    assert not [where for file in FILES for where in remedies_in_findings(file)]
