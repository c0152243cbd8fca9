"""Pedals at work: presses become commands, lost pedals are told of and come back."""

import queue
import threading
import time

import pytest
from pedal_stand_ins import HandPedal

from caller.calling.commands import Command
from caller.calling.events import Events, News, Trouble
from caller.calling.pedals.reader import OpenPedal, PedalReader
from caller.errors import PedalError, SettingError
from caller.settings import PedalKey, PressSettings

SHORT = PedalKey("device", "pagedown", short="next")
WAIT_S = 20
"""For what must come; the machine may be busy."""


def tread(source, down_s=0.1, key="pagedown"):
    now_s = time.monotonic()
    source.move(key, True, now_s)
    source.move(key, False, now_s + down_s)


@pytest.fixture
def reader():
    """Opens pedals and closes them at the end."""
    begun = []

    def start(*pedals, settings=None, retry_s=0.01):
        events = Events()
        begun.append(PedalReader(pedals, settings or PressSettings(), events, retry_s))
        begun[-1].start()
        return events, begun[-1]

    yield start
    for one in begun:
        one.close()


def pedal(source, *keys, name="The pedal"):
    return OpenPedal(name, lambda: source, keys or (SHORT,))


def test_a_press_gives_its_command(reader):
    source = HandPedal()
    events, _ = reader(pedal(source))
    tread(source)
    assert events.get(timeout=WAIT_S) is Command.NEXT


def test_each_kind_of_press_gives_its_own_command(reader):
    source = HandPedal()
    key = PedalKey("device", "a", short="next", long="where", double="back")
    events, _ = reader(pedal(source, key))
    tread(source, 0.1, "a")
    assert events.get(timeout=WAIT_S) is Command.NEXT
    source.move("a", True, time.monotonic())
    assert events.get(timeout=WAIT_S) is Command.WHERE
    now_s = time.monotonic()
    for n, down in enumerate([False, True, False, True]):
        source.move("a", down, now_s + n / 8)
    assert events.get(timeout=WAIT_S) is Command.BACK


def test_a_long_press_is_told_while_the_foot_is_still_down(reader):
    source = HandPedal()
    events, _ = reader(pedal(source, PedalKey("device", "a", long="where")))
    source.move("a", True, time.monotonic())
    assert events.get(timeout=WAIT_S) is Command.WHERE


def test_a_press_that_is_bound_to_nothing_gives_nothing(reader):
    source = HandPedal()
    long = PedalKey("device", "b", long="where")
    events, _ = reader(pedal(source, SHORT, long))
    tread(source, key="other")
    tread(source, 0.2, key="b")
    time.sleep(0.4)
    tread(source)
    assert events.get(timeout=WAIT_S) is Command.NEXT
    assert events.empty()


def test_keys_of_one_name_on_two_pedals_give_their_own_commands(reader):
    one, two = HandPedal("device"), HandPedal("device")
    back = PedalKey("device", "pagedown", device="two", short="back")
    events, _ = reader(pedal(one), pedal(two, back))
    tread(two)
    assert events.get(timeout=WAIT_S) is Command.BACK


def test_of_two_pedals_trodden_together_only_the_first_counts(reader):
    one, two = HandPedal(), HandPedal()
    back = PedalKey("device", "x", short="back")
    settings = PressSettings(together_s=0.5)
    events, _ = reader(pedal(one), pedal(two, back), settings=settings)
    now_s = time.monotonic()
    one.move("pagedown", True, now_s)
    assert events.get(timeout=WAIT_S) is Command.NEXT
    two.move("x", True, now_s + 0.1)
    two.move("x", False, now_s + 0.3)
    two.move("x", True, now_s + 0.9)
    assert events.get(timeout=WAIT_S) is Command.BACK
    assert events.empty()


def test_a_lost_pedal_is_told_of_once_and_again_when_it_is_back(reader):
    first, last = HandPedal(), HandPedal()
    waiting = [first, PedalError("still away"), PedalError("still away"), last]

    def open_next():
        source = waiting.pop(0)
        if isinstance(source, PedalError):
            raise source
        return source

    events, _ = reader(OpenPedal("the foot switch", open_next, (SHORT,)))
    first.move("pagedown", True, time.monotonic())
    assert events.get(timeout=WAIT_S) is Command.NEXT
    first.lose("The pedal was taken away.")
    assert events.get(timeout=WAIT_S) == Trouble(PedalError("The pedal was taken away."))
    assert events.get(timeout=WAIT_S) == News("The foot switch is back.")
    # What was down when it was lost is forgotten: the next press counts.
    tread(last)
    assert events.get(timeout=WAIT_S) is Command.NEXT
    assert events.empty()
    assert first.closed
    waiting.append(HandPedal())
    last.lose("Gone again.")
    assert events.get(timeout=WAIT_S) == Trouble(PedalError("Gone again."))
    assert events.get(timeout=WAIT_S) == News("The foot switch is back.")


def test_a_pedal_that_is_not_there_at_the_start_is_told_of_and_waited_for(reader):
    source, tries = HandPedal(), []

    def open_late():
        tries.append(time.monotonic())
        if len(tries) < 3:
            raise PedalError("There is no pedal.")
        return source

    events, _ = reader(OpenPedal("The pedal", open_late, (SHORT,)), retry_s=0.05)
    assert events.get(timeout=WAIT_S) == Trouble(PedalError("There is no pedal."))
    assert events.get(timeout=WAIT_S) == News("The pedal is back.")
    assert tries[2] - tries[0] >= 0.1


def test_one_lost_pedal_does_not_stop_another(reader):
    one, two = HandPedal(), HandPedal()
    events, _ = reader(pedal(one), pedal(two), retry_s=60)
    one.lose("gone")
    assert events.get(timeout=WAIT_S) == Trouble(PedalError("gone"))
    tread(two)
    assert events.get(timeout=WAIT_S) is Command.NEXT


@pytest.mark.parametrize("away", [False, True], ids=["while it waits", "while it is lost"])
def test_it_ends_promptly(reader, away):
    source = HandPedal()
    events, begun = reader(pedal(source), retry_s=60)
    if away:
        source.lose("gone")
        events.get(timeout=WAIT_S)
    begun.close()
    begun.close()
    assert source.closed
    assert not [one for one in threading.enumerate() if one.name == "pedals"]
    with pytest.raises(queue.Empty):
        events.get_nowait()


def test_closing_what_never_began():
    PedalReader([pedal(HandPedal())], PressSettings(), Events()).close()


def test_a_command_that_is_none_is_named_with_those_that_are():
    key = PedalKey("device", "pagedown", long="nxt")
    with pytest.raises(SettingError, match=r"pagedown.*'nxt'.*next, repeat, back"):
        PedalReader([pedal(HandPedal(), key)], PressSettings(), Events())


def test_one_press_cannot_give_two_commands():
    keys = SHORT, PedalKey("device", "PageDown", short="back")
    with pytest.raises(SettingError, match=r"short press.*next and back"):
        PedalReader([pedal(HandPedal(), *keys)], PressSettings(), Events())


def test_the_kinds_of_one_key_may_be_bound_apart(reader):
    source = HandPedal()
    events, _ = reader(pedal(source, SHORT, PedalKey("device", "pagedown", long="where")))
    source.move("pagedown", True, time.monotonic())
    assert events.get(timeout=WAIT_S) is Command.WHERE
