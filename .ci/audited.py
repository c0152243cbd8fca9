"""Tells what pip-audit found: python .ci/audited.py REQUIREMENTS REPORT.

Ends with 1 where a known weakness is mended by a newer release, and, with CALLER_AUDIT=required,
where a dependency could not be looked up.
"""

import json
import os
import re
import sys
from pathlib import Path


def main(requirements: Path, report: Path) -> int:
    """The exit code for the packages of `requirements`, from pip-audit's JSON in `report`."""
    asked = {_plain(line.partition("==")[0]) for line in requirements.read_text().split()}
    try:
        found = json.loads(report.read_text())["dependencies"]
    except (OSError, ValueError, KeyError, TypeError):
        found = []
    known = {_plain(each["name"]) for each in found if "skip_reason" not in each}
    mended = 0
    for each in found:
        for weakness in each.get("vulns", []):
            mends = ", ".join(weakness["fix_versions"])
            mended += bool(mends)
            print(
                f"{each['name']} {each['version']}: {weakness['id']}, mended in {mends or 'none'}"
            )
    unknown = sorted(asked - known)
    print(f"audited {len(asked) - len(unknown)} of {len(asked)} packages, {mended} to be mended")
    if unknown:
        print(f"NOT AUDITED, for nothing was found about them: {', '.join(unknown)}")
    return int(bool(mended) or (bool(unknown) and os.environ.get("CALLER_AUDIT") == "required"))


def _plain(name: str) -> str:
    """A package's name as every index has it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), Path(sys.argv[2])))
