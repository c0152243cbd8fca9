"""Every loudspeaker keeps the promises of `Loudspeaker`."""

import subprocess
import sys

import loudspeaker_promises
import pytest
from loudspeaker_promises import PROMISES

from caller.calling.ports import SoundBlock
from caller.devices.sound.silent import SilentLoudspeaker
from caller.errors import SoundError


@pytest.mark.parametrize("promise", PROMISES)
@pytest.mark.parametrize("keep", [False, True])
def test_the_silent_loudspeaker(promise, keep):
    PROMISES[promise](SilentLoudspeaker(keep=keep))


@pytest.mark.sound
@pytest.mark.parametrize("promise", PROMISES)
def test_the_sound_card(virtual_sound, promise):
    done = subprocess.run(
        [sys.executable, loudspeaker_promises.__file__, promise],
        env=virtual_sound.env,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert (done.stdout, done.stderr) == ("kept\n", "")


def test_the_silent_loudspeaker_keeps_what_would_sound():
    loudspeaker = SilentLoudspeaker(keep=True)
    first, second = loudspeaker_promises.tone(0.1), loudspeaker_promises.tone(0.2)
    loudspeaker.play([first])
    loudspeaker.add(block for block in (second, first))
    assert loudspeaker.played == [[first], [second, first]]


def test_the_silent_loudspeaker_draws_nothing_unless_told():
    def blocks():
        raise AssertionError("drawn")
        yield SoundBlock(None, 1)

    loudspeaker = SilentLoudspeaker()
    loudspeaker.play(blocks())
    assert loudspeaker.wait()
    assert loudspeaker.played == []


def test_the_silent_loudspeaker_can_be_told_to_fail():
    with pytest.raises(SoundError, match="taken away"):
        SilentLoudspeaker(fail_wait=True).wait(1)
