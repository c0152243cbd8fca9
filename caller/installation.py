"""How this program is installed here, and the commands that add to it.

No index of packages has this program, so an extra is added by its requirements themselves: as the
installed distribution names them, or pyproject.toml where the program runs from its folder.
"""

import os
import re
import shlex
import shutil
import subprocess
import sys
import sysconfig
import tomllib
from collections.abc import Sequence
from importlib import metadata
from importlib.util import find_spec
from pathlib import Path

PROGRAM = "row-caller"
"""The command, as every sentence names it."""


def requirements_of(extra: str) -> list[str]:
    """What an extra needs, each as pip takes it; none for an extra that is not known."""
    try:
        wanted = metadata.requires("caller") or []
    except metadata.PackageNotFoundError:
        return _requirements_of_folder(extra)
    named = re.compile(rf"""\s*(?:;|\band)\s*\(?extra\s*==\s*['"]{re.escape(extra)}['"]\)?""")
    return [named.sub("", one) for one in wanted if named.search(one)]


def _requirements_of_folder(extra: str) -> list[str]:
    file = Path(__file__).parents[1] / "pyproject.toml"
    if not file.is_file():
        return []
    project = tomllib.loads(file.read_text(encoding="utf-8"))["project"]
    found: list[str] = project["optional-dependencies"].get(extra, [])
    return found


def pip_command(*arguments: str) -> list[str]:
    """The command that installs where this program runs.

    A virtual environment of uv has no pip. A Python that belongs to the system, as Debian's, takes
    packages into the user's own folder only when it is told so (PEP 668).
    """
    if find_spec("pip") is None and (uv := shutil.which("uv")):
        return [uv, "pip", "install", "--python", sys.executable, *arguments]
    python = [sys.executable, "-m", "pip", "install"]
    own = ["--user", "--break-system-packages"] if _belongs_to_the_system() else []
    return [*python, *own, *arguments]


def _belongs_to_the_system() -> bool:
    marker = Path(sysconfig.get_path("stdlib"), "EXTERNALLY-MANAGED")
    return sys.prefix == sys.base_prefix and marker.is_file()


def installs_again(requirement: str) -> str:
    """The command that puts a damaged package right, as it is typed."""
    return typed(pip_command("--force-reinstall", requirement))


def typed(command: Sequence[str]) -> str:
    """A command as it is typed into a shell, quoted where it must be."""
    return subprocess.list2cmdline(command) if os.name == "nt" else shlex.join(command)


def program() -> str:
    """How this program is started here, as it is typed: by its name where the shell finds it."""
    here, found = Path(sys.executable).parent, shutil.which(PROGRAM)
    if found and Path(found).parent.absolute() == here:
        return PROGRAM
    script = shutil.which(PROGRAM, path=str(here))
    return typed([script] if script else [sys.executable, "-m", "caller"])


def runnable(text: str, commands: Sequence[str]) -> str:
    """The text, its commands of this program as they can be typed here."""
    named = rf"\b{PROGRAM}(?= (?:{'|'.join(commands)})\b)"
    return re.sub(named, lambda _: program(), text)
