"""Every pedal keeps the promises of `PedalSource`, and says nothing on the screen."""

import os
import subprocess
import sys

import pedal_promises
import pytest
import virtual_display
from pedal_promises import PROMISES, PipeStand
from virtual_midi import served


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="devices of Linux")
@pytest.mark.parametrize("promise", PROMISES)
def test_a_device_on_linux(promise, tmp_path, capfd):
    stand = PipeStand(tmp_path)
    PROMISES[promise](stand)
    stand.close()
    assert capfd.readouterr() == ("", "")


@pytest.fixture(scope="module")
def virtual_midi():
    yield from served()


def kept(stand, env, *promises):
    """Keep the promises in a process of its own; the names of those that were kept."""
    done = subprocess.run(
        [sys.executable, pedal_promises.__file__, stand, *promises],
        env=env,
        capture_output=True,
        text=True,
        timeout=250,
        check=False,
    )
    assert done.stderr == ""
    return done.stdout.splitlines()


@pytest.mark.sound
@pytest.mark.parametrize("promise", PROMISES)
def test_a_midi_pedal(promise, virtual_midi):
    # In one process the virtual server's library has hung where one port followed another.
    assert kept("midi", virtual_midi.env, promise) == [promise]


def test_the_keys_of_the_system():
    if reason := virtual_display.why_not():
        pytest.skip(reason)
    assert kept("system", os.environ, *PROMISES) == [*PROMISES]
