"""How long a command takes from being typed to its end, against importing numpy and Pillow.

Every round runs all of them one after the other; printed are the medians of the rounds' ratios, of
the clock's time and of the processor's. What Python compiles is kept, as where the program is
installed.
"""

import os
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from statistics import median

from paired import rounds, tiny

DEMO = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"
PYTHON = [sys.executable]
COMPILED = {name: of for name, of in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
REFERENCE = "python -c 'import numpy, PIL'"
COMMANDS = {
    REFERENCE: [*PYTHON, "-c", "import numpy, PIL"],
    "python -c pass": [*PYTHON, "-c", "pass"],
    "row-caller --help": [*PYTHON, "-m", "caller", "--help"],
    "row-caller rows": [*PYTHON, "-m", "caller", "rows", str(DEMO)],
    "row-caller rows --json": [*PYTHON, "-m", "caller", "rows", str(DEMO), "--json"],
    "row-caller plan": [*PYTHON, "-m", "caller", "plan", str(DEMO)],
    "row-caller say --text": [*PYTHON, "-m", "caller", "say", str(DEMO), "--row", "9", "--text"],
}


def run(command: list[str]) -> tuple[float, float]:
    """Seconds by the clock and of the processor."""
    before, begun = os.times(), time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=COMPILED)
    took, after = time.perf_counter() - begun, os.times()
    busy = after.children_user + after.children_system
    return took, busy - before.children_user - before.children_system


def main() -> None:
    chosen = dict(list(COMMANDS.items())[: tiny(3, None)])
    for command in tiny([], [*chosen.values()]):
        run(command)  # from the disk into memory
    ways = {name: partial(run, command) for name, command in chosen.items()}
    measured = rounds(ways, tiny(1, 15))
    taken = {name: [one[name] for one in measured] for name in chosen}
    print(f"medians of {len(taken[REFERENCE])} rounds   seconds  clock's ratio  processor's ratio")
    for name, times in taken.items():
        clock, busy = (
            median(
                own[kind] / other[kind] for own, other in zip(times, taken[REFERENCE], strict=True)
            )
            for kind in (0, 1)
        )
        print(f"{name:<31} {median(t for t, _ in times):8.3f} {clock:14.2f} {busy:18.2f}")


if __name__ == "__main__":
    main()
