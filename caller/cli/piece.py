"""The whole piece: what is left to do after the last row."""

from pathlib import Path
from typing import TYPE_CHECKING

from caller.cli.base import AS_JSON, PATTERN, main
from caller.cli.screen import show, show_json

if TYPE_CHECKING:
    from caller.pattern.pattern import Pattern
    from caller.pattern.winding import Refill


@main.command()
@PATTERN
@AS_JSON
def finish(pattern_path: Path, as_json: bool) -> None:
    """Say how to finish: cast-off, tails to weave in by yarn and place, blocking, washing."""
    from caller.pattern.storage.pattern_file import load
    from caller.sheets import finishing

    pattern = load(pattern_path)
    refills = _filled(pattern_path, pattern)
    if as_json:
        show_json(finishing.as_json(pattern, refills))
    else:
        for line in finishing.as_lines(pattern, refills):
            show(line)


def _filled(path: Path, pattern: "Pattern") -> "tuple[Refill, ...]":
    """The bobbins that were filled during the work, where its place is beside the pattern."""
    from caller.devices.storage import place_file
    from caller.pattern.laying import laying_of

    try:
        found = place_file.read(place_file.place_file(path))
    except OSError:
        return ()
    if found is None or not found.kept.laying.same_chart(laying_of(pattern)):
        return ()
    return found.kept.refills
