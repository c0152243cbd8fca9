"""A pedal's lesson at work, on stand-ins and a clock that only moves when nothing comes in."""

import heapq
import itertools
import queue

import pytest
from silent_voice import SilentVoice

from caller.calling.commands import Command
from caller.calling.events import Pressed, Trouble, Typed
from caller.calling.pedals import lesson as pedal_lesson
from caller.calling.pedals import runner
from caller.calling.pedals.lesson import Bound
from caller.calling.pedals.runner import Felt, PedalDesk
from caller.calling.ports import Edge
from caller.devices.sound.silent import SilentLoudspeaker
from caller.errors import PedalError, SettingError
from caller.settings import PedalKey, PressSettings

PAGE_DOWN = PedalKey("system", "pagedown", "", "next", "back", "repeat")


class Evening:
    """An inbox into which things come at their times, in seconds, and the clock that tells them."""

    def __init__(self):
        self.now_s = 100.0
        self._order = itertools.count()
        self._coming = []

    def put(self, event, at_s=0.0):
        heapq.heappush(self._coming, (100.0 + at_s, next(self._order), event))

    def get(self, timeout):
        if self._coming and self._coming[0][0] <= self.now_s + timeout:
            self.now_s, _, event = heapq.heappop(self._coming)
            return event
        self.now_s += timeout
        raise queue.Empty

    def edge(self, at_s, down, key="pagedown", source="system", device=""):
        self.put(Felt(source, device, Edge(source, key, down, 100.0 + at_s)), at_s)

    def press(self, at_s, held_s=0.1, **where):
        self.edge(at_s, True, **where)
        self.edge(at_s + held_s, False, **where)

    def lesson(self, voice=None, keep=None, **begin):
        """Hold it; what was shown, and what was kept."""
        shown, kept = [], []
        desk = PedalDesk(
            voice or SilentVoice(),
            SilentLoudspeaker(keep=True),
            PressSettings(),
            keep or kept.append,
            shown.append,
            self,
            lambda: self.now_s,
        )
        runner.run(pedal_lesson.begin(Bound(), **begin), desk)
        return shown, kept


@pytest.fixture
def evening():
    return Evening()


def test_two_presses_find_the_pedal_and_a_third_keeps_it(evening):
    for at_s in (2, 6, 12):
        evening.press(at_s)
    evening.press(20, held_s=1.0)
    evening.press(26)
    evening.press(26.25)
    voice = SilentVoice()
    shown, kept = evening.lesson(voice)
    assert kept == [PAGE_DOWN]
    assert [line.split(".")[0] for line in shown] == [
        "Press the pedal",
        "Page down, from the keyboard",
        "That is your pedal",
        "It is kept",
        "A long press: hear what came before",
        "Two quick presses: hear it again",
        "Done",
    ]
    assert " ".join(voice.said) == " ".join(shown), "all that is shown is said"


def test_it_is_on_the_disk_before_it_is_said_to_be_kept(evening):
    for at_s in (2, 6, 12):
        evening.press(at_s)

    def keep(_pedal):
        raise SettingError("The disk is full.")

    with pytest.raises(SettingError):
        evening.lesson(keep=keep)


@pytest.mark.parametrize("repeat", ["downs", "pairs"])
def test_a_pedal_that_is_held_and_repeats_is_pressed_once(evening, repeat):
    """As macOS and Windows repeat, and as X11 does."""
    evening.edge(2, True)
    for number in range(100):
        at_s = 2.5 + number / 30
        if repeat == "pairs":
            evening.edge(at_s, False)
        evening.edge(at_s, True)
    evening.edge(6, False)
    evening.put(Command.LEAVE, 8)
    shown, kept = evening.lesson()
    assert [line.split(".")[0] for line in shown] == [
        *("Press the pedal", "Page down, from the keyboard", "Stopped"),
    ]
    assert kept == []


