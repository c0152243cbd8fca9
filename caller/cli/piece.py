"""The whole piece: what is left to do after the last row."""

from pathlib import Path

from caller.cli.base import AS_JSON, PATTERN, main
from caller.cli.screen import show, show_json


@main.command()
@PATTERN
@AS_JSON
def finish(pattern_path: Path, as_json: bool) -> None:
    """Say how to finish: cast-off, tails to weave in by yarn and place, blocking, washing."""
    from caller.pattern.storage.pattern_file import load
    from caller.sheets import finishing

    pattern = load(pattern_path)
    if as_json:
        show_json(finishing.as_json(pattern))
    else:
        for line in finishing.as_lines(pattern):
            show(line)
