"""The quick figures, all in one go: claims.py [--tiny]

Runs the benches that need no long run, one after the other, and prints what each prints: ratios and
counts, each beside what it is compared with. A few minutes on a quiet machine; progress goes to the
screen's error output.
"""

import argparse
import subprocess
import sys
import time
from pathlib import Path

BENCH = Path(__file__).parent
QUICK = (
    *("startup.py", "rows.py", "supplies.py", "session.py", "speech_start.py", "pedals.py"),
    *("pace.py", "tracks.py", "preview.py", "resampling.py", "dependencies.py"),
)
SHORTENED = ("preview.py", "resampling.py", "tracks.py")
"""These take minutes whole, and show the same with little."""


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--tiny", action="store_true", help="the first one only, and tiny")
    tiny = options.parse_args().tiny
    began_s = time.monotonic()
    for number, name in enumerate(QUICK[: 1 if tiny else None], 1):
        so_far_s = time.monotonic() - began_s
        print(f"{number} of {len(QUICK)}, {so_far_s:.0f} s: {name}", file=sys.stderr, flush=True)
        short = tiny or name in SHORTENED
        done = subprocess.run(
            [sys.executable, str(BENCH / name), *(["--tiny"] if short else [])],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
            check=False,
        )
        print(f"## {name}{' --tiny' if short else ''}\n\n{done.stdout}", flush=True)
        if done.returncode:
            sys.exit(f"{name} failed; run it by itself to see why.")


if __name__ == "__main__":
    main()
