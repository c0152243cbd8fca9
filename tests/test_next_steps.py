"""What `row-caller` alone tells, for each place where a knitter may stand."""

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from caller.cli import main
from caller.wiring.next_steps import next_steps

DEMOS = Path(__file__).parents[1] / "demo_patterns"
CHECK = "Try voice, microphone and pedal: row-caller check"
HELP = "See all commands: row-caller --help"
SIZE = "--width 30cm --gauge 30x42/10cm"
PLAN = (
    "Learn how many ends sailing-boat.toml takes and where it lies: "
    "row-caller plan sailing-boat.toml"
)
PLACE = (
    '{"row": 43, "direction": "right", "rows": 118, "chart": "0123456789abcdef", "run": 0, '
    '"at": "2026-11-20T20:00:00+00:00"}\n'
)


def boat(folder: Path) -> Path:
    for ending in (".toml", ".png"):
        shutil.copy(DEMOS / f"sailing-boat{ending}", folder)
    return folder / "sailing-boat.toml"


@pytest.mark.parametrize("make", [Path.mkdir, Path.touch, Path.name.fget])
def test_nothing_yet(tmp_path, make):
    folder = tmp_path / "work"
    make(folder)
    chart = f"Make a chart of your picture, 30 cm wide: row-caller chart PICTURE {SIZE}"
    assert next_steps(folder) == [chart, CHECK, HELP]


def test_a_picture(tmp_path):
    Image.new("RGB", (90, 60), "navy").save(tmp_path / "my boat.jpg")
    (tmp_path / "notes.toml").write_text("[[yarn]]\n")
    first = f"Make a chart of my boat.jpg, 30 cm wide: row-caller chart 'my boat.jpg' {SIZE}"
    assert next_steps(tmp_path) == [first, CHECK, HELP]


def test_a_pattern_that_has_not_been_begun(tmp_path):
    boat(tmp_path)
    knit = "Have the rows of sailing-boat.toml called: row-caller knit sailing-boat.toml"
    assert next_steps(tmp_path) == [PLAN, knit, CHECK]


def test_a_picture_whose_chart_is_made_is_no_longer_offered(tmp_path):
    Image.new("RGB", (90, 60), "navy").save(tmp_path / "sailing-boat.jpg")
    for side in ("purl", "knit"):
        Image.new("RGB", (90, 60)).save(tmp_path / f"sailing-boat.{side}-side.png")
    boat(tmp_path)
    assert next_steps(tmp_path)[2] == CHECK
    Image.new("RGB", (90, 60), "navy").save(tmp_path / "star.jpg")
    assert next_steps(tmp_path)[2].startswith("Make a chart of star.jpg, ")


def test_work_that_has_been_begun_comes_first(tmp_path):
    boat(tmp_path).with_suffix(".place").write_text(PLACE)
    knit = "Go on with sailing-boat.toml at row 43: row-caller knit sailing-boat.toml"
    assert next_steps(tmp_path) == [knit, CHECK, PLAN]


def test_the_command_alone(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, [])
    assert done.exit_code == 0
    # The commands are shown as this computer takes them.
    told = [line.partition(": ")[0] for line in done.stdout.splitlines()]
    assert told == [step.partition(": ")[0] for step in next_steps(Path())]
    assert list(tmp_path.iterdir()) == []


def test_what_it_names_runs(tmp_path, monkeypatch):
    boat(tmp_path)
    monkeypatch.chdir(tmp_path)
    command = next_steps(Path())[0].split(": row-caller ")[1].split()
    assert CliRunner().invoke(main, command).exit_code == 0
