"""A chosen pedal on Linux, by the kernel's own records through a named pipe."""

import errno
import fcntl
import os
import re
import struct
import sys
import threading
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pedal_stand_ins import (
    EV_KEY,
    EV_SYN,
    KEY_F13,
    KEY_PAGEDOWN,
    KEY_PAGEUP,
    REPORT,
    SYN_DROPPED,
    PipePedal,
    moved,
    record,
)

from caller.devices.keys.evdev import EvdevPedal, list_device_pedals
from caller.devices.keys.key_codes import NAMES, name_of
from caller.errors import PedalError

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="devices of Linux")
HEADER = Path("/usr/include/linux")


@pytest.fixture
def pipe(tmp_path):
    with PipePedal(tmp_path / "event3") as pedal:
        yield pedal


def descriptors():
    """How many files this process has open."""
    return len(list(Path("/proc/self/fd").iterdir()))


def heard(path, *chunks, pipe):
    """What is told of these bytes, and how it ends."""
    source = EvdevPedal(path)
    edges = source.edges()

    def write():
        for chunk in chunks:
            pipe.send(chunk)
        pipe.unplug()

    writer = threading.Thread(target=write)
    writer.start()
    told = []

    def listen():
        for edge in edges:
            told.append((edge.key, edge.down))

    with pytest.raises(PedalError, match="taken away"):
        listen()
    writer.join()
    source.close()
    return told


def test_a_press_is_a_down_and_an_up(pipe):
    chunks = moved(KEY_PAGEDOWN, 1), moved(KEY_PAGEDOWN, 0)
    assert heard(pipe.path, *chunks, pipe=pipe) == [("pagedown", True), ("pagedown", False)]


def test_a_held_key_that_repeats_is_told_once(pipe):
    held = [moved(KEY_F13, value) for value in (1, 2, 2, 2)]
    chunks = *held, moved(KEY_PAGEUP, 1), moved(KEY_F13, 0)
    told = [("f13", True), ("pageup", True), ("f13", False)]
    assert heard(pipe.path, *chunks, pipe=pipe) == told


def test_two_keys_at_once(pipe):
    both = record(EV_KEY, KEY_PAGEUP, 1) + record(EV_KEY, KEY_PAGEDOWN, 1) + REPORT
    assert heard(pipe.path, both, pipe=pipe) == [("pageup", True), ("pagedown", True)]


def test_an_up_of_what_was_down_before_is_nothing(pipe):
    chunks = moved(KEY_PAGEUP, 0), moved(KEY_PAGEDOWN, 1)
    assert heard(pipe.path, *chunks, pipe=pipe) == [("pagedown", True)]


@settings(deadline=None, max_examples=25)
@given(cuts=st.lists(st.integers(0, 12 * 24), max_size=12))
def test_records_may_come_in_any_pieces(tmp_path_factory, cuts):
    whole = b"".join(moved(code, value) for code in (30, 48) for value in (1, 0))
    bounds = [0, *sorted(cuts), len(whole)]
    pieces = [whole[a:b] for a, b in pairwise(bounds) if a < b]
    with PipePedal(tmp_path_factory.mktemp("pieces") / "event0") as pipe:
        told = heard(pipe.path, *pieces, pipe=pipe)
    assert told == [("a", True), ("a", False), ("b", True), ("b", False)]


@settings(deadline=None, max_examples=25)
@given(rubbish=st.binary(max_size=400))
def test_rubbish_does_no_more_than_press_keys(tmp_path_factory, rubbish):
    with PipePedal(tmp_path_factory.mktemp("rubbish") / "event0") as pipe:
        told = heard(pipe.path, rubbish or REPORT, pipe=pipe)
    for key in {key for key, _ in told}:
        downs = [down for other, down in told if other == key]
        assert downs == [n % 2 == 0 for n in range(len(downs))]


