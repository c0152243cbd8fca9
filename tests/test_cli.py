"""The commands as a knitter runs them: what they print, and every way they say no."""

import json
import re
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from caller.calling.ports import silence
from caller.cli import main
from caller.cli.listing import FILES
from caller.devices.sound.sound_files import write_wav
from caller.wiring import spoken_errors

DEMOS = Path(__file__).parents[1] / "demo_patterns"
DEMO = DEMOS / "sailing-boat.toml"


def run(*arguments: object) -> Result:
    result = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result


def refused(*arguments: object) -> str:
    """Run a command that must be refused: exit 2, one sentence on stderr, nothing on stdout."""
    result = run(*arguments)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    return result.stderr


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def picture(here):
    """A red disc on white, 64 x 64."""
    y, x = np.mgrid[:64, :64]
    disc = (x - 32) ** 2 + (y - 32) ** 2 < 600
    rgb = np.where(disc[..., None], (200, 30, 40), (250, 250, 245)).astype(np.uint8)
    Image.fromarray(rgb).save(here / "disc.png")
    return here / "disc.png"


def files(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_chart_then_rows_then_words(picture, here):
    made = run("chart", picture, "--width", 96, "--gauge", "8x10.5/in", "--colours", 2)
    assert made.exit_code == 0, made.output
    assert files(here) == ["disc.chart.png", "disc.png", "disc.toml"]
    # A square of 96 stitches at 8 x 10.5 to the inch is 126 rows (common practice; computed).
    assert "96 stitches, L48 to R48, 126 rows; 2 yarns" in made.stdout
    plan = json.loads(run("plan", "disc.toml", "--json").stdout)
    ends = f"{plan['supplies_total']} ends to hang in all, {plan['supplies_at_once']} at once."
    *_, told, next_step = made.stdout.splitlines()
    assert told == ends
    assert re.fullmatch("What to wind and where it lies: .+ plan disc.toml", next_step)
    script = json.loads(run("rows", "disc.toml", "--json").stdout)
    assert (script["cast_on"], script["first_needle"], script["last_needle"]) == (96, "L48", "R48")
    assert len(script["rows"]) == 126
    assert len(script["yarns"]) == 2
    words = run("say", "disc.toml", "--row", 1, "--text").stdout
    assert words.startswith("Before row one, the carriage stands on the left. ")
    assert words.endswith(", to right forty-eight.\n")


def test_chart_is_deterministic(picture, here):
    for name in ("a.toml", "b.toml"):
        run("chart", picture, "--width", 40, "--gauge", "30x42/10cm", "--output", name)
    assert Path("a.chart.png").read_bytes() == Path("b.chart.png").read_bytes()


def test_a_bare_picture_is_one_pixel_a_stitch(picture):
    script = json.loads(run("rows", picture, "--json").stdout)
    assert script["cast_on"] == 64
    assert len(script["rows"]) == 64


def test_rows_as_lines():
    lines = run("rows", DEMO).stdout.splitlines()
    script = json.loads(run("rows", DEMO, "--json").stdout)
    assert len(lines) == len(script["rows"]) + 2
    assert lines[2].startswith("Row 1, going right: ")


def test_say_writes_a_sound(here):
    soundfile = pytest.importorskip("soundfile")
    assert run("say", DEMO, "--row", 1, "--voice", "espeak", "--out", "row.wav").exit_code == 0
    samples, rate = soundfile.read("row.wav")
    assert len(samples) > rate
    assert np.abs(samples).max() > 0.05
    slow = run("say", DEMO, "--row", 1, "--voice", "espeak", "--rate", 90, "--out", "slow.wav")
    assert slow.exit_code == 0
    assert soundfile.info("slow.wav").frames > 1.3 * len(samples)


def test_a_busy_picture_is_told_of(here):
    # A patch of every needle in turn: more ends at once than two hands see to.
    cells = np.indices((40, 40)).sum(axis=0) % 2 * 255
    Image.fromarray(cells.astype(np.uint8)).save("busy.png")
    made = run("chart", "busy.png", "--width", 40, "--gauge", "30x30/10cm", "--colours", 2)
    assert made.exit_code == 0, made.output
    assert "That is a lot for two hands." in made.stdout
    assert " tidy busy.toml --at-once 12" in made.stdout


def test_every_command_is_listed_under_what_the_knitter_does():
    lines = run("--help").stdout.splitlines()
    listed = [line.split()[0] for line in lines if re.match(r"  [a-z]", line)]
    assert sorted(listed) == sorted(name for names in FILES.values() for name in names)
    assert not [line for line in lines[1:] if line.endswith("...")]


def test_a_command_typed_wrongly_is_told_its_nearest_and_heard_where_that_is(monkeypatch):
    said = []
    monkeypatch.setattr(spoken_errors, "say_error", lambda error, *_: said.append(str(error)))
    for typed, told in [
        ("kint", "There is no command kint. Did you mean knit?"),
        ("tidi", "There is no command tidi. Did you mean tidy?"),
        ("zzz", "There is no command zzz."),
    ]:
        done = CliRunner().invoke(main, [typed, "boat.toml"])
        assert done.exit_code == 2
        assert done.output.endswith(f"Error: {told}\n")
    assert said == ["There is no command kint. Did you mean knit?"]


def test_version_and_help():
    assert run("--version").stdout.startswith("row-caller, version")
    for command in main.commands:
        assert run(command, "--help").exit_code == 0


CHART = ("--width", 40, "--gauge", "30x42/10cm")


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (
            ("--width", 201, "--gauge", "30x42/10cm"),
            "201 stitches wide and the bed has 200 needles",
        ),
        (("--width", 0, "--gauge", "30x42/10cm"), "stitch"),
        (("--width", -4, "--gauge", "30x42/10cm"), "stitch"),
        (("--width", 40, "--gauge", "30/10cm"), "32x42/10cm"),
        (("--width", 40, "--gauge", "0x0/10cm"), "swatch"),
        ((*CHART, "--colours", 1), "2"),
        ((*CHART, "--colours", 25), "24"),
        ((*CHART, "--needles", 0), "bed of 0 needles"),
        ((*CHART, "--output", "boat.txt"), "ends in .toml"),
        ((*CHART, "--output", "nowhere/boat.toml"), "cannot be written"),
        (("--gauge", "30x42/10cm"), "its width or its height"),
        (("--width", 40), "--gauge"),
        (("--width", "wide", "--gauge", "30x42/10cm"), "30cm"),
        (("--width", "nancm", "--gauge", "30x42/10cm"), "width"),
        (("--width", "70cm", "--gauge", "30x42/10cm"), "at most 200 stitches"),
        ((*CHART, "--crop", "0,0,65,64"), "does not lie in the picture"),
        ((*CHART, "--crop", "here"), "LEFT,TOP,WIDTH,HEIGHT"),
        ((*CHART, "--border", -1), "border"),
        ((*CHART, "--border", 1, "--background", "mauve"), "no yarn 'mauve'"),
        ((*CHART, "--background", "#12"), "#1b2a4a"),
        ((*CHART, "--yarn", "navy"), "navy=#1b2a4a"),
        ((*CHART, "--yarn", "navy=#1b2a4a"), "2 to 24 yarns"),
        ((*CHART, "--yarn", "a=#1b2a4a", "--yarn", "b=#1b2a4a"), "same colour"),
        ((*CHART, "--first-needle", "L101"), "no needle L101"),
        ((*CHART, "--first-needle", "R70"), "widest that fits"),
        ((*CHART, "--panels", "--seam", -1), "Seams of -1"),
        (
            ("--width", 60, "--gauge", "30x42/10cm", "--needles", 20, "--panels", "--seam", 10),
            "seam",
        ),
    ],
)
def test_chart_refuses(picture, here, arguments, message):
    assert message in refused("chart", picture, *arguments)
    assert files(here) == ["disc.png"]


