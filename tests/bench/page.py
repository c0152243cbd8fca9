"""From a press on one page to the row on another: a whole session without sound, over HTTP.

The browser's own drawing is not in it.
"""

import json
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path
from urllib.parse import quote, urlsplit

from paired import tiny

sys.path.insert(0, str(Path(__file__).parent.parent))
from child_env import WITHOUT_SOUND

PATTERN = Path(__file__).parents[2] / "demo_patterns" / "sailing-boat.toml"
ROWS = tiny(3, 60)
OPTIONS = ("--no-listen", "--page", "--voice", "espeak", "--place")
PACE_S = 0.15  # between two presses, slower than one page may send them


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        session = subprocess.Popen(
            [sys.executable, "-m", "caller", "knit", str(PATTERN), *OPTIONS, f"{folder}/place"],
            env=WITHOUT_SOUND | {"CALLER_HISTORY": str(Path(folder, "history.sqlite"))},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        assert session.stdout
        address = next(line for line in session.stdout if line.startswith("http://")).strip()
        threading.Thread(target=session.stdout.read, daemon=True).start()
        try:
            waits = follow(address)
        finally:
            session.kill()
    load = os.getloadavg()[0] if hasattr(os, "getloadavg") else float("nan")
    print(
        f"{len(waits)} presses: a second page follows after {statistics.median(waits):.0f} ms, "
        f"at most {max(waits):.0f} ms; load {load:.1f}"
    )


def follow(address: str) -> list[float]:
    """Milliseconds from each press to the step after it, as another page gets it."""
    parts = urlsplit(address)
    stream = urllib.request.urlopen(f"{address}events", timeout=60)
    at, waits = _next(stream, ""), []
    for _ in range(ROWS):
        time.sleep(PACE_S)
        press = urllib.request.Request(
            f"{address}next?at={quote(at)}",
            method="POST",
            headers={"Origin": f"{parts.scheme}://{parts.netloc}"},
        )
        begun_s = time.perf_counter()
        urllib.request.urlopen(press, timeout=60).close()
        at = _next(stream, at)
        waits.append(1000 * (time.perf_counter() - begun_s))
    return waits


def _next(stream, before: str) -> str:
    """The next step that the stream tells, and not the one before."""
    for line in stream:
        if line.startswith(b"data: "):
            at = json.loads(line[6:]).get("at", "")
            if at and at != before:
                return at
    raise SystemExit("The session has ended.")


if __name__ == "__main__":
    main()
