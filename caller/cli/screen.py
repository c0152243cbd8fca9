"""What the commands print: harmless, and in lines that fit the terminal."""

import json
import os
import shutil
import sys
from collections.abc import Callable, Sequence
from typing import IO, Any

import click

from caller.cli.streams import give_up
from caller.errors import ScreenError
from caller.installation import runnable
from caller.plain_text import folded, plain

_USUAL_COLUMNS = 80  # of a terminal that does not tell
_FEWEST_COLUMNS = 10
_LINES_SAID = 3
_BLOCKS = "▀▄█"
_WHOLE_PROGRESS = 60  # columns that a progress bar takes with its label and the time to go


def columns(stream: IO[Any]) -> int | None:
    """The columns of the terminal as it is now; None where the output goes elsewhere."""
    try:
        if not stream.isatty():
            return None
        return max(_FEWEST_COLUMNS, os.get_terminal_size(stream.fileno()).columns or _USUAL_COLUMNS)
    except (OSError, ValueError):
        return None


def show(text: str = "", err: bool = False, whole: bool = False) -> None:
    """Print a line of text: on a terminal folded between words, elsewhere as one line.

    Whatever it holds, nothing but letters, signs and single spaces is printed. The program's own
    commands stand in it as they can be typed here. `whole` leaves it unfolded, to be copied.
    Raises as `_put`.
    """
    text = runnable(text)
    stream = sys.stderr if err else sys.stdout
    width = None if whole else columns(stream)
    if width is None:
        lead = " " * (len(text) - len(text.lstrip(" ")))
        lines = [lead + plain(text)]
    else:
        lines = folded(text, width) or [""]
    code = getattr(stream, "encoding", None) or "utf-8"
    for line in lines:
        _put(line.encode(code, "replace").decode(code), err=err)


def tell(text: str) -> None:
    """Print a line that is not what the command was asked for: on standard error."""
    show(text, err=True)


def _put(text: str, err: bool = False, newline: bool = True) -> None:
    """Print; ScreenError where standard output takes nothing, and nothing more is then written.

    BrokenPipeError where who has read it wants no more. What standard error does not take is lost.
    """
    try:
        click.echo(text, err=err, nl=newline)
    except (OSError, ValueError) as error:  # ValueError: it has been closed
        give_up(sys.stderr if err else sys.stdout)
        if isinstance(error, BrokenPipeError) and not err:
            raise
        if not err:
            why = getattr(error, "strerror", None) or "it is closed"
            raise ScreenError(
                f"What is to be shown cannot be written: {why}.", "Is the disk full?"
            ) from None


def show_drawing(drawing: Callable[[int, int], Sequence[str]]) -> None:
    """Print what is drawn for the columns and lines of the terminal; 80 by 24 elsewhere.

    Some lines stay free for what is said. Where the code page has no blocks other signs stand.
    """
    wide, high = shutil.get_terminal_size((_USUAL_COLUMNS, 24))
    code = getattr(sys.stdout, "encoding", None) or "utf-8"
    try:
        _BLOCKS.encode(code)
        instead = {}
    except UnicodeEncodeError:
        instead = str.maketrans(_BLOCKS, '"_#')
    for line in drawing(max(_FEWEST_COLUMNS, wide - 1), max(1, high - _LINES_SAID)):
        _put(line.translate(instead).encode(code, "replace").decode(code))


def asks() -> bool:
    """Whether there is somebody at a terminal who can be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


class _Beginning(click.Choice[str]):
    """A choice that may be typed as far as it is like no other."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> str:
        typed = str(value).strip().casefold()
        meant = [choice for choice in self.choices if choice.casefold().startswith(typed)]
        return super().convert(meant[0] if len(meant) == 1 else value, param, ctx)


def ask(question: str, choices: tuple[str, ...]) -> str:
    """The answer to a question at the terminal; the first of the choices is the usual one.

    Its first letter will do.
    """
    try:
        answer: str = click.prompt(
            runnable(plain(question)), type=_Beginning(choices, False), default=choices[0]
        )
    except click.Abort:
        raise KeyboardInterrupt from None
    return answer


def show_again(text: str) -> None:
    """Print a meter's line; on a terminal it takes the place of the one before."""
    width = columns(sys.stdout)
    if width is None:
        _put(text)
    else:
        _put(text[:width].ljust(width - 1) + "\r", newline=False)


def show_json(data: Any) -> None:
    """Print data as one line of JSON, in ASCII, which no terminal takes for a command."""
    _put(json.dumps(data).replace("\x7f", "\\u007f"))


def progress(length: int, label: str) -> Any:
    """A progress bar on standard error, as click's, that fits the terminal."""
    width = columns(sys.stderr)
    if width is None or width >= _WHOLE_PROGRESS:
        return click.progressbar(length=length, label=label, file=sys.stderr)
    bar = max(1, width - len("  [] 100%  "))
    return click.progressbar(length=length, show_eta=False, width=bar, file=sys.stderr)


class Help(click.HelpFormatter):
    """click's help, which by itself is never narrower than 50 columns, in those that there are."""

    def __init__(self, indent_increment: int = 2, width: int | None = None, *_: Any, **__: Any):
        narrow = min(columns(sys.stdout) or _USUAL_COLUMNS, _USUAL_COLUMNS) - 2
        super().__init__(indent_increment, width or narrow)

    def write_dl(self, rows: Any, col_max: int = 30, col_spacing: int = 2) -> None:
        super().write_dl(rows, min(col_max, self.width // 3), col_spacing)


class Context(click.Context):
    formatter_class = Help


class Command(click.Command):
    """A command whose help fits the terminal."""

    context_class = Context


class UsageError(click.UsageError):
    """What was typed cannot be understood; told in harmless lines that fit the terminal."""

    def show(self, file: IO[Any] | None = None) -> None:  # noqa: ARG002 (click's signature)
        if self.ctx is not None:
            show(self.ctx.get_usage(), err=True)
            show(f"Try '{self.ctx.command_path} --help' for help.", err=True)
        show(f"Error: {self.format_message()}", err=True)
