"""A session to the end by typed lines: a bobbin that runs out, a needle asked about, rows that are
unravelled, and the finishing; then the sheet that knows the filled bobbin."""

import subprocess
import sys

from child_env import WITHOUT_SOUND
from small_pieces import HALVES

from caller.pattern.storage.pattern_file import save

CALLER = [sys.executable, "-m", "caller"]


def caller(*arguments: object, lines: str = "") -> str:
    done = subprocess.run(
        [*CALLER, *map(str, arguments)],
        input=lines,
        env=WITHOUT_SOUND,
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    return done.stdout


def test_by_lines_from_a_short_bobbin_to_the_last_tail(tmp_path):
    path, _ = save(HALVES, tmp_path / "halves.toml")
    typed = ["next", "bobbin L10", "yarn", "happened R1", "happened R1", "unravel 2", "yes"]
    typed += ["row 10", "yes", "next", "finish", *["next"] * 3, "leave"]
    told = caller("knit", path, "--no-listen", "--row", 4, lines="\n".join(typed) + "\n")
    lines = told.splitlines()

    def index(text: str) -> int:
        return next(number for number, line in enumerate(lines) if text in line)

    order = [
        "navy will have about 10 cm left; the row after this one needs 20 cm.",  # with row 4
        "navy has about 10 cm left; this row needs 20 cm.",  # before row 5
        "navy is full again, from L10, as far as L1.",
        "before row 5. navy about 10 cm.",
        "On R1, from the newest row down: From row 1 through row 4, cream, hung in row 1 at R1.",
        "work duplicate stitch over them",
        "2 rows unravelled?",
        "Check: carriage on the left, 2 ends. 2 ends hang.",
        "The picture is finished.",
        "Bind off 40 stitches",
        "6 tails to weave in.",
    ]
    assert sorted(map(index, order)) == list(map(index, order))
    sheet = caller("finish", path)
    assert "navy, 4 tails: row 1 at L20; row 5 at L10, both ends; row 10 at" in sheet
    assert "\ncream, 2 tails: row 1 at R1; row 10 at" in sheet