def chart_of(path: str) -> np.ndarray:
    """The stitches of a written pattern as colours, row 1 first."""
    with Image.open(Path(path).with_suffix(".chart.png")) as picture:
        return np.asarray(picture.convert("RGB"))[::-1]


@pytest.fixture
def lettering(here):
    """The letter F in dark on light, 40 x 50: it is itself neither mirrored nor turned."""
    light, dark = (240, 235, 220), (20, 40, 70)
    rgb = np.full((50, 40, 3), light, dtype=np.uint8)
    rgb[10:40, 10:16] = dark
    rgb[10:16, 10:30] = dark
    rgb[22:28, 10:24] = dark
    Image.fromarray(rgb).save(here / "letter.png")
    return here / "letter.png"


SQUARE = ("--width", 40, "--gauge", "30x30/10cm")
EQUAL = (*SQUARE, "--colours", 2)


def test_lettering_for_the_knit_side_is_mirrored(lettering):
    """The purl side faces the knitter, so a picture for the knit side is mirrored (seen in the
    trade's books)."""
    said = run("chart", lettering, *EQUAL, "--output", "knit.toml").stdout
    assert "The knit side will show, so the chart is mirrored" in said
    assert "For the purl side, add --seen-from purl." in said
    said = run("chart", lettering, *EQUAL, "--seen-from", "purl", "--output", "purl.toml").stdout
    assert "The purl side will show, which faces you: the chart is as the picture is." in said
    with Image.open(lettering) as picture:
        upright = np.asarray(picture)[::-1]
    assert (chart_of("purl.toml") == upright).all()
    assert (chart_of("knit.toml") == upright[:, ::-1]).all()
    assert json.loads(run("plan", "knit.toml", "--json").stdout)["seen_from"] == "knit"


