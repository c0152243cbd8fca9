"""The page that calls the rows, in a headless browser: its buttons, keys, sound and place."""

import time
from pathlib import Path

import numpy as np
import pytest
from browser import Browser, why_not

from caller.devices.voices.espeak import EspeakVoice
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern, Reminder
from caller.pattern.yarns import Yarn
from caller.settings import VoiceSettings
from caller.sheets.scripts.page import as_html
from caller.sheets.scripts.reading import write_reading
from caller.sheets.tracks.tracks import write_tracks

WIDTHS = [(320, 568), (390, 844), (1280, 800)]
ROWS = 7


def boat(rows: int = ROWS, yarns: int = 3, blocks: int = 20) -> Pattern:
    """Names that would be markup, one long word among them; long rows, and a reminder."""
    random = np.random.default_rng(3).integers(0, yarns, (rows, blocks), dtype=np.uint8)
    names = ['<i>navy & "ink"', "a-woolly-green-without-a-single-space", "\u05db\u05d7\u05d5\u05dc"]
    names += [f"yarn {n}" for n in range(yarns - 3)]
    return Pattern(
        "Sailing </script> boat with a title that is as long as a good title may ever be",
        Chart(np.repeat(random, 3, axis=1)),
        tuple(Yarn(name, f"#{n * 9:02x}{255 - n * 9:02x}80") for n, name in enumerate(names)),
        reminders=(Reminder(2, "move the weights up, and look whether the tails are woven in"),),
    )


@pytest.fixture(scope="module")
def browser():
    reason = why_not()
    if reason:
        pytest.skip(reason)
    with Browser() as opened:
        yield opened


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    """Tracks of all rows but the last, of fewer words than the page, and the page."""
    place = tmp_path_factory.mktemp("tracks")
    settings = VoiceSettings(rate_wpm=350)
    made = write_tracks(boat(blocks=2), place, EspeakVoice(rate_wpm=350), settings, (1, ROWS - 1))
    sounds = {track.row: track.path.name for track in made.tracks}
    write_reading(boat(), place / "rows.html", sounds)
    return place


@pytest.fixture
def page(browser, folder) -> Browser:
    if browser.driver.current_url.startswith("file:"):  # whose pages share what they keep
        browser.ask("localStorage.clear()")
    browser.open(folder / "rows.html", width=390, height=844)
    return browser


def press(page: Browser, name: str) -> None:
    (button,) = page.driver.find_elements("xpath", f"//*[@class='bar']//button[.='{name}']")
    button.click()


def until(page: Browser, script: str, wanted: object) -> None:
    """Wait until a piece of JavaScript returns what is wanted."""
    end = time.monotonic() + 20
    while (found := page.ask(f"return {script}")) != wanted:
        assert time.monotonic() < end, f"{script} is {found!r}, not {wanted!r}"
        time.sleep(0.05)


CURRENT = "document.querySelector('[aria-current]')?.id ?? null"
TOLD = "document.querySelector('[role=status]').textContent.trim()"
HEARD = "(window.heard || []).join(' ')"
LISTEN = """
window.heard = [];
const play = HTMLMediaElement.prototype.play;
HTMLMediaElement.prototype.play = function () {
  this.onplaying = () => window.heard.push(decodeURI(this.src).match(/\\d+(?=\\.ogg)/)[0]);
  return play.call(this);
};
"""


@pytest.mark.parametrize(
    ("width", "height", "scheme"),
    [(*size, scheme) for size, scheme in zip(WIDTHS, ("dark", "forced", "light"), strict=True)],
)
def test_the_accessibility_checker_finds_nothing(browser, folder, width, height, scheme):
    # WCAG 2.2 A, AA and AAA as far as axe-core, a checker that is not ours, can tell.
    browser.open(folder / "rows.html", scheme, width, height)
    press(browser, "Start")
    # All is opened, and nothing is covered, so that the checker sees the colours behind it.
    browser.ask(
        "document.querySelectorAll('details').forEach(e => e.open = true);"
        "document.querySelector('.bar').style.position = 'static'"
    )
    found = browser.checked()
    assert found["violations"] == []
    assert found["incomplete"] == []
    rules = {entry.split(":")[0] for entry in found["passes"]}
    assert {"target-size", "html-has-lang", "bypass", "region", "list"} <= rules
    if scheme != "forced":
        assert "color-contrast-enhanced" in rules
        paper = browser.ask("return getComputedStyle(document.body).backgroundColor")
        assert (sum(map(int, paper[4:-1].split(","))) > 380) == (scheme == "light")


