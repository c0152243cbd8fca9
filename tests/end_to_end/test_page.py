"""`knit --page` with a real browser: what is pressed moves the call, and every page follows it."""

import json
import queue
import subprocess
import sys
import threading
import time
import urllib.request
from contextlib import closing, contextmanager
from dataclasses import replace
from itertools import pairwise

import pytest
from browser import Browser, why_not
from child_env import WITHOUT_SOUND
from small_pieces import STEPS

from caller.calling import session
from caller.calling.commands import Command
from caller.calling.events import Pressed
from caller.calling.place import Place
from caller.calling.state import Told
from caller.calling.words.utterance import shown
from caller.devices.page.server import PageServer
from caller.devices.page.view import view
from caller.pattern.storage import pattern_file
from caller.settings import CallSettings

HEADING = "document.getElementById('heading').textContent"
WORDS = "document.getElementById('words').textContent"
LINK = "document.getElementById('link').textContent"


@pytest.fixture(scope="module")
def browser():
    reason = why_not()
    if reason:
        pytest.skip(reason)
    with Browser() as opened:
        yield opened


@pytest.fixture
def pattern(tmp_path):
    pattern_file.save(STEPS, tmp_path / "steps.toml")
    return tmp_path / "steps.toml"


class Sitting:
    def __init__(self, process):
        self.process = process
        self.lines = []
        while not self.lines or not self.lines[-1].startswith("http://"):
            line = process.stdout.readline()
            assert line, self.lines
            self.lines.append(line.strip())
        self.address = self.lines[-1]
        threading.Thread(target=lambda: self.lines.extend(process.stdout), daemon=True).start()

    def type(self, line):
        self.process.stdin.write(f"{line}\n")
        self.process.stdin.flush()


