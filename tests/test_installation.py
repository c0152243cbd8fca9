"""What is printed to be typed works as it is printed, wherever the program is installed."""

import json
import os
import shlex
import subprocess
import sys
import tomllib
import zipfile
from importlib.util import find_spec
from pathlib import Path

import pytest
from test_cli import run

from caller import installation
from caller.cli.add import PARTS
from caller.cli.base import main

FOLDER = Path(__file__).parent.parent
PROJECT = tomllib.loads((FOLDER / "pyproject.toml").read_text(encoding="utf-8"))["project"]
SYSTEM = Path("/usr/bin/python3")
NEEDS_PIP = pytest.mark.skipif(find_spec("pip") is None, reason="there is no pip here")


def test_every_part_is_an_extra_that_is_not_for_developers() -> None:
    extras = PROJECT["optional-dependencies"]
    assert set(PARTS) == set(extras) - {"bench", "lint", "mutation", "test", "test-models"}
    for part in PARTS:
        assert sorted(installation.requirements_of(part)) == sorted(extras[part])


def test_requirements_as_an_installed_distribution_names_them(tmp_path: Path) -> None:
    # The lines are as hatchling writes them, and as flit does; the last two are nobody's own.
    folder = tmp_path / "caller-9.dist-info"
    folder.mkdir()
    (folder / "METADATA").write_text(
        """Metadata-Version: 2.4
Name: caller
Version: 9
Requires-Dist: numpy>=1.26
Requires-Dist: mido>=1.3; extra == 'pedal'
Requires-Dist: python-rtmidi>=1.5.6 ; extra == "pedal"
Requires-Dist: pywin; (sys_platform == 'win32') and extra == 'pedal'
Requires-Dist: piper-tts>=1.3; extra == 'piper'
Requires-Dist: mido-else; extra == 'pedal-else'
"""
    )
    code = "from caller.installation import requirements_of as r; print(*r('pedal'), sep='|')"
    found = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(tmp_path), str(FOLDER)])},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    assert found == "mido>=1.3|python-rtmidi>=1.5.6|pywin; (sys_platform == 'win32')"


def wheel(folder: Path, name: str, version: str) -> None:
    """A wheel of one empty module."""
    module = name.replace("-", "_")
    info = f"{module}-{version}.dist-info"
    with zipfile.ZipFile(folder / f"{module}-{version}-py3-none-any.whl", "w") as file:
        file.writestr(f"{module}.py", "")
        file.writestr(
            f"{info}/METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n"
        )
        file.writestr(
            f"{info}/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        file.writestr(
            f"{info}/RECORD", f"{module}.py,,\n{info}/METADATA,,\n{info}/WHEEL,,\n{info}/RECORD,,\n"
        )


@pytest.fixture
def wheels(tmp_path: Path) -> Path:
    """Wheels for the extra pedal, from which pip takes what it is asked for."""
    folder = tmp_path / "wheels"
    folder.mkdir()
    wheel(folder, "mido", "1.9")
    wheel(folder, "python-rtmidi", "1.9")
    return folder


def added(part: str, *options: str, **more: str) -> "subprocess.CompletedProcess[str]":
    """The command add as a knitter runs it, without the internet."""
    own = {name: value for name, value in os.environ.items() if not name.startswith("PIP_")}
    return subprocess.run(
        [sys.executable, "-m", "caller", "add", part, *options],
        env={**own, "PIP_NO_INDEX": "1", "PYTHONPATH": str(FOLDER), **more},
        capture_output=True,
        text=True,
        check=False,
    )


@NEEDS_PIP
def test_a_part_is_added(wheels: Path, tmp_path: Path) -> None:
    target = tmp_path / "target"
    done = added("pedal", PIP_FIND_LINKS=str(wheels), PIP_TARGET=str(target))
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines()[-1] == "pedal is there."
    assert {"mido.py", "python_rtmidi.py"} <= {path.name for path in target.iterdir()}
    printed = shlex.split(done.stderr.splitlines()[0])
    assert printed[:4] == [sys.executable, "-m", "pip", "install"]
    assert printed[4:] == PROJECT["optional-dependencies"]["pedal"]