def test_a_press_that_comes_in_at_several_sources_is_one_and_the_nearest_counts(evening):
    for at_s in (2, 6):
        evening.put(Pressed("b"), at_s)
        evening.press(at_s + 0.01, key="b")
        evening.press(at_s + 0.02, key="b", source="device", device="Foot Switch")
    evening.press(12, key="b")  # not this one: a keyboard's own B
    evening.press(14, key="b", source="device", device="Foot Switch")
    shown, kept = evening.lesson()
    assert kept == [PedalKey("device", "b", "Foot Switch", "next", "back", "repeat")]
    assert shown[1].startswith("The letter B, from Foot Switch.")
    assert len(shown) == 5


def test_two_devices_with_the_same_key_are_two_pedals(evening):
    for at_s, device in [(2, "Left"), (6, "Right"), (10, "Right"), (16, "Left"), (18, "Right")]:
        evening.press(at_s, key="sustain", source="midi", device=device)
    shown, kept = evening.lesson()
    assert shown[2].startswith("That is another one: sustain, from MIDI device Right.")
    assert kept == [PedalKey("midi", "sustain", "Right", "next", "back", "repeat")]


def test_what_comes_to_the_terminal_alone_is_told_once_however_long_it_is_held(evening):
    for at_s in (2, 2.5, *(2.5 + number / 30 for number in range(1, 60))):
        evening.put(Pressed("pagedown"), at_s)
    evening.put(Pressed("control-c"), 8)
    shown, kept = evening.lesson()
    assert [line.split(".")[0] for line in shown] == [
        *("Press the pedal", "Page down, at this terminal", "Stopped"),
    ]
    assert kept == []


def test_terminal_keys_mean_nothing_once_the_pedal_is_found(evening):
    for at_s in (2, 6):
        evening.press(at_s)
    evening.put(Pressed("q"), 10)
    evening.put(Pressed("enter"), 11)
    evening.press(12)
    shown, kept = evening.lesson()
    assert kept == [PAGE_DOWN]
    assert len(shown) == 5


@pytest.mark.parametrize(
    "leaving", [Pressed("control-c"), Pressed("control-d"), Command.LEAVE, Typed("leave\n")]
)
@pytest.mark.parametrize("presses", range(5))
def test_leaving_at_any_time_keeps_all_or_nothing(evening, leaving, presses):
    for number in range(presses):
        evening.press(2 + 4 * number)
    evening.put(leaving, 30)
    shown, kept = evening.lesson()
    assert kept == [PAGE_DOWN] * (presses > 2)
    assert shown[-1] == ("Done." if presses > 2 else "Stopped. Nothing is kept.")


def test_a_line_that_is_typed_brings_the_question_again(evening):
    evening.put(Typed("what?\n"), 2)
    evening.put(Typed("leave\n"), 3)
    shown, _ = evening.lesson()
    assert shown[1] == "Press the pedal."


def test_in_quiet_the_question_comes_again_and_the_lesson_ends(evening):
    shown, kept = evening.lesson(trouble="There is no MIDI pedal.")
    assert [line.split(".")[0] for line in shown] == [
        "Press the pedal",
        *["No press has come yet"] * 3,
        "No press came, so nothing is kept",
    ]
    assert kept == []
    assert 45 < evening.now_s - 100 < 75


def test_a_pedal_that_is_taken_away_is_told_and_the_lesson_goes_on(evening):
    evening.put(Trouble(PedalError("The pedal was taken away.")), 1)
    for at_s in (2, 6, 12):
        evening.press(at_s)
    shown, kept = evening.lesson()
    assert shown[1] == "The pedal was taken away."
    assert kept == [PAGE_DOWN]


def test_a_voice_that_fails_is_told_on_the_screen(evening):
    evening.put(Command.LEAVE, 5)
    shown, _ = evening.lesson(SilentVoice(fails_on="Press"))
    assert shown[1] == "The voice has failed."
