"""MIDI pedals: bytes of the standard become what goes down and up; devices by name.

The numbers are those of the MIDI 1.0 specification (second-hand): 0xB0 a control change, 64 the
sustain pedal, off to 63 and on from 64; 0x90 a note on, off with velocity 0; 0x80 a note off; 0xC0
a program change; 120 to 127 the modes of a channel. mido reads the bytes.
"""

import builtins
import sys
import threading
import types

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.devices.keys import midi
from caller.devices.keys.midi import FootController, MidiPedal, list_midi_pedals
from caller.errors import PedalError

mido = pytest.importorskip("mido", reason="mido is not installed.")


def moves(*data):
    parser = mido.Parser()
    parser.feed(bytes(data))
    footwork = FootController()
    return [move for message in parser for move in footwork.moves(message)]


def down_and_up(key):
    return [(key, True), (key, False)]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ((0xB0, 64, 127, 0xB0, 64, 0), down_and_up("sustain")),
        ((0xB5, 64, 64, 0xB5, 64, 63), down_and_up("sustain")),
        ((0xB0, 64, 63, 0xB0, 64, 64), [("sustain", True)]),
        ((0xB0, 67, 127, 0xB0, 67, 0), down_and_up("controller-67")),
        ((0xB0, 80, 127, 0xB0, 80, 0), down_and_up("controller-80")),
        ((0x90, 36, 100, 0x80, 36, 64), down_and_up("note-36")),
        ((0x99, 36, 1, 0x99, 36, 0), down_and_up("note-36")),
        ((0xC0, 3), down_and_up("program-3")),
        ((0xC0, 3, 0xC0, 3), down_and_up("program-3") * 2),
        ((0xB0, 0, 127, 0xB0, 32, 127, 0xC0, 9), down_and_up("program-9")),
    ],
    ids=str,
)
def test_what_a_pedal_sends(data, told):
    assert moves(*data) == told


def test_a_pedal_that_tells_every_step_of_its_way_moves_once():
    way = [*range(0, 128, 7), 127, *range(126, -1, -7)]
    assert moves(*(byte for value in way for byte in (0xB0, 64, value))) == down_and_up("sustain")


@pytest.mark.parametrize(
    "data",
    [
        (0xB0, 123, 127),
        (0xB0, 121, 127),
        (0xB0, 0, 127),
        (0xB0, 101, 127),
        (0xF8, 0xFE, 0xFA),
        (0xE0, 0, 100),
        (0xA0, 36, 127),
        (0xD0, 127),
        (0xF0, 1, 2, 3, 0xF7),
        (0x80, 36, 64),
    ],
    ids=str,
)
def test_what_is_no_pedal(data):
    assert moves(*data) == []


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_whatever_comes_in_downs_and_ups_take_turns(data):
    told = moves(*data)
    for key in {key for key, _ in told}:
        downs = [down for other, down in told if other == key]
        assert downs == [n % 2 == 0 for n in range(len(downs))]


# Devices, with a backend whose ports are named by the test.


class Ports(types.ModuleType):
    """A backend for mido that opens ports which the test speaks through."""

    def __init__(self, *names):
        super().__init__("ports_of_the_test")
        self.names = list(names)
        self.open = {}
        self.fail = None

    def get_devices(self, **_):
        if self.names is None:
            raise RuntimeError("the driver is gone")
        return [{"name": name, "is_input": True, "is_output": False} for name in self.names]

    def Input(self, name, callback=None, **_):  # noqa: N802 (mido's name)
        if self.fail:
            raise OSError(self.fail)
        port = types.SimpleNamespace(close=lambda: self.open.pop(name))
        self.open[name] = callback
        return port


@pytest.fixture
def ports(monkeypatch):
    backend = Ports("Midi Through:Midi Through Port-0 14:0", "Foot Box:Foot Box MIDI 1 20:0")
    monkeypatch.setitem(sys.modules, backend.__name__, backend)
    monkeypatch.setenv("MIDO_BACKEND", backend.__name__)
    monkeypatch.setattr(midi, "_LOOK_S", 0.02)
    monkeypatch.setattr(sys, "platform", "linux")
    return backend


def read(pedal):
    """Reads on a thread of its own: the edges, and the error at the end."""
    told = []

    def run():
        try:
            told.extend(pedal.edges())
        except PedalError as error:
            told.append(error)

    thread = threading.Thread(target=run)
    thread.start()
    return told, thread