@NEEDS_PIP
def test_a_part_that_cannot_be_had(tmp_path: Path) -> None:
    done = added("pedal", "--json", PIP_TARGET=str(tmp_path / "target"))
    assert done.returncode == 2
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.stderr.splitlines()[-1].startswith(
        "row-caller: pedal was not installed, for the reason above; connect to the internet"
    )


def test_a_python_that_belongs_to_the_system_takes_it(wheels: Path) -> None:
    asked = [SYSTEM, "-c", "import pip"]
    if not SYSTEM.exists() or subprocess.run(asked, capture_output=True).returncode != 0:
        pytest.skip("the system has no Python with pip")
    links = ["--dry-run", "--no-index", "--find-links", str(wheels)]
    environment = {**os.environ, "PYTHONPATH": str(FOLDER)}
    code = "import sys; from caller.installation import pip_command as made\n"
    code += "print(*made(*sys.argv[1:]), sep='\\n')"
    found = subprocess.run(
        [SYSTEM, "-c", code, *links, "mido"],
        env=environment,
        capture_output=True,
        text=True,
        check=True,
    ).stdout.splitlines()
    done = subprocess.run(found, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    plain = [one for one in found if one not in ("--user", "--break-system-packages")]
    refused = subprocess.run(plain, capture_output=True, text=True, check=False)
    assert len(plain) == len(found) or "externally-managed-environment" in refused.stderr


def test_an_environment_without_pip_is_served_by_uv_or_gets_pip(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(installation, "_has_pip", lambda: False)
    monkeypatch.setattr(installation.shutil, "which", lambda _: "/bin/uv")
    assert installation.pip_command("mido") == [
        *("/bin/uv", "pip", "install", "--python", sys.executable, "mido")
    ]
    assert installation.pip_bringer() == []
    monkeypatch.setattr(installation.shutil, "which", lambda _: None)
    assert installation.pip_bringer() == [sys.executable, "-m", "ensurepip"]


def script(folder: Path) -> Path:
    folder.mkdir(parents=True)
    path = folder / "row-caller"
    path.write_text("#!/bin/sh\n")
    path.chmod(0o755)
    return path


@pytest.mark.skipif(sys.platform == "win32", reason="scripts end in .exe there")
def test_how_the_program_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own, other = script(tmp_path / "my env" / "bin"), script(tmp_path / "another" / "bin")
    monkeypatch.setattr(sys, "executable", str(own.with_name("python")))
    monkeypatch.setenv("PATH", str(own.parent))
    assert installation.program() == "row-caller"
    monkeypatch.setenv("PATH", str(other.parent))  # another installation's
    assert installation.program() == f"'{own}'"
    monkeypatch.setattr(sys, "executable", str(tmp_path / "python"))
    assert installation.program() == f"{tmp_path / 'python'} -m caller"
    monkeypatch.setenv("HOME", str(tmp_path))
    assert installation.program() == "~/python -m caller"


def test_commands_in_sentences_can_be_typed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(installation, "program", lambda: r"C:\py\row-caller")
    told = installation.runnable(
        "row-caller: No. See row-caller models --fetch A. Row-caller teach does. (row-caller 9)"
    )
    assert told == (
        r"row-caller: No. See C:\py\row-caller models --fetch A. C:\py\row-caller teach does. "
        "(row-caller 9)"
    )


def test_a_command_that_is_printed_works_as_it_is_printed(tmp_path: Path) -> None:
    told = run("teach", "--list").stdout
    command = told.removeprefix("Nothing is taught yet; ").removesuffix(" begins.\n")
    assert command.endswith(" teach")
    done = subprocess.run(
        f"{command} --help",
        shell=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(FOLDER)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert "Teach your own words" in done.stdout


def test_the_parts_are_listed() -> None:
    lines = run("add").stdout.splitlines()
    assert [line.split(":")[0] for line in lines] == list(PARTS)
    listed = json.loads(run("add", "--json").stdout)
    assert [one["part"] for one in listed] == list(PARTS)
    for line, one in zip(lines, listed, strict=True):
        assert (": installed. " in line) == one["installed"]
    assert "row-caller" not in main.commands  # it is the program, and no command of it
    assert run("add", "numpy").exit_code == 2
