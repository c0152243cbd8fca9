"""Fails where the tests take too few of the core's branches: python .ci/branches.py REPORT LEAST

REPORT is coverage's JSON, LEAST a percentage. The files with the most branches that no test takes
are named.
"""

import json
import sys
from pathlib import Path

NAMED = 10


def main(report: Path, least: float) -> int:
    """The exit code: 1 where less than `least` percent of all branches were taken."""
    data = json.loads(report.read_text())
    missing = {name: each["summary"]["missing_branches"] for name, each in data["files"].items()}
    for name in sorted(missing, key=lambda name: -missing[name])[:NAMED]:
        if missing[name]:
            print(f"{name}: {missing[name]} branches are not taken")
    every, taken = data["totals"]["num_branches"], data["totals"]["covered_branches"]
    share = 100 * taken / every
    print(f"{taken} of {every} branches of the core are taken, {share:.1f} %; at least {least:g} %")
    return int(share < least)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), float(sys.argv[2])))