def test_after_lost_records_it_asks_what_is_down(pipe, monkeypatch):
    """SYN_DROPPED: what follows up to the next report is to be ignored and the state asked for
    (the kernel's Documentation/input/event-codes.rst; second-hand, by libevdev's page on it)."""
    down = [set(), {31, 33}]

    def ioctl(_descriptor, number, given=0):
        if number != 0x80604518:
            raise OSError(errno.ENOTTY, "no device")
        for code in down.pop(0):
            given[code // 8] |= 1 << code % 8

    monkeypatch.setattr(fcntl, "ioctl", ioctl)
    lost = record(EV_SYN, SYN_DROPPED, 0)
    chunks = moved(30, 1) + moved(31, 1), lost + moved(48, 1), moved(46, 1)
    # a and s went down; then a came up, f went down and was held, and b was a part of a whole.
    assert heard(pipe.path, *chunks, pipe=pipe) == [
        ("a", True),
        ("s", True),
        ("a", False),
        ("f", True),
        ("c", True),
    ]


def test_a_pipe_cannot_be_asked_so_lost_records_let_all_up(pipe):
    chunks = moved(30, 1), record(EV_SYN, SYN_DROPPED, 0) + REPORT
    assert heard(pipe.path, *chunks, pipe=pipe) == [("a", True), ("a", False)]


def test_a_device_is_grabbed_and_asked_for_the_clock_of_this_program(pipe, monkeypatch):
    """The requests' numbers are made up from linux/input.h (seen): EVIOCGRAB is _IOW('E', 0x90,
    int), EVIOCSCLOCKID _IOW('E', 0xa0, int) and EVIOCGKEY(96) _IOC(_IOC_READ, 'E', 0x18, 96)."""

    def request(direction, number, size):
        return direction << 30 | size << 16 | ord("E") << 8 | number

    asked = []

    def ioctl(_descriptor, number, given=0):
        asked.append((number, given if isinstance(given, int | bytes) else len(given)))
        if number == request(2, 0x18, 96) and len(asked) == 1:
            given[KEY_PAGEDOWN // 8] |= 1 << KEY_PAGEDOWN % 8  # still down from before
        return 0

    monkeypatch.setattr(fcntl, "ioctl", ioctl)
    source = EvdevPedal(pipe.path)
    # By now the records bear the time themselves: 5.25 s.
    pipe.send(struct.pack("@llHHi", 5, 250_000, EV_KEY, KEY_PAGEDOWN, 1))
    assert next(source.edges()).at_s == 5.25
    source.close()
    assert asked == [
        (request(2, 0x18, 96), 96),
        (request(2, 0x18, 96), 96),
        (request(1, 0x90, 4), 1),
        (request(1, 0xA0, 4), struct.pack("i", 1)),
    ]


def test_a_device_that_another_program_keeps(pipe, monkeypatch):
    def ioctl(_descriptor, number, _given=0):
        if number == 0x40044590:
            raise OSError(errno.EBUSY, "busy")

    monkeypatch.setattr(fcntl, "ioctl", ioctl)
    before = descriptors()
    with pytest.raises(PedalError, match="Another program keeps"):
        EvdevPedal(pipe.path)
    assert descriptors() == before


def test_an_unplugged_device(pipe, monkeypatch):
    source = EvdevPedal(pipe.path)
    pipe.send(REPORT)

    def gone(*_):
        raise OSError(errno.ENODEV, "No such device")

    monkeypatch.setattr(os, "read", gone)
    with pytest.raises(PedalError, match="taken away"):
        next(source.edges())
    monkeypatch.undo()
    source.close()


def test_nothing_is_left_open(pipe):
    before = descriptors()
    for _ in range(3):
        source = EvdevPedal(pipe.path)
        reader = threading.Thread(target=lambda source=source: list(source.edges()))
        reader.start()
        source.close()
        reader.join(20)
        assert not reader.is_alive()
    assert descriptors() == before


def test_a_device_that_may_not_be_read(tmp_path):
    node = tmp_path / "event0"
    node.touch(mode=0)
    tmp_path.chmod(0o755)
    root = os.geteuid() == 0
    if root:
        os.seteuid(65534)
    try:
        with pytest.raises(PedalError, match=r"sudo usermod -aG input \$USER"):
            EvdevPedal(node)
    finally:
        if root:
            os.seteuid(0)


def test_a_device_that_is_not_there(tmp_path):
    with pytest.raises(PedalError, match="No such file"):
        EvdevPedal(tmp_path / "event9")


@pytest.mark.parametrize("use", [EvdevPedal, list_device_pedals])
def test_elsewhere_than_on_linux(use, monkeypatch):
    monkeypatch.setattr(sys, "platform", "darwin")
    with pytest.raises(PedalError, match="on Linux only"):
        use()


# Which devices there are.


def device(root, number, name, keys, link=None):
    folder = root / f"sys/class/input/event{number}/device"
    (folder / "capabilities").mkdir(parents=True)
    (folder / "name").write_text(f"{name}\n")
    (folder / "capabilities/key").write_text(f"{keys}\n")
    (root / "dev/input/by-id").mkdir(parents=True, exist_ok=True)
    os.mkfifo(root / f"dev/input/event{number}")
    if link:
        (root / f"dev/input/by-id/{link}").symlink_to(f"../event{number}")


@pytest.fixture
def root(tmp_path):
    """A computer with a pedal of several parts, a lid switch without keys, and a keyboard."""
    device(tmp_path, 0, "Lid Switch", "0")
    device(tmp_path, 3, "Two Foot", "ffff 0 e080ffdf", "usb-Two_Foot-event-kbd")
    device(tmp_path, 4, "Two Foot", "70000 0 0 0 0", "usb-Two_Foot-if01-event-mouse")
    device(tmp_path, 10, "Desk Keyboard 1/2", "ffff 0")
    device(tmp_path, 2, "Two Foot", "1")
    return tmp_path


def test_each_device_with_keys_has_a_name_of_its_own(root):
    assert [(one.name, one.path.name) for one in list_device_pedals(root)] == [
        ("Two Foot event2", "event2"),
        ("usb-Two_Foot-event-kbd", "event3"),
        ("usb-Two_Foot-if01-event-mouse", "event4"),
        ("Desk Keyboard 1/2", "event10"),
    ]


@pytest.mark.parametrize("named", ["desk keyboard 1/2", "KEYBOARD", "usb-Two_Foot-event-kbd"])
def test_a_device_is_found_by_its_name_or_a_part_of_it(root, named):
    source = EvdevPedal(named, root)
    assert named.casefold() in source.name.casefold()
    source.close()


def test_a_whole_name_goes_before_a_part_of_others(tmp_path):
    device(tmp_path, 1, "Foot Bar Small", "1")
    device(tmp_path, 2, "Foot Bar", "1")
    source = EvdevPedal("foot bar", tmp_path)
    assert source.name == "Foot Bar"
    source.close()


def test_a_name_that_fits_several(root):
    with pytest.raises(PedalError, match=r"Which pedal.*Two Foot event2, usb-Two_Foot-event-kbd"):
        EvdevPedal("foot", root)


def test_a_name_that_fits_none(root, tmp_path_factory):
    with pytest.raises(PedalError, match=r"no pedal named 'Music'.*Desk Keyboard"):
        EvdevPedal("Music", root)
    with pytest.raises(PedalError, match="There is no pedal or keyboard"):
        EvdevPedal("Music", tmp_path_factory.mktemp("empty"))


# What the keys are called.


def test_key_names_are_those_of_the_kernel():
    """Against the header itself, of the package linux-libc-dev."""
    header = HEADER / "input-event-codes.h"
    if not header.exists():
        pytest.skip("linux/input-event-codes.h is not installed.")
    codes = dict(re.findall(r"^#define\s+((?:KEY|BTN)_\w+)\s+(\w+)", header.read_text(), re.M))
    for code, name in NAMES.items():
        defined = codes.get(f"KEY_{name.upper()}") or codes.get(name.upper())
        assert defined is not None, name
        assert int(codes.get(defined, defined), 0) == code, name


def test_a_key_without_a_name_has_its_number():
    assert (name_of(KEY_PAGEDOWN), name_of(KEY_F13), name_of(0x2C0)) == ("pagedown", "f13", "#704")
    assert len(set(NAMES.values())) == len(NAMES)
