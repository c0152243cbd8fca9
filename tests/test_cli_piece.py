"""The commands for the whole piece, as a knitter runs them."""

import json
import re
import shlex

import numpy as np
from PIL import Image
from test_cli import DEMO, refused, run

from caller.pattern.panels import PanelOf
from caller.pattern.storage.pattern_file import load


def test_finish_tells_what_the_session_tells_and_names_every_tail():
    lines = run("finish", DEMO).stdout.splitlines()
    assert lines[0].startswith("Bind off 80 stitches from the left, where the carriage stands,")
    data = json.loads(run("finish", DEMO, "--json").stdout)
    pattern = load(DEMO)
    assert len(data["tails"]) == 2 * pattern.supply_plan.total
    assert f"{len(data['tails'])} tails to weave in." in lines[2]
    # 80 stitches at 30 to 10 cm are 26.7 cm wide; six times that and a tail of 15 cm (practice).
    assert data["cast_off"]["length_m"] == round(6 * 80 / 300 + 0.15, 2)
    assert data["blocked_cm"] == [26.7, 28.1]
    for yarn in pattern.yarns:
        named = sum(one["yarn"] == yarn.name for one in data["tails"])
        assert any(line.startswith(f"{yarn.name}, {named} tails: row ") for line in lines)


def test_join_lays_pictures_on_one_piece(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    wishes = ("--across", 2, "--between", 10, "--border", 4, "--up", 2, "--plain-below", 6)
    wishes += ("--between-rows", 2, "--plain-above", 3, "--background", "ivory", "--title", "Boats")
    said = run("join", DEMO, *wishes).stdout
    # 2 x 80 + 10 + 2 x 4 stitches; 2 x 118 + 2 + 6 + 3 rows.
    assert "178 stitches, L89 to R89, 247 rows; 4 yarns: silver, ivory, red, dark blue." in said
    piece = load(tmp_path / "sailing-boat-joined.toml")
    assert (piece.title, piece.chart.stitches, piece.chart.rows) == ("Boats", 178, 247)
    assert "sailing-boat-joined.toml exists already" in refused("join", DEMO)
    assert run("join", DEMO, "--border-pattern", DEMO, "--replace").exit_code == 2, "too wide"
    assert load(tmp_path / "sailing-boat-joined.toml") == piece
    assert run("join", DEMO, DEMO, "--output", "two.toml").exit_code == 0


def test_what_is_joined_too_wide_is_knitted_in_panels(tmp_path, monkeypatch):
    """Sewn together without their seams they are the piece; finishing and plan tell of the seam."""
    monkeypatch.chdir(tmp_path)
    wishes = ("join", DEMO, "--across", 3, "--between", 5, "--title", "Three boats")
    assert "or add --panels" in refused(*wishes)
    said = run(*wishes, "--panels", "--seam", 2).stdout
    # 3 x 80 + 2 x 5 = 250 stitches, and 2 x 2 of the seam: 127 a panel.
    assert said.count("127 stitches, L63 to R64, 118 rows") == 2
    assert "each seam takes 2 stitches of either edge" in said
    panels = [load(tmp_path / f"sailing-boat-joined-{number}.toml") for number in (1, 2)]
    whole = np.concatenate((panels[0].chart.cells[:, :-2], panels[1].chart.cells[:, 2:]), axis=1)
    boat = load(DEMO).chart.cells
    assert whole.shape == (118, 250)
    for left in (0, 85, 170):
        assert (whole[:, left : left + 80] == boat).all()
    assert [one.panel for one in panels] == [PanelOf(1, 2, 2), PanelOf(2, 2, 2)]
    assert panels[1].reminders == load(DEMO).reminders
    assert "This is panel 2 of 2" in run("finish", "sailing-boat-joined-2.toml").stdout
    told = run("plan", "sailing-boat-joined-1.toml").stdout
    assert "Three boats, panel 1 of 2." in told
    assert "Panel 1 of 2, counted from the left as they hang; each seam takes 2 stitches" in told
    assert "exists already" in refused(*wishes, "--panels")


def test_a_picture_too_wide_to_be_taken_as_it_is_tells_two_ways(tmp_path, monkeypatch):
    """A smaller chart, and panels, which keep it stitch for stitch; both as they are printed."""
    monkeypatch.chdir(tmp_path)
    down, across = np.mgrid[:20, :260]
    pixels = np.array([(240, 230, 200), (20, 40, 80), (200, 40, 40)], dtype=np.uint8)
    drawn = pixels[(across // 9 + down // 5) % 3]
    Image.fromarray(drawn).save("wide.png")
    told = refused("plan", "wide.png")
    smaller, panels = re.findall(r" (chart wide\.png [^.:]*\w)", told)
    assert run(*shlex.split(smaller)).exit_code == 0
    assert load(tmp_path / "wide.toml").chart.stitches == 200
    assert run(*shlex.split(panels)).exit_code == 0
    parts = [load(tmp_path / f"wide-{number}.toml") for number in (1, 2)]
    colours = [
        np.array([yarn.rgb for yarn in part.yarns])[part.chart.cells[::-1]] for part in parts
    ]
    assert (np.concatenate((colours[0][:, :-1], colours[1][:, 1:]), axis=1) == drawn).all()


def test_print_makes_pages(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("print", DEMO).stdout
    assert "Written: sailing-boat.pdf; the chart takes 4 pages, the plan follows." in said
    assert "1 silver, 2 ivory, 3 red, 4 dark blue" in said
    assert (tmp_path / "sailing-boat.pdf").read_bytes().startswith(b"%PDF-")
    assert "exists already" in run("print", DEMO).stderr
