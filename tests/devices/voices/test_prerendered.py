"""A voice rendered ahead: what is ready, what comes first, and that nothing hangs or leaks."""

import threading
import time
from collections.abc import Callable, Iterator

import numpy as np
import pytest
from silent_voice import SilentVoice

from caller.calling import loop, session
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import Events
from caller.calling.place import Place
from caller.calling.ports import SoundBlock
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.devices.voices import prerendered
from caller.devices.voices.prerendered import Prerendered
from caller.errors import VoiceError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

GRID = np.array([[0, 0, 1, 1], [0, 1, 1, 1], [0, 0, 0, 1]], dtype=np.uint8)
PATTERN = Pattern("Three rows", Chart(GRID), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))


class GatedVoice(SilentVoice):
    """A voice that renders a block only when it is let: it stands for any slow one."""

    def __init__(self, fails_on: str | None = None, rate_wpm: int = 160) -> None:
        super().__init__(fails_on, rate_wpm)
        self.gate = threading.Semaphore(0)
        self.at: list[tuple[str, int]] = []

    def render(self, text: str) -> Iterator[SoundBlock]:
        for block in super().render(text):
            self.gate.acquire()
            self.at.append((text, self.rate_wpm))
            yield block

    def close(self) -> None:
        self.gate.release(10_000)


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + 20
    while not true() and time.monotonic() < end:
        time.sleep(0.002)
    assert true()


def rendering_threads() -> int:
    return sum(thread.name == "rendering ahead" for thread in threading.enumerate())


@pytest.fixture
def slow() -> GatedVoice:
    return GatedVoice()


@pytest.fixture
def ahead(slow) -> Iterator[Prerendered]:
    made = Prerendered(slow)
    yield made
    made.close()
    assert rendering_threads() == 0


def seconds(blocks) -> float:
    return sum(block.seconds for block in blocks)


def test_what_was_prepared_is_ready(ahead, slow):
    ahead.prepare(["Row two.", "Navy."], 160)
    slow.gate.release(3)
    until(lambda: len(slow.at) == 3)
    # No more is let through: what comes now comes from what is kept.
    assert len(list(ahead.render("Row two."))) == 2
    assert len(list(ahead.render("Navy."))) == 1
    assert len(list(ahead.render("Row two."))) == 2, "as often as wanted"
    assert slow.said == ["Row two.", "Navy."]


def test_what_was_prepared_half_is_finished(ahead, slow):
    ahead.prepare(["Navy to left two."], 160)
    slow.gate.release(1)
    until(lambda: len(slow.at) == 1)
    blocks = ahead.render("Navy to left two.")
    next(blocks)  # without another one let through
    slow.gate.release(3)
    assert len(list(blocks)) == 3
    assert slow.said == ["Navy to left two."]


def test_what_is_asked_for_comes_first(ahead, slow):
    ahead.prepare(["one", "two", "three"], 160)
    blocks: list[SoundBlock] = []
    asking = threading.Thread(target=lambda: blocks.extend(ahead.render("now now")))
    until(lambda: slow.said == ["one"])  # at the gate
    asking.start()
    until(lambda: len(ahead._asked) == 1)
    slow.gate.release(3)
    asking.join(20)
    assert len(blocks) == 2
    assert [text for text, _ in slow.at] == ["one", "now now", "now now"]


def test_preparing_something_else_drops_what_waits(ahead, slow):
    ahead.prepare(["one", "two", "three"], 160)
    until(lambda: slow.said == ["one"])
    ahead.prepare(["four"], 160)
    slow.gate.release(10)
    until(lambda: len(slow.at) == 2)
    assert [text for text, _ in slow.at] == ["one", "four"]


def test_a_sound_of_another_rate_is_never_given(ahead, slow):
    slow.gate.release(100)
    ahead.prepare(["Navy."], 160)
    until(lambda: len(slow.at) == 1)
    ahead.set_rate(80)
    assert ahead.rate_wpm == 80
    assert seconds(ahead.render("Navy.")) == pytest.approx(60 / 80, rel=0.001)
    ahead.set_rate(160)
    assert seconds(ahead.render("Navy.")) == pytest.approx(60 / 160, rel=0.001)
    assert slow.at == [("Navy.", 160), ("Navy.", 80)]


def test_a_voice_that_fails_is_tried_again():
    voice = SilentVoice(fails_on="red")
    ahead = Prerendered(voice)
    ahead.prepare(["red", "navy"], 160)
    until(lambda: voice.said == ["navy"])
    for _ in range(2):
        with pytest.raises(VoiceError, match="has failed"):
            list(ahead.render("red"))
    assert len(list(ahead.render("navy"))) == 1
    voice._fails_on = None
    assert len(list(ahead.render("red"))) == 1
    ahead.close()