@contextmanager
def knitting(pattern, *options):
    """A session on a computer without sound, which is told at its end."""
    process = subprocess.Popen(
        [sys.executable, "-m", "caller", "knit", str(pattern), "--no-listen", "--page", *options],
        env=WITHOUT_SOUND | {"CALLER_HISTORY": str(pattern.parent / "history.sqlite")},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    try:
        yield Sitting(process)
    finally:
        process.kill()
        process.wait()
        process.stdin.close()


def until(page, script, wanted):
    end = time.monotonic() + 20
    while (found := page.ask(f"return {script}")) != wanted:
        assert time.monotonic() < end, f"{script} is {found!r}, not {wanted!r}"
        time.sleep(0.05)


def see(page, scheme, width, height):
    liked = {"name": "prefers-color-scheme", "value": "dark" if scheme == "dark" else "light"}
    forced = {"name": "forced-colors", "value": "active" if scheme == "forced" else "none"}
    page.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": [liked, forced]})
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    page.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def press(page, name):
    (button,) = [one for one in page.find("button") if one.text == name]
    page.click(button)


def start(page, sitting):
    page.driver.get(sitting.address)
    until(page, HEADING, f"Row 1 of {STEPS.script.rows}, going right")


class Follower(threading.Thread):
    """A second page, as a browser's EventSource: keeps what comes, and when."""

    def __init__(self, address):
        super().__init__(daemon=True)
        self.seen = []
        self.stream = urllib.request.urlopen(f"{address}events", timeout=60)
        self.start()

    def run(self):
        for line in self.stream:
            if line.startswith(b"data: "):
                self.seen.append((json.loads(line[6:]), time.monotonic()))


def test_pages_follow_the_call(browser, pattern):
    with knitting(pattern) as sitting:
        start(browser, sitting)
        follower = Follower(sitting.address)
        pressed_s = time.monotonic()
        press(browser, "Next")
        until(browser, HEADING, f"Row 2 of {STEPS.script.rows}, going left")
        end = time.monotonic() + 20
        while not any(view["heading"].startswith("Row 2") for view, _ in follower.seen):
            assert time.monotonic() < end
            time.sleep(0.01)
        came_s = next(at_s for view, at_s in follower.seen if view["heading"].startswith("Row 2"))
        assert came_s > pressed_s  # how soon: tests/bench/page.py
        # Page turners and pedals; and what is typed at the machine moves the page.
        for key, row in [("\ue00f", 3), ("\ue00e", 2), (" ", 3), ("\ue014", 4), ("\ue012", 3)]:
            browser.type(key)
            until(browser, f"{HEADING}.startsWith('Row {row} ')", True)
        sitting.type("next")
        until(browser, f"{HEADING}.startsWith('Row 4 ')", True)
        sitting.type("where")
        until(browser, f"{WORDS}.startsWith('This is row 4')", True)
        press(browser, "Repeat")
        until(browser, f"{WORDS}.startsWith('This is row 4')", False)
        # A row that is asked about is gone to with Yes.
        sitting.type("row 6")
        until(browser, "!document.querySelector('[data-press=yes]').hidden", True)
        press(browser, "Yes")
        until(browser, f"{HEADING}.startsWith('Row 6 ')", True)
        until(browser, "document.querySelector('[data-press=yes]').hidden", True)
        assert {"from", "to"} <= set(
            browser.ask("return document.getElementById('runs').innerText").split()
        )
        sitting.type("leave")
        until(browser, f"{WORDS}.includes('Your place is kept.')", True)
        assert sitting.process.wait(20) == 0
        assert browser.ask(f"return {LINK}") == ""  # it has ended: nothing is wrong
    again = row_line(pattern)
    assert again.startswith("Carrying on at row 6")


def row_line(pattern):
    done = subprocess.run(
        [sys.executable, "-m", "caller", "knit", str(pattern), "--no-listen"],
        env=WITHOUT_SOUND | {"CALLER_HISTORY": str(pattern.parent / "history.sqlite")},
        input="leave\n",
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
    )
    return next(line for line in done.stdout.splitlines() if line.startswith("Carrying on"))


def test_the_connection_drops(browser):
    """The page comes back by itself and shows the row as it is; what was told already a screen
    reader is not told again, and what was pressed meanwhile is not sent later on."""
    pressed = queue.SimpleQueue()
    settings = CallSettings()
    told = Told(STEPS, settings, session.begin(STEPS, settings, Place(3), 160), begun=True)
    with closing(PageServer("computer", pressed.put)) as server:
        server.show(view(told))
        browser.driver.get(server.door.address)
        until(browser, f"{HEADING}.startsWith('Row 3 ')", True)
        browser.ask(
            "window.told = [];"
            f"new MutationObserver(() => window.told.push({WORDS}))"
            ".observe(document.getElementById('words'), {childList: true, characterData: true})"
        )

        def drop():
            for connection in list(server._server.server_state.connections):
                connection.transport.abort()

        def dropped():
            looked = f"{LINK}.startsWith('Not connected')"
            server._loop.call_soon_threadsafe(drop)
            until(browser, looked, True)
            until(browser, LINK, "")

        dropped()
        assert browser.ask("return window.told") == []
        answer = session.step(STEPS, settings, told.answer.state, Command.NEXT)
        server._loop.call_soon_threadsafe(drop)
        server.show(view(replace(told, answer=answer)))
        until(browser, f"{HEADING}.startsWith('Row 4 ')", True)
        assert browser.ask("return window.told") == [shown(answer.say)]
        offline(browser, True)
        browser.type(" ")
        until(browser, f"{LINK}.startsWith('Not sent')", True)
        offline(browser, False)
        browser.type("\ue013")  # the up arrow is the reader's, where no button has the focus
        browser.type("\ue012")
        assert pressed.get(timeout=20) == Pressed("pageup", on_page=True)
    until(browser, f"{LINK}.startsWith('Not connected')", True)
    assert browser.ask(f"return {HEADING}").startswith("Row 4 ")
    assert pressed.empty()


def offline(page, wanted):
    rates = {"latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    page.driver.execute_cdp_cmd("Network.enable", {})
    page.driver.execute_cdp_cmd("Network.emulateNetworkConditions", {"offline": wanted, **rates})


SIGHTS = [("light", 320, 568), ("dark", 1920, 1080)]


def test_the_accessibility_checker_finds_nothing(browser, pattern):
    """WCAG 2.2 A, AA and AAA as far as axe-core, a checker that is not ours, can tell."""
    with knitting(pattern) as sitting:
        see(browser, "light", 1920, 1080)
        start(browser, sitting)
        for row in (2, 3, 4, 5):
            browser.type(" ")
            until(browser, f"{HEADING}.startsWith('Row {row} ')", True)
        for scheme, width, height in SIGHTS:
            see(browser, scheme, width, height)
            # Nothing is covered, so that the checker sees the colours behind it.
            browser.ask("document.querySelector('.moves').style.position = 'static'")
            found = browser.checked()
            assert found["violations"] == [], (scheme, width)
            assert found["incomplete"] == [], (scheme, width)
            rules = {entry.split(":")[0] for entry in found["passes"]}
            assert {"target-size", "html-has-lang", "region", "list"} <= rules
            assert "color-contrast-enhanced" in rules
            browser.ask("document.querySelector('.moves').style.position = ''")
            fits(browser)
            paper = browser.ask("return getComputedStyle(document.body).backgroundColor")
            assert (sum(map(int, paper[4:-1].split(","))) > 380) == (scheme == "light")
        # The reader's own colours; what marks a row that is called is no colour alone.
        see(browser, "forced", 320, 568)
        fits(browser)
        now = "getComputedStyle(document.querySelector('#runs .now'))"
        assert browser.ask(f"return {now}.outlineStyle") == "solid"
        # Twice as large, and so again when it is opened again (1.4.4).
        before = browser.ask("return document.querySelector('#runs .now').offsetHeight")
        for _ in range(3):
            press(browser, "Larger text")
        fits(browser)
        larger = "parseFloat(getComputedStyle(document.documentElement).fontSize)"
        size = browser.ask(f"return {larger}")
        assert size == pytest.approx(48)
        assert browser.ask("return document.querySelector('#runs .now').offsetHeight") > before
        browser.driver.refresh()
        until(browser, f"{HEADING}.startsWith('Row 5 ')", True)
        assert browser.ask(f"return {larger}") == size
        log = browser.driver.get_log("browser")
        assert [entry for entry in log if entry["source"] != "network"] == []  # as by the policy


def fits(page):
    """Nothing scrolls sideways (1.4.10); what is pressed is 44 pixels or more (2.5.5)."""
    outside = "e => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1"
    everything = "[...document.querySelectorAll('body *')]"
    # Labels of needles are laid out anew in the frame after the page has another width.
    until(page, f"{everything}.filter({outside}).map(e => e.outerHTML)", [])
    assert page.ask("return document.documentElement.scrollWidth <= innerWidth")
    sizes = page.ask(
        "return [...document.querySelectorAll('button:not([hidden])')]"
        ".map(e => e.getBoundingClientRect()).map(box => [box.width, box.height])"
    )
    assert len(sizes) == 5
    assert min(map(min, sizes)) >= 44
    labels = page.ask(
        "return [...document.querySelectorAll('.labels span')].map(e => e.getBoundingClientRect())"
        ".map(box => [box.left, box.right, box.top]).sort((a, b) => a[0] - b[0])"
    )
    assert len(labels) >= 2
    assert all(one[1] <= other[0] for one, other in pairwise(labels))
    bars = page.ask(
        "return [...document.querySelectorAll('.needles i')].map(e => e.getBoundingClientRect()"
        ".width)"
    )
    assert len(bars) == 4  # of two needles each
    assert max(bars) - min(bars) < 1.5


def test_options_that_do_not_go_together(pattern):
    for options, told in [
        (["--page-on", "home"], "--page-on home says who reaches the page, and there is none; add"),
        (["--page", "--page-on", "work"], "'work' is not one of 'computer', 'home'"),
    ]:
        done = subprocess.run(
            [sys.executable, "-m", "caller", "knit", str(pattern), "--no-listen", *options],
            env=WITHOUT_SOUND,
            input="leave\n",
            capture_output=True,
            text=True,
            check=False,
            timeout=60,
        )
        assert done.returncode == 2
        assert told in " ".join(done.stderr.split())
        assert "Traceback" not in done.stderr
    assert list(pattern.parent.glob("*.place")) == []