@pytest.mark.parametrize("name", [None, "", "foot", "Foot Box:Foot Box MIDI 1", "FOOT BOX"])
def test_a_pedal_is_found_by_its_name_or_a_part_of_it(ports, name):
    pedal = MidiPedal(name)
    assert list(ports.open) == ["Foot Box:Foot Box MIDI 1 20:0"]
    pedal.close()
    assert not ports.open


def test_a_pedal_at_another_number_is_the_same_one(ports):
    ports.names = ["Foot Box:Foot Box MIDI 1 28:0"]
    MidiPedal("Foot Box:Foot Box MIDI 1").close()


def test_a_whole_name_goes_before_a_part_of_others(ports):
    ports.names = ["Foot 1:0", "Foot Two 2:0"]
    MidiPedal("foot")
    assert list(ports.open) == ["Foot 1:0"]


def test_without_a_name_every_device_is_heard(ports):
    ports.names = ["One 1:0", "Two 2:0"]
    pedal = MidiPedal()
    for port, number in (("One 1:0", 1), ("Two 2:0", 2)):
        ports.open[port](mido.Message("program_change", program=number))
    edges = pedal.edges()
    assert [next(edges).key for _ in range(4)] == ["program-1"] * 2 + ["program-2"] * 2
    pedal.close()


def test_devices_are_named_as_they_stay_from_plug_to_plug(ports):
    assert list_midi_pedals() == ["Foot Box:Foot Box MIDI 1"]
    ports.names = ["Foot 20:0", "Foot 24:0"]
    assert list_midi_pedals() == ["Foot 20:0", "Foot 24:0"]


@pytest.mark.parametrize("system", ["win32", "darwin"])
def test_the_number_at_the_end_of_a_name_elsewhere(ports, monkeypatch, system):
    monkeypatch.setattr(sys, "platform", system)
    ports.names = ["Foot Box 1"]
    assert list_midi_pedals() == ["Foot Box"]


@pytest.mark.parametrize("gone", [[], ["Another 9:0"], None], ids=str)
def test_a_pedal_taken_away_is_told_of_though_the_library_tells_nothing(ports, gone):
    told, thread = read(MidiPedal("foot"))
    ports.names = gone
    thread.join(20)
    (error,) = told
    assert "MIDI pedal foot was taken away" in str(error)


def test_another_device_that_comes_and_goes_does_not_matter(ports):
    pedal = MidiPedal("foot")
    told, thread = read(pedal)
    ports.names.append("Another 9:0")
    thread.join(0.1)
    ports.names.pop()
    thread.join(0.1)
    assert thread.is_alive()
    pedal.close()
    thread.join(20)
    assert told == []


def test_no_pedal(ports):
    ports.names = ["Midi Through:Midi Through Port-0 14:0"]
    with pytest.raises(PedalError, match="There is no MIDI pedal; plug it in"):
        MidiPedal()
    with pytest.raises(PedalError, match=r"no MIDI pedal named 'foot'\.$"):
        MidiPedal("foot")


def test_a_name_that_fits_none_is_told_with_those_that_are_there(ports):
    with pytest.raises(PedalError, match=r"named 'knee'\. These are there: Foot Box:Foot Box MIDI"):
        MidiPedal("knee")


def test_a_pedal_that_another_program_keeps(ports):
    ports.fail = "busy"
    with pytest.raises(PedalError, match="another program"):
        MidiPedal()


def test_a_driver_that_fails(ports):
    ports.names = None
    with pytest.raises(PedalError, match="MIDI does not work"):
        list_midi_pedals()


@pytest.mark.parametrize("missing", ["mido", "rtmidi"])
def test_without_the_library_the_one_command_is_told(monkeypatch, missing):
    def without(name, *given, **more):
        if name.split(".")[0] == missing:
            raise ModuleNotFoundError(name)
        return real(name, *given, **more)

    real = builtins.__import__
    monkeypatch.delenv("MIDO_BACKEND", raising=False)
    for name in list(sys.modules):
        if name.startswith(("mido.backends.rtmidi", "rtmidi")):
            monkeypatch.delitem(sys.modules, name)
    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(PedalError, match="add pedal"):
        MidiPedal()
