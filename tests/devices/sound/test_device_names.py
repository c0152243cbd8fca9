"""Loudspeakers and microphones by name: chosen from lists, and found on a virtual server."""

import os
import subprocess
import sys
import textwrap

import pytest
from child_env import WITHOUT_SOUND
from hypothesis import given
from hypothesis import strategies as st

from caller.devices.sound.device_names import SoundDevice, chosen, find_microphone, there_are
from caller.errors import SettingError, SoundError

BUILT_IN = SoundDevice("Built-in Audio: ALC257 Analog (hw:0,0)", True, 0)
HEADSET = SoundDevice("USB Headset: Audio (hw:1,0)", False, 1)
HEADSET_2 = SoundDevice("USB Headset: Audio (hw:2,0)", False, 2)
SPEAKERS = SoundDevice("Kitchen speakers", False, 3)


def choose(name, *those, others=()):
    return chosen(name, "microphone", those, others)


@pytest.mark.parametrize("name", ["usb headset", "USB  Headset: Audio (hw:1,0)", "HW:1", " usb "])
def test_a_part_of_the_name_in_any_case(name):
    assert choose(name, BUILT_IN, HEADSET) == HEADSET


def test_an_exact_name_wins_over_a_part():
    short, long = SoundDevice("mic", False, 0), SoundDevice("mic of the camera", True, 1)
    assert choose("Mic", long, short) == short
    assert choose("mic o", long, short) == long


def test_two_with_the_very_same_name_cannot_be_told_apart():
    twin = SoundDevice(HEADSET.name, False, 7)
    assert choose("headset", HEADSET, twin) == HEADSET


@pytest.mark.parametrize(
    ("name", "those", "others", "sentence"),
    [
        (
            "headset",
            [BUILT_IN, HEADSET, HEADSET_2],
            [],
            "Several microphones are called 'headset': USB Headset: Audio (hw:1,0), "
            "USB Headset: Audio (hw:2,0). Give more of the name.",
        ),
        (
            "kitchen",
            [BUILT_IN, HEADSET],
            [SPEAKERS],
            "'kitchen' has no microphone. The microphones are "
            "Built-in Audio: ALC257 Analog (hw:0,0) (the usual one), USB Headset: Audio (hw:1,0).",
        ),
        (
            "kitchen",
            [HEADSET],
            [],
            "There is no microphone 'kitchen'. The only microphone is USB Headset: Audio (hw:1,0).",
        ),
        (
            "kitchen",
            [],
            [],
            "There is no microphone 'kitchen'. No microphone is there at all; plug one in.",
        ),
    ],
)
def test_what_cannot_be_chosen(name, those, others, sentence):
    with pytest.raises(SoundError) as refused:
        choose(name, *those, others=others)
    assert str(refused.value) == sentence


@pytest.mark.parametrize("name", ["", "   "])
def test_an_empty_name_is_no_name(name):
    with pytest.raises(SettingError, match="The name of the microphone is empty"):
        choose(name, BUILT_IN)


NAMES = st.lists(st.text("abAB :", min_size=1, max_size=6), max_size=5)


@given(NAMES, st.text("abAB ", max_size=4))
def test_what_is_chosen_fits_and_is_the_only_one_that_does(names, wanted):
    devices = [SoundDevice(name, False, number) for number, name in enumerate(names)]
    plain = " ".join(wanted.lower().split())
    fits = {name for name in names if plain in " ".join(name.lower().split())}
    same = {name for name in fits if plain == " ".join(name.lower().split())}
    try:
        found = choose(wanted, *devices).name
    except SettingError:
        assert not plain
    except SoundError:
        assert len(same or fits) != 1
    else:
        assert (same or fits) == {found}


def test_none_and_numbers_are_left_alone():
    assert find_microphone(None) is None
    assert find_microphone(3) == 3


def test_there_are():
    assert there_are("loudspeaker", [SPEAKERS]) == "The only loudspeaker is Kitchen speakers."


def child(program, env) -> str:
    ended = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(program)], env=env, capture_output=True, text=True
    )
    assert ended.returncode == 0, ended.stderr
    assert ended.stderr == ""
    return ended.stdout


@pytest.mark.sound
def test_the_devices_of_the_server(virtual_sound):
    said = child(
        """
        from caller.devices.sound.device_names import *
        from caller.devices.sound.microphone import SoundCardMicrophone
        from caller.devices.sound.loudspeaker import SoundCardLoudspeaker
        from caller.errors import SoundError
        for device in microphones():
            print(device.name, device.usual)
        assert {d.name for d in loudspeakers()} == {d.name for d in microphones()}
        assert find_microphone("SPARE") == find_loudspeaker("spare_headset")
        SoundCardMicrophone("headset").close()
        SoundCardLoudspeaker(device="Headph").close()
        for name in ("head", "trumpet"):
            for kind in (SoundCardMicrophone, lambda name: SoundCardLoudspeaker(device=name)):
                try:
                    kind(name)
                except SoundError as error:
                    print(error)
        try:
            SoundCardLoudspeaker(device="headset")
        except SoundError as error:
            print(error)
        """,
        virtual_sound.env_with_names,
    ).splitlines()
    # ALSA's way to reach the server offers both directions for every name.
    assert said[0] == "default True"
    assert set(said[1:4]) == {"headset False", "headphones False", "spare_headset False"}
    assert "Several microphones are called 'head': " in said[4]
    assert "Several loudspeakers are called 'head': " in said[5]
    assert "There is no microphone 'trumpet'. The microphones are default (the usual" in said[6]
    assert "There is no loudspeaker 'trumpet'." in said[7]
    assert "The loudspeaker 'headset' cannot be opened" in said[8], "a microphone is none"


def test_portaudio_that_does_not_start(tmp_path):
    """Its Python library then raises an error of its own while it is imported."""
    (tmp_path / "sounddevice.py").write_text(
        "raise RuntimeError('Error initializing PortAudio: Internal PortAudio error')"
    )
    said = child(
        """
        from caller.devices.sound.device_names import microphones
        from caller.errors import SoundError
        try:
            microphones()
        except SoundError as error:
            print(error)
        """,
        {**os.environ, "PYTHONPATH": str(tmp_path)},
    )
    assert "PortAudio does not start: Error initializing PortAudio: Internal" in said
    assert "Start the computer's sound, or the computer, again." in said


def test_without_portaudio():
    said = child(
        """
        from caller.devices.sound.device_names import microphones, find_loudspeaker
        from caller.errors import SoundError
        for ask in (microphones, lambda: find_loudspeaker("x")):
            try:
                ask()
            except SoundError as error:
                print(error)
        """,
        WITHOUT_SOUND,
    )
    assert said.count("PortAudio library is missing") == 2
