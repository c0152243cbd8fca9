"""The row on the terminal as large as fits, put to a session."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

from caller.calling.desk import Desk
from caller.calling.state import Told
from caller.devices.page.view import view
from caller.sheets.large_print import large_print

Draw = Callable[[Callable[[int, int], Sequence[str]]], None]
"""Draws what is given for so many columns and lines, as the terminal is when it is drawn."""


def with_large(desk: Desk, draw: Draw) -> Desk:
    """The desk, with the row drawn after whatever is told, so that it is always in sight."""
    before = desk.watch

    def watch(told: Told) -> None:
        before(told)
        seen = view(told)
        called = [(f"{run['end']} {run['to']}", run["last"]) for run in seen["runs"] if run["now"]]
        if called and not seen["ended"]:
            draw(partial(large_print, seen["heading"], called))

    return replace(desk, watch=watch)
