"""How this program is installed here, and the commands that add to it.

No index of packages has this program, so an extra is added by its requirements themselves: as the
installed distribution names them, or pyproject.toml where the program runs from its folder.
"""

import os
import re
import shlex
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path

PROGRAM = "row-caller"
"""The command, as every sentence names it."""


def installs(extra: str) -> str:
    """The remedy where an extra is missing."""
    return f"this command brings it: {PROGRAM} add {extra}"


def installs_again(extra: str) -> str:
    """The remedy where an extra is damaged, or of a version that cannot be used."""
    return f"this command installs it again: {PROGRAM} add {extra} --again"


def requirements_of(extra: str) -> list[str]:
    """What an extra needs, each as pip takes it; none for an extra that is not known."""
    from importlib import metadata

    try:
        wanted = metadata.requires("caller") or []
    except metadata.PackageNotFoundError:
        return _requirements_of_folder(extra)
    named = re.compile(rf"""\s*(?:;|\band)\s*\(?extra\s*==\s*['"]{re.escape(extra)}['"]\)?""")
    return [named.sub("", one) for one in wanted if named.search(one)]


def name_of(requirement: str) -> str:
    """The package that a requirement names."""
    return re.split(r"[^A-Za-z0-9._-]", requirement, maxsplit=1)[0]


def _requirements_of_folder(extra: str) -> list[str]:
    import tomllib

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
    if not _has_pip() and (uv := shutil.which("uv")):
        return [uv, "pip", "install", "--python", sys.executable, *arguments]
    python = [sys.executable, "-m", "pip", "install"]
    own = ["--user", "--break-system-packages"] if _belongs_to_the_system() else []
    return [*python, *own, *arguments]


def pip_bringer() -> list[str]:
    """The command that brings pip where there is none, and no uv; else empty."""
    if _has_pip() or shutil.which("uv"):
        return []
    return [sys.executable, "-m", "ensurepip"]


def _has_pip() -> bool:
    from importlib.util import find_spec

    return find_spec("pip") is not None


def _belongs_to_the_system() -> bool:
    import sysconfig

    marker = Path(sysconfig.get_path("stdlib"), "EXTERNALLY-MANAGED")
    return sys.prefix == sys.base_prefix and marker.is_file()


def package_again(requirement: str) -> str:
    """The command, as it is typed, that installs a damaged package of the program again."""
    return _from_home(typed(pip_command("--force-reinstall", requirement)))


def typed(command: Sequence[str]) -> str:
    """A command as it is typed into a shell, quoted where it must be."""
    if os.name == "nt":
        from subprocess import list2cmdline

        return list2cmdline(command)
    return shlex.join(command)


def program() -> str:
    """How this program is started here, as it is typed: by its name where the shell finds it."""
    here, found = Path(sys.executable).parent, shutil.which(PROGRAM)
    if found and Path(found).parent.absolute() == here:
        return PROGRAM
    script = shutil.which(PROGRAM, path=str(here))
    return _from_home(typed([script] if script else [sys.executable, "-m", "caller"]))


def _from_home(command: str) -> str:
    """Shorter, where the shell knows the user's own folder as ~; a quoted path stays as it is."""
    home = f"{Path.home()}{os.sep}"
    return f"~{os.sep}{command.removeprefix(home)}" if command.startswith(home) else command


def runnable(text: str) -> str:
    """The text, with every command of this program written as it can be typed here."""
    named = rf"\b{PROGRAM}(?= [-a-z])"
    return re.sub(named, lambda _: program(), text, flags=re.IGNORECASE)