def test_framing_and_margins(lettering):
    wishes = ("--crop", "10,10,20,30", "--rotate", 180, "--flip", "--border", 3, "--plain-above", 5)
    wishes += ("--background", "#f0ebdc", "--width", 20, "--gauge", "30x30/10cm", "--colours", 2)
    wishes += ("--seen-from", "purl")
    assert run("chart", lettering, *wishes, "--output", "f.toml").exit_code == 0
    with Image.open(lettering) as picture:
        cut = np.asarray(picture)[10:40, 10:30]
    expected = cut[::-1, ::-1][:, ::-1][::-1]  # turned by half, flipped, bottom row first
    made = chart_of("f.toml")
    assert made.shape == (35, 26, 3)
    assert (made[:30, 3:23] == expected).all()
    assert len(np.unique(made[30:].reshape(-1, 3), axis=0)) == 1


def test_own_yarns_keep_their_names(lettering):
    yarns = ("--yarn", "ink=#000000", "--yarn", "paper=#ffffff", "--yarn", "rust=#a0522d")
    run("chart", lettering, *SQUARE, *yarns)
    script = json.loads(run("rows", "letter.toml", "--json").stdout)
    assert script["yarns"] == [
        {"name": "ink", "colour": "#000000"},
        {"name": "paper", "colour": "#ffffff"},
    ]


def test_a_yarn_that_no_stitch_got_is_told_of(here, lettering):
    yarns = ("--yarn", "ink=#101010", "--yarn", "paper=#ffffff", "--yarn", "rust=#a0522d")
    said = run("chart", lettering, *SQUARE, *yarns).stdout
    assert "2 yarns: ink, paper." in said
    assert "Take note: no stitch looks most like rust, so it is not in the pattern" in said


def test_own_yarns_and_a_number_of_colours(here):
    yarns = ("--yarn", "ink=#14233f", "--yarn", "paper=#f4efe0")
    wish = ("chart", DEMO.with_name("sailing-boat-picture.png"), *CHART, *yarns)
    run(*wish, "--colours", 3, "--output", "boat.toml")
    script = json.loads(run("rows", "boat.toml", "--json").stdout)
    own = [(yarn["name"], yarn["colour"]) for yarn in script["yarns"]]
    assert len(own) == 3
    assert own[:2] == [("ink", "#14233f"), ("paper", "#f4efe0")]
    told = refused(*wish, "--yarn", "rust=#a0522d", "--colours", 2, "--output", "few.toml")
    assert "3 yarns are given, and 2 colours are wanted; leave yarns out" in told


def test_yarns_that_look_alike_are_named(lettering):
    said = run("chart", lettering, *EQUAL, "--yarn", "a=#101010", "--yarn", "b=#ffffff").stdout
    assert "look alike" not in said
    Path("letter.toml").unlink()
    Path("letter.chart.png").unlink()
    # Red and green of one lightness: the pair that protans and deutans mistake.
    said = run("chart", lettering, *EQUAL, "--yarn", "a=#a05030", "--yarn", "b=#687030").stdout
    assert "a and b look alike to eyes weak in" in said


