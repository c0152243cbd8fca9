"""Ways to the page: the browser of this computer, and a code for a camera."""

import queue
import sys

import pytest

from caller.devices.page import ways_in
from caller.devices.page.ways_in import open_browser, qr_code
from caller.errors import PageError

ADDRESS = "http://192.168.178.20:8750/abcdefgh/"
# ISO/IEC 18004:2015, 6.3.3: the finder pattern, seven modules wide, with what is dark as 1.
FINDER = ["1111111", "1000001", "1011101", "1011101", "1011101", "1000001", "1111111"]


def modules(lines):
    """The code's modules, dark ones 1: what is drawn is light."""
    rows = []
    for line in lines:
        rows.append("".join("0" if cell in "▀█" else "1" for cell in line))
        rows.append("".join("0" if cell in "▄█" else "1" for cell in line))
    return rows


def test_the_code_has_its_quiet_zone_and_finders():
    pytest.importorskip("segno")
    lines = qr_code(ADDRESS, 79, 21)
    rows = modules(lines)
    wide = len(rows[0])
    assert (wide - 8 - 17) % 4 == 0, "a version has 17 + 4 v modules (6.1)"
    assert all(set(row[:4]) | set(row[-4:]) == {"0"} for row in rows[:wide])
    assert all(set(row) == {"0"} for row in rows[:4] + rows[wide - 4 : wide])
    corners = [(4, 4), (4, wide - 11), (wide - 11, 4)]
    for top, left in corners:
        assert [row[left : left + 7] for row in rows[top : top + 7]] == FINDER
    assert lines != qr_code(ADDRESS.replace("a", "b"), 79, 21)


def test_a_code_that_does_not_fit_is_left_out():
    assert qr_code(ADDRESS, 20, 21) == ()
    assert qr_code(ADDRESS, 79, 10) == ()


def test_the_browser_is_opened_on_a_thread(monkeypatch):
    opened = queue.SimpleQueue()
    monkeypatch.setenv("DISPLAY", ":1")
    monkeypatch.setattr(ways_in.webbrowser, "open", opened.put)
    open_browser(ADDRESS)
    assert opened.get(timeout=20) == ADDRESS


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="has a display always")
def test_without_a_display_no_browser_takes_the_terminal(monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setattr(ways_in.webbrowser, "open", lambda _: pytest.fail("it was opened"))
    with pytest.raises(PageError, match="address on the screen"):
        open_browser(ADDRESS)
