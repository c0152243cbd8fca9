"""What `.ci/audited.py` makes of a report of pip-audit, in the form that its manual documents."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

SCRIPT = Path(__file__).parents[1] / ".ci" / "audited.py"

Package = dict[str, Any]

HEALTHY: Package = {"name": "type-hints", "version": "2.0.0", "vulns": []}
UNKNOWN: Package = {"name": "Vosk", "skip_reason": "Dependency not found on PyPI"}


def weak(*fixes: str) -> Package:
    """A package with a weakness that the releases `fixes` mend."""
    vulns = [{"id": "PYSEC-2026-1", "fix_versions": list(fixes), "description": ""}]
    return {"name": "pillow", "version": "9.0.0", "vulns": vulns}


def audited(folder: Path, report: str | list[Package], required: bool = False) -> tuple[int, str]:
    """The exit code and what was printed, where type-hints, Pillow and Vosk were asked about."""
    (folder / "asked").write_text("Type_Hints==2.0.0\npillow==9.0.0\nvosk==0.3.45\n")
    text = report if isinstance(report, str) else json.dumps({"dependencies": report})
    (folder / "report").write_text(text)
    environment = {**os.environ, "CALLER_AUDIT": "required" if required else ""}
    command = [sys.executable, str(SCRIPT), str(folder / "asked"), str(folder / "report")]
    ended = subprocess.run(command, capture_output=True, text=True, env=environment, check=False)
    assert not ended.stderr
    return ended.returncode, ended.stdout


def test_a_weakness_that_a_release_mends_fails(tmp_path: Path) -> None:
    """The report names package, weakness and release."""
    code, said = audited(tmp_path, [HEALTHY, weak("9.1.0", "9.2.0"), UNKNOWN])
    assert code == 1
    assert "pillow 9.0.0: PYSEC-2026-1, mended in 9.1.0, 9.2.0" in said
    assert "audited 2 of 3 packages, 1 to be mended" in said


def test_a_weakness_that_nothing_mends_is_told(tmp_path: Path) -> None:
    """Nobody could act on a failure."""
    code, said = audited(tmp_path, [HEALTHY, weak(), UNKNOWN])
    assert code == 0
    assert "PYSEC-2026-1, mended in none" in said


def test_what_could_not_be_asked_is_told_and_fails_where_required(tmp_path: Path) -> None:
    """A package that the service does not know is not taken for a healthy one."""
    healthy = {**HEALTHY, "name": "pillow"}
    assert audited(tmp_path, [HEALTHY, healthy, UNKNOWN])[0] == 0
    code, said = audited(tmp_path, [HEALTHY, healthy, UNKNOWN], required=True)
    assert code == 1
    assert "NOT AUDITED, for nothing was found about them: vosk\n" in said


def test_without_a_report_nothing_counts_as_audited(tmp_path: Path) -> None:
    """An audit that ended before it wrote, or wrote half."""
    for report in ("", '{"dependencies": [', "{}", "[]"):
        code, said = audited(tmp_path, report, required=True)
        assert code == 1
        assert "audited 0 of 3 packages" in said