def test_any_slip_of_a_voice_leaves_it_working():
    class Slipping(SilentVoice):
        def render(self, text: str) -> Iterator[SoundBlock]:
            if text == "red":
                raise ZeroDivisionError
            return super().render(text)

    ahead = Prerendered(Slipping())
    with pytest.raises(ZeroDivisionError):
        list(ahead.render("red"))
    assert len(list(ahead.render("navy"))) == 1
    ahead.close()


def test_only_so_much_is_kept():
    voice = SilentVoice(rate_wpm=160)
    ahead = Prerendered(voice, kept_s=10.0)
    for number in range(100):
        assert len(list(ahead.render(f"number {number}"))) == 2
        list(ahead.render("number 0"))  # the most recent are kept
    kept = seconds(block for sound in ahead._sounds.values() for block in sound.blocks)
    assert 8 < kept <= 10 + 2 * 60 / 160
    assert voice.said.count("number 0") == 1
    assert voice.said.count("number 1") == 1
    list(ahead.render("number 1"))
    assert voice.said.count("number 1") == 2
    ahead.close()


def test_closing_lets_a_waiting_listener_go(slow):
    ahead = Prerendered(slow)
    failed: list[VoiceError] = []

    def listen() -> None:
        try:
            for _ in range(100):
                list(ahead.render("a b c"))
                ahead.set_rate(ahead.rate_wpm + 1)
        except VoiceError as error:
            failed.append(error)

    listening = threading.Thread(target=listen)
    listening.start()
    until(lambda: slow.said == ["a b c"])
    ahead.close()
    ahead.close()
    listening.join(20)
    assert [str(error) for error in failed] == ["The voice has been closed."]
    assert rendering_threads() == 0


def test_a_text_cut_short_does_not_hold_up_the_next(ahead, slow):
    slow.gate.release(1)
    cut = ahead.render("one two three four five")
    next(cut)
    cut.close()
    slow.gate.release(2)  # the block that is being made, and the new one
    assert next(ahead.render("Navy.")).seconds > 0


@pytest.mark.parametrize("runs_at_once", [0, 1])
def test_a_session_prepares_what_may_be_asked_for_next(tmp_path, runs_at_once):
    voice = SilentVoice()
    ahead = Prerendered(voice)
    desk = Desk(
        ahead,
        SilentLoudspeaker(keep=True),
        FileJournal(tmp_path / "a.place", PATTERN),
        [].append,
        Events(),
    )
    settings = CallSettings(runs_at_once=runs_at_once)
    sitting = threading.Thread(target=loop.run, args=(PATTERN, desk, Place(2), settings))
    sitting.start()
    if runs_at_once:
        wanted = {"Row number two, going left.", "navy, only left two."}
    else:
        wanted = {"Row number three, going right.", "Row number one, going right."}
    state = session.begin(PATTERN, settings, Place(2), ahead.rate_wpm).state
    for order in (Command.REPEAT, Command.WHERE):
        wanted |= {clause.said for clause in session.step(PATTERN, settings, state, order).say}
    until(lambda: bool(voice.said))
    try:
        until(lambda: len(ahead._wanted) > 0 and all(sound.done for sound in ahead._wanted))
        prepared = {sound.text for sound in ahead._wanted}
        before = len(voice.said)
        desk.events.put(Command.NEXT)
        until(lambda: len(desk.loudspeaker.played) >= 3)
        until(lambda: bool(desk.loudspeaker.played[2]))
    finally:
        desk.events.put(Command.LEAVE)
        sitting.join(20)
        ahead.close()
        desk.journal.close()
    assert not sitting.is_alive()
    assert wanted <= prepared | set(voice.said[:before]), (wanted, prepared, voice.said)
    assert len(voice.said) == len(set(voice.said)), "nothing is rendered twice"


def test_memory_is_given_back_once_whenever_nothing_is_left_to_render(ahead, slow, monkeypatch):
    given_back: list[int] = []
    monkeypatch.setattr(prerendered, "give_back", lambda: given_back.append(len(slow.at)))
    monkeypatch.setattr(prerendered, "_RESTED_S", 0.05)
    assert list(ahead.render(released(slow, "Row 1.")))  # a wait may have begun before
    for text in ("Row 2.", "Row 3."):
        until(lambda: given_back[-1:] == [len(slow.at)])
        times = len(given_back)
        assert list(ahead.render(released(slow, text)))
        until(lambda: len(given_back) == times + 1)  # noqa: B023
    time.sleep(0.3)
    assert given_back[-1] == len(slow.at)
    assert len(given_back) == len(set(given_back)), "only once while nothing is rendered"


def released(slow: GatedVoice, text: str) -> str:
    slow.gate.release(100)
    return text
