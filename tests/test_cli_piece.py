"""The commands for the whole piece, as a knitter runs them."""

import json

from test_cli import DEMO, refused, run

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
    wishes += ("--between-rows", 2, "--plain-above", 3, "--background", "cream", "--title", "Boats")
    said = run("join", DEMO, *wishes).stdout
    # 2 x 80 + 10 + 2 x 4 stitches; 2 x 118 + 2 + 6 + 3 rows.
    assert "178 stitches, L89 to R89, 247 rows; 4 yarns: silver, cream, red, dark blue." in said
    piece = load(tmp_path / "sailing-boat-joined.toml")
    assert (piece.title, piece.chart.stitches, piece.chart.rows) == ("Boats", 178, 247)
    assert "sailing-boat-joined.toml exists already" in refused("join", DEMO)
    assert run("join", DEMO, "--border-pattern", DEMO, "--replace").exit_code == 2, "too wide"
    assert load(tmp_path / "sailing-boat-joined.toml") == piece
    assert run("join", DEMO, DEMO, "--output", "two.toml").exit_code == 0


def test_print_makes_pages(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    said = run("print", DEMO).stdout
    assert "Written: sailing-boat.pdf; the chart takes 4 pages, the plan follows." in said
    assert "1 silver, 2 cream, 3 red, 4 dark blue" in said
    assert (tmp_path / "sailing-boat.pdf").read_bytes().startswith(b"%PDF-")
    assert "exists already" in run("print", DEMO).stderr