def test_panels_are_patterns_whose_rows_line_up(lettering):
    wishes = ("--width", 90, "--gauge", "30x30/10cm", "--colours", 2, "--needles", 60)
    made = run("chart", lettering, *wishes, "--panels", "--seam", 2)
    assert made.exit_code == 0, made.output
    parts = [json.loads(run("rows", f"letter-{n}.toml", "--json").stdout) for n in (1, 2)]
    assert [part["cast_on"] for part in parts] == [47, 47]
    assert len({len(part["rows"]) for part in parts}) == 1
    joined = np.concatenate(
        [chart_of("letter-1.toml")[:, :-2], chart_of("letter-2.toml")[:, 2:]], axis=1
    )
    run("chart", lettering, *wishes[:-2], "--output", "whole.toml")
    assert (joined == chart_of("whole.toml")).all()


def test_a_bed_numbered_from_one_end(lettering):
    run("chart", lettering, *EQUAL, "--bed", "bulky", "--numbering", "straight")
    script = json.loads(run("rows", "letter.toml", "--json").stdout)
    assert (script["first_needle"], script["last_needle"]) == ("36", "75")
    words = run("say", "letter.toml", "--row", 1, "--text").stdout
    assert words.endswith("needle seventy-five.\n")


def test_chart_refuses_pictures_that_are_none(here):
    Path("empty.png").write_bytes(b"")
    Path("words.png").write_text("not a picture")
    Image.new("RGB", (30, 30), "navy").save("plain.png")
    for name in ("gone.png", "empty.png", "words.png", "plain.png", "."):
        refused("chart", name, *CHART)
    assert files(here) == ["empty.png", "plain.png", "words.png"]


def test_chart_does_not_overwrite(picture, here):
    run("chart", picture, *CHART)
    before = {name: (here / name).read_bytes() for name in files(here)}
    assert "--replace" in refused("chart", picture, *CHART, "--colours", 3)
    assert {name: (here / name).read_bytes() for name in files(here)} == before
    assert run("chart", picture, *CHART, "--replace").exit_code == 0


def test_a_picture_bomb_is_refused(here):
    # 60,000 x 60,000 pixels of one colour: a few hundred kilobytes on disk, 3.6 GB in memory.
    import struct
    import zlib

    def chunk(kind: bytes, body: bytes) -> bytes:
        checked = kind + body
        return struct.pack(">I", len(body)) + checked + struct.pack(">I", zlib.crc32(checked))

    header = struct.pack(">IIBBBBB", 60_000, 60_000, 1, 0, 0, 0, 0)
    # A hundred times the same 600 lines, compressed once, as a zlib stream (RFC 1950).
    lines, packer = bytes(600 * 7501), zlib.compressobj(9, wbits=-15)
    packed = packer.compress(lines) + packer.flush(zlib.Z_FULL_FLUSH)
    check = 1
    for _ in range(100):
        check = zlib.adler32(lines, check)
    body = b"\x78\xda" + 100 * packed + packer.flush() + struct.pack(">I", check)
    assert zlib.decompressobj().decompress(body, 7501 * 1200) == 2 * lines
    Path("bomb.png").write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", body) + chunk(b"IEND", b"")
    )
    for command in (("chart", "bomb.png", *CHART), ("rows", "bomb.png")):
        assert "large" in refused(*command).casefold()


def test_a_photograph_is_no_chart(here):
    noise = np.random.default_rng(1).integers(0, 256, (200, 200, 3), dtype=np.uint8)
    Image.fromarray(noise).save("photo.png")
    assert "caller chart" in refused("rows", "photo.png")


def test_a_bare_picture_too_wide_or_of_one_colour(here):
    wide = np.zeros((4, 300), dtype=np.uint8)
    wide[:, 100:] = 255
    Image.fromarray(wide).save("wide.png")
    assert "300 stitches wide and the bed has 200" in refused("rows", "wide.png")
    Image.new("RGB", (30, 30), "navy").save("plain.png")
    assert "one colour" in refused("rows", "plain.png")