def test_the_accessibility_checker_would_find_something(browser, tmp_path):
    page = tmp_path / "rows.html"
    text = as_html(boat()).replace(' lang="en"', "").replace("--ink: #1b1b1b", "--ink: #777")
    page.write_text(text, encoding="utf-8")
    browser.open(page)
    broken = {entry.split(":")[0] for entry in browser.checked()["violations"]}
    assert {"html-has-lang", "color-contrast-enhanced"} <= broken


@pytest.mark.parametrize(("width", "height"), WIDTHS)
def test_it_fits_the_screen(browser, folder, width, height):
    browser.open(folder / "rows.html", width=width, height=height)
    browser.ask("document.querySelectorAll('details').forEach(e => e.open = true)")
    # Nothing scrolls sideways (1.4.10), and nothing stands out of the page.
    assert browser.ask("return document.documentElement.scrollWidth <= innerWidth")
    outside = "e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1"
    everything = "[...document.querySelectorAll('body *:not(.unseen, script)')]"
    assert browser.ask(f"return {everything}.filter({outside}).map(e => e.outerHTML)") == []
    # Text is 18 points, 24 CSS pixels, or more; what is pressed is 44 pixels or more (2.5.5).
    small = "e => e.innerText && parseFloat(getComputedStyle(e).fontSize) < 24"
    assert browser.ask(f"return {everything}.filter({small}).map(e => e.outerHTML)") == []
    pressed = "button, a, summary, label"
    sizes = browser.ask(
        f"return [...document.querySelectorAll('{pressed}')].map(e => e.getBoundingClientRect())"
        ".map(box => [box.width, box.height])"
    )
    assert len(sizes) > 10
    assert min(map(min, sizes)) >= 44
    # The buttons are always there, beneath what is read.
    bar = browser.ask("return document.querySelector('.bar').getBoundingClientRect().bottom")
    assert abs(bar - height) < 2
    assert browser.ask("return document.querySelector('.bar').offsetHeight") < height / 3


def test_buttons_call_the_rows_and_their_sound(page):
    page.ask(LISTEN)
    until(page, TOLD, f"{ROWS} rows")
    press(page, "Start")
    until(page, CURRENT, "r1")
    until(page, TOLD, f"Row 1 of {ROWS}, going right")
    until(page, HEARD, "001")
    for name, row, heard in [
        ("Next", 2, "001 002"),
        ("Repeat", 2, "001 002 002"),
        ("Back", 1, "001 002 002 001"),
        ("Back", 1, "001 002 002 001 001"),  # there is none before it
    ]:
        press(page, name)
        until(page, CURRENT, f"r{row}")
        until(page, HEARD, heard)
    top = page.ask("return document.querySelector('[aria-current]').getBoundingClientRect().top")
    assert 0 <= top < 40


def test_every_row_can_be_heard_by_itself(page):
    page.ask(LISTEN)
    (link,) = page.find("#r4 .hear a")
    page.click(link)
    until(page, CURRENT, "r4")
    until(page, HEARD, "004")
    assert page.driver.current_url.endswith("rows.html")  # without a script the link is the sound
    assert page.find("#r7 .hear a") == []  # it has no track, and is told in words
    for _ in range(3):
        press(page, "Next")
    until(page, CURRENT, "r7")
    until(
        page, f"{TOLD}.startsWith('Row 7 of {ROWS}, going right') && {TOLD}.includes('to R')", True
    )


def test_the_end(page):
    page.ask("document.querySelector('.sound input').click()")
    press(page, "Start")
    for _ in range(ROWS + 2):
        press(page, "Next")
    until(page, TOLD, f"The picture is finished. All {ROWS} rows are knitted.")
    assert page.ask(f"return {CURRENT}") is None
    page.driver.refresh()
    until(page, TOLD, f"The picture is finished. All {ROWS} rows are knitted.")
    press(page, "Back")
    until(page, CURRENT, f"r{ROWS}")


