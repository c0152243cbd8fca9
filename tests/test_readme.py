"""What README and its pages promise: every command and option, and none that is not there."""

import re
from pathlib import Path

import click
import pytest

from caller.cli.base import main
from caller.installation import PROGRAM

ROOT = Path(__file__).parent.parent
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
README = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
CONTEXT = click.Context(main, info_name=PROGRAM)
COMMANDS = {name: main.get_command(CONTEXT, name) for name in main.list_commands(CONTEXT)}
OPTIONS = {
    max(option.opts, key=len).removeprefix("--")
    for command in COMMANDS.values()
    for option in command.params
    if isinstance(option, click.Option)
}


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_stands_in_readme(name: str) -> None:
    assert re.search(rf"{PROGRAM} {name}\b", README)


@pytest.mark.parametrize("option", sorted(OPTIONS))
def test_every_option_stands_in_readme(option: str) -> None:
    # A switch that is on stands there by its other half.
    assert re.search(rf"--(no-)?{option}(?![-a-z])", README)


def test_every_command_in_readme_is_one() -> None:
    assert set(re.findall(rf"{PROGRAM} ([a-z]+)", README)) == set(COMMANDS)


@pytest.mark.parametrize("line", re.findall(rf"{PROGRAM} [a-z]+ [^`\n]*", README))
def test_every_option_in_readme_is_one(line: str) -> None:
    known = {name for one in COMMANDS[line.split()[1]].params for name in one.opts}
    assert set(re.findall(r"(?<=\s)--?[a-z][-a-z]*", line)) <= known


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_every_link_leads_somewhere(page: Path) -> None:
    links = re.findall(r"\]\(([^)#]+)\)|src=\"([^\"]+)\"", page.read_text(encoding="utf-8"))
    assert all((page.parent / (one or other)).exists() for one, other in links)