@pytest.mark.parametrize("row", [0, -1, 100_000])
def test_rows_that_do_not_exist(row):
    assert "There is no row" in refused("say", DEMO, "--row", row, "--text")
    assert "There is no row" in refused("knit", DEMO, "--row", row)


@pytest.mark.parametrize("rate", [0, 79, 351, -160])
def test_rates_out_of_range(rate):
    assert "80 to 350" in refused("say", DEMO, "--row", 1, "--rate", rate, "--text")


@pytest.mark.parametrize("command", ["rows", "knit", "say"])
def test_a_missing_pattern(here, command):
    more = ("--row", 1) if command == "say" else ()
    assert "gone.toml" in refused(command, "gone.toml", *more)
    assert files(here) == []


def test_hear_refuses_what_is_no_sound(here, monkeypatch):
    monkeypatch.delattr("caller.wiring.hearing.open_listener")  # nothing is loaded for it
    Path("words.wav").write_text("not a sound")
    Path("empty.wav").write_bytes(b"")
    for name in ("gone.wav", "words.wav", "empty.wav"):
        assert name in refused("hear", name)


def test_a_model_folder_that_is_none(here):
    write_wav(Path("quiet.wav"), [silence(1.0, 16_000)])
    assert "caller models" in refused("hear", "quiet.wav", "--model", "nowhere")


def copied(here: Path, name: str = "lighthouse") -> Path:
    for suffix in (".toml", ".png"):
        (here / f"{name}{suffix}").write_bytes((DEMOS / f"{name}{suffix}").read_bytes())
    return here / f"{name}.toml"


def test_plan_agrees_with_the_row_script():
    data = json.loads(run("plan", DEMO, "--json").stdout)
    script = json.loads(run("rows", DEMO, "--json").stdout)
    runs = [run for row in script["rows"] for run in row["runs"]]
    assert data["supplies_total"] == sum(run["start"] == "join" for run in runs)
    assert data["supplies_total"] - 1 == sum(run["end"] == "cut" for run in runs)
    assert [run["end"] for run in script["rows"][-1]["runs"]].count("keep") == 1  # it binds off
    assert data["supplies_total"] == len(data["supplies"])
    for entry in data["supplies"]:
        mine = [run for run in runs if run["supply"] == entry["supply"]]
        assert {run["yarn"] for run in mine} == {entry["yarn"]}
        assert sum(run["stitches"] for run in mine) == entry["stitches"]
        assert sum(run["carry"] for run in mine) == entry["carry_stitches"]
    hanging = [
        sum(entry["first_row"] <= row["row"] <= entry["last_row"] for entry in data["supplies"])
        for row in script["rows"]
    ]
    assert data["supplies_at_once"] == max(hanging)
    assert sum(entry["stitches"] for entry in data["supplies"]) == sum(
        run["stitches"] for run in runs
    )


def test_plan_with_other_rules():
    few = json.loads(run("plan", DEMO, "--json", "--max-carry", 40).stdout)
    many = json.loads(run("plan", DEMO, "--json", "--max-carry", 0).stdout)
    rest = json.loads(run("plan", DEMO, "--json", "--max-rest-rows", 20).stdout)
    usual = json.loads(run("plan", DEMO, "--json").stdout)
    assert few["supplies_total"] < usual["supplies_total"] < many["supplies_total"]
    assert rest["supplies_total"] <= usual["supplies_total"]
    assert many["carries"] == 0


def test_plan_as_sentences():
    lines = run("plan", DEMO).stdout.splitlines()
    assert lines[1].startswith("Cast on 80 stitches, L40 to R40.")
    assert "The purl side faces you" in lines[2]
    assert any(line.startswith("Wind dark blue: ") for line in lines)


def test_plan_without_a_gauge(picture):
    data = json.loads(run("plan", picture, "--json").stdout)
    assert data["loop_mm"] is None
    assert data["supplies"][0]["length_m"] is None
    assert any("caller swatch" in warning for warning in data["warnings"])


