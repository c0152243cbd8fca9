"""What README and its pages promise: every command and option, and none that is not there."""

import re
from pathlib import Path

import click

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


def test_every_command_stands_in_readme() -> None:
    assert not [name for name in COMMANDS if not re.search(rf"{PROGRAM} {name}\b", README)]


def test_every_option_stands_in_readme() -> None:
    # A switch that is on stands there by its other half.
    assert not [
        option
        for option in sorted(OPTIONS)
        if not re.search(rf"--(no-)?{option}(?![-a-z])", README)
    ]


def test_every_command_in_readme_is_one() -> None:
    assert set(re.findall(rf"{PROGRAM} ([a-z]+)", README)) == set(COMMANDS)


def test_every_option_in_readme_is_one() -> None:
    lines = re.findall(rf"{PROGRAM} [a-z]+ [^`\n]*", README)
    assert len(lines) > 20
    for line in lines:
        known = {name for one in COMMANDS[line.split()[1]].params for name in one.opts}
        assert set(re.findall(r"(?<=\s)--?[a-z][-a-z]*", line)) <= known, line


def test_every_link_leads_somewhere() -> None:
    links = [
        (page, one or other)
        for page in PAGES
        for one, other in re.findall(
            r"\]\(([^)#]+)\)|src=\"([^\"]+)\"", page.read_text(encoding="utf-8")
        )
    ]
    assert len(links) > len(PAGES)
    assert not [f"{page.name}: {to}" for page, to in links if not (page.parent / to).exists()]