def test_the_place_is_kept(page, folder):
    press(page, "Start")
    press(page, "Next")
    press(page, "Next")
    until(page, CURRENT, "r3")
    page.ask("document.querySelector('.sound input').click()")
    page.driver.refresh()
    until(page, CURRENT, "r3")
    until(page, TOLD, f"Carry on at row 3 of {ROWS}, going right")
    assert not page.ask("return document.querySelector('.sound input').checked")
    press(page, "Start")  # calls the row that was being called, not the one after it
    until(page, CURRENT, "r3")
    press(page, "Next")
    until(page, CURRENT, "r4")
    # Another pattern, or the same one changed, has a place of its own.
    (folder / "other").mkdir()
    write_reading(boat(ROWS + 1), folder / "other" / "rows.html")
    page.open(folder / "other" / "rows.html")
    until(page, TOLD, f"{ROWS + 1} rows")


def test_a_place_that_makes_no_sense(page, folder):
    name = page.ask("return 'caller ' + document.body.dataset.pattern")
    for kept, told in [
        ("{", f"{ROWS} rows"),
        ("null", f"{ROWS} rows"),
        ('{"row": "x"}', f"{ROWS} rows"),
        ('{"row": -5}', f"{ROWS} rows"),
        ('{"row": 999}', f"The picture is finished. All {ROWS} rows are knitted."),
    ]:
        page.driver.execute_script("localStorage.setItem(arguments[0], arguments[1])", name, kept)
        page.driver.refresh()
        until(page, TOLD, told)


KEYS = {
    **dict.fromkeys((" ", "\ue007", "\ue00f", "\ue014"), "r4"),
    **dict.fromkeys(("\ue012", "\ue00e", "\ue003", "b"), "r2"),
    **dict.fromkeys(("r", "\ue013", "x"), "r3"),
}
"""Pressed in row 3; as selenium's Keys name them."""


def test_keys_and_pedals(page):
    page.ask("document.querySelector('.sound input').click()")
    press(page, "Start")
    at = "r1"
    for key, to in KEYS.items():
        while at < "r4":
            press(page, "Next")
            at = page.ask(f"return {CURRENT}")
        press(page, "Back")  # a finger pressed Back last, and still space and Enter go on
        until(page, CURRENT, "r3")
        page.type(key)
        until(page, CURRENT, to)
        at = to


def test_the_keys_of_a_reader_stay_the_readers(page):
    page.ask("document.querySelector('.sound input').click()")
    press(page, "Start")
    press(page, "Next")
    page.ask("document.activeElement.blur()")
    page.type("b")  # a letter, where no button has the focus (2.1.4)
    page.type("r")
    page.ask("document.querySelectorAll('summary')[0].focus()")
    page.type(" ")  # opens what the focus is on
    assert page.ask("return document.querySelector('details').open")
    assert page.ask(f"return {CURRENT}") == "r2"
    page.ask("document.querySelector('.bar button').focus()")
    page.type("\ue004\ue004")  # Tab to Next, and Enter presses it; then back to Back
    page.type("\ue007")
    until(page, CURRENT, "r3")
    page.ask("document.querySelector('.bar button').focus()")
    page.type("\ue007")
    until(page, CURRENT, "r2")


def test_going_to_a_row(page):
    page.ask("document.querySelectorAll('details')[1].open = true")
    page.click(page.find("nav a")[0])
    until(page, CURRENT, "r1")
    # The first stop of the Tab key leads past everything to the rows.
    page.ask("document.querySelector('a').click()")
    assert page.ask("return [location.hash, document.activeElement.tagName]") == ["#rows", "MAIN"]


def test_a_track_that_is_gone_is_told_of(browser, folder, tmp_path):
    write_reading(boat(), tmp_path / "alone.html", {1: "gone-001.ogg"})
    browser.open(tmp_path / "alone.html")
    press(browser, "Start")
    until(browser, f"{TOLD}.includes('Its track is missing, or of a kind')", True)


def test_on_paper(browser, folder):
    browser.open(folder / "rows.html")
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    seen = "[...document.querySelectorAll('{}')].filter(e => e.offsetHeight).length"
    assert browser.ask("return " + seen.format("main > section")) == ROWS
    assert browser.ask("return " + seen.format(".bar, nav, .hear, .skip, .sound")) == 0
    browser.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_long_work(browser, tmp_path):
    write_reading(boat(200, blocks=4), tmp_path / "long.html")
    browser.open(tmp_path / "long.html", width=320, height=568)
    press(browser, "Start")
    press(browser, "Next")
    until(browser, CURRENT, "r2")
    assert browser.ask("return document.documentElement.scrollWidth <= innerWidth")