def test_swatch_writes_gauge_and_loop(here):
    path = copied(here)
    text = path.read_text(encoding="utf-8")
    # 40 stitches x 60 rows is the usual swatch; 30 x 39 to 10 cm a published example.
    made = run("swatch", path, "--stitches", 40, "--rows", 60, "--measured", "13.33x15.38cm")
    assert made.exit_code == 0, made.output
    assert "30.01 stitches and 39.01 rows to 10 cm" in made.stdout
    assert run("swatch", path, "--unravelled", "40=52cm").exit_code == 0
    after = path.read_text(encoding="utf-8")
    assert "loop_mm = 13" in after
    assert text.splitlines()[0] == after.splitlines()[0]
    assert json.loads(run("plan", path, "--json").stdout)["loop_mm"] == 13.0


def test_swatch_by_weight(here):
    path = copied(here)
    # 2/28 Nm is 71.43 tex (1000 / 14): 2,400 stitches of 13 mm are 31.2 m and weigh 2.229 g.
    run("swatch", path, "--weighed", "2400=2.229g", "--count", "2/28 Nm")
    assert json.loads(run("plan", path, "--json").stdout)["loop_mm"] == pytest.approx(13, abs=0.01)


@pytest.mark.parametrize(
    "arguments",
    [
        (),
        ("--measured", "13x15cm"),
        ("--stitches", 0, "--rows", 60, "--measured", "13x15cm"),
        ("--stitches", "nan", "--rows", 60, "--measured", "13x15cm"),
        ("--stitches", 40, "--rows", 60, "--measured", "13x15"),
        ("--stitches", 40, "--rows", 60, "--measured", "13x15cm", "--measured", "5x6in"),
        ("--stitches", 40, "--rows", 60, "--measured", "0x15cm"),
        ("--stitches", 40, "--rows", 60, "--measured", "1.2.3x15cm"),
        ("--unravelled", "0=52cm"),
        ("--unravelled", "40=52"),
        ("--weighed", "2400=2.2g"),
        ("--weighed", "2400=2.2g", "--count", "12 wpi"),
    ],
)
def test_swatch_refuses(here, arguments):
    path = copied(here)
    before = path.read_bytes()
    refused("swatch", path, *arguments)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    "arguments", [("--max-carry", -1), ("--max-carry", 5000), ("--max-rest-rows", -1)]
)
def test_plan_refuses(arguments):
    refused("plan", DEMO, *arguments)


def test_the_place_is_never_written_into_another_file(here):
    path = copied(here)
    before = path.read_bytes()
    assert "ends in .place" in refused("knit", path, "--place", path, "--row", 3, "--no-listen")
    assert path.read_bytes() == before


def test_a_sound_never_overwrites_unasked(here):
    path = copied(here)
    before = path.read_bytes()
    assert ".wav" in refused("say", path, "--row", 3, "--out", path)
    assert path.read_bytes() == before
    assert run("say", path, "--row", 3, "--voice", "espeak", "--out", "row.wav").exit_code == 0
    sound = Path("row.wav").read_bytes()
    assert "--replace" in refused("say", path, "--row", 4, "--out", "row.wav")
    assert Path("row.wav").read_bytes() == sound
    assert (
        run("say", path, "--row", 4, "--voice", "espeak", "--out", "row.wav", "--replace").exit_code
        == 0
    )
    assert Path("row.wav").read_bytes() != sound


def test_an_unlikely_swatch_is_named_and_kept(here):
    path = copied(here)
    made = run("swatch", path, "--weighed", "2400=9.3g", "--count", "2/28 Nm")
    assert made.exit_code == 0
    assert "Take note: the gauge leads to about 13.1 mm" in made.stdout
    assert "Take note" not in run("swatch", path, "--unravelled", "40=52cm").stdout


@pytest.mark.parametrize("command", ["rows", "plan", "knit"])
def test_empty_names(here, command):
    assert "the file's name is empty" in refused(command, "")


def test_too_wide_names_the_panels(picture):
    assert "--panels" in refused("chart", picture, "--width", "70cm", "--gauge", "30x42/10cm")


def test_a_stretched_picture_is_named(picture, here):
    made = run("chart", picture, "--width", 20, "--height", 90, "--gauge", "30x42/10cm")
    assert "may be stretched" in made.stdout
