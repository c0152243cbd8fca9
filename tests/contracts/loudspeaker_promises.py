"""What every loudspeaker promises: one function a promise, given a fresh loudspeaker.

Run as a program with a promise's name it checks the sound card, in a process of its own, since the
audio library reads the environment only once.
"""

import sys
import threading
import time
from collections.abc import Callable, Iterator

import numpy as np

from caller.calling.ports import Loudspeaker, SoundBlock, silence
from caller.errors import VoiceError


def tone(seconds: float, rate: int = 22_050) -> SoundBlock:
    wave = np.sin(2 * np.pi * 440 * np.arange(round(rate * seconds)) / rate)
    return SoundBlock((6000 * wave).astype(np.int16), rate)


def failing(error: Exception) -> Iterator[SoundBlock]:
    yield tone(0.05)
    raise error


def it_starts_quiet(loudspeaker: Loudspeaker) -> None:
    assert loudspeaker.wait(0)
    assert loudspeaker.quiet_for() > 1


def it_waits_until_all_has_sounded(loudspeaker: Loudspeaker) -> None:
    loudspeaker.play([tone(0.2)])
    loudspeaker.add(tone(0.05) for _ in range(4))
    assert loudspeaker.wait(10)
    assert loudspeaker.wait()
    time.sleep(0.05)
    assert loudspeaker.quiet_for() >= 0.05


def it_drops_what_waits_for_what_is_played(loudspeaker: Loudspeaker) -> None:
    loudspeaker.play([tone(300)])
    for _ in range(5):
        loudspeaker.add([tone(300)])
    loudspeaker.play([tone(0.1)])
    assert loudspeaker.wait(5)


def it_takes_any_blocks(loudspeaker: Loudspeaker) -> None:
    loudspeaker.play([])
    loudspeaker.add(iter(()))
    loudspeaker.add([silence(0, 22_050), tone(0.05, 8_000), tone(0.05, 48_000), tone(0.00005)])
    loudspeaker.add((tone(0.01), silence(0.01, 22_050)))
    assert loudspeaker.wait(10)


def it_outlives_blocks_that_fail(loudspeaker: Loudspeaker) -> None:
    for error in (VoiceError("The voice has failed."), RuntimeError("a slip of the program")):
        loudspeaker.play(failing(error))
        told: list[BaseException] = []
        try:
            loudspeaker.wait(5)
        except (VoiceError, RuntimeError) as raised:
            told.append(raised)
        assert told in ([error], []), "the error itself, or the blocks were never drawn"
        assert loudspeaker.wait(5), "an error is told once"
        loudspeaker.play([tone(0.05)])
        assert loudspeaker.wait(5)


def it_forgets_the_failure_of_what_was_cut(loudspeaker: Loudspeaker) -> None:
    loudspeaker.play(failing(VoiceError("The voice has failed.")))
    time.sleep(0.3)
    loudspeaker.play([tone(0.05)])
    assert loudspeaker.wait(5)


def it_can_be_used_from_many_threads(loudspeaker: Loudspeaker) -> None:
    def work(number: int) -> None:
        for turn in range(20):
            (loudspeaker.add if (turn + number) % 3 else loudspeaker.play)([tone(0.005)])
            loudspeaker.quiet_for()

    threads = [threading.Thread(target=work, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(20)
    assert not any(thread.is_alive() for thread in threads)
    assert loudspeaker.wait(10)


def it_is_closed_at_once_and_for_good(loudspeaker: Loudspeaker) -> None:
    loudspeaker.play([tone(300)])
    start = time.monotonic()
    loudspeaker.close()
    loudspeaker.close()
    assert time.monotonic() - start < 3
    loudspeaker.play([tone(0.1)])
    loudspeaker.add([tone(0.1)])
    assert loudspeaker.wait(5)
    loudspeaker.close()


PROMISES: dict[str, Callable[[Loudspeaker], None]] = {
    promise.__name__: promise
    for promise in (
        it_starts_quiet,
        it_waits_until_all_has_sounded,
        it_drops_what_waits_for_what_is_played,
        it_takes_any_blocks,
        it_outlives_blocks_that_fail,
        it_forgets_the_failure_of_what_was_cut,
        it_can_be_used_from_many_threads,
        it_is_closed_at_once_and_for_good,
    )
}


if __name__ == "__main__":
    from caller.devices.sound.loudspeaker import SoundCardLoudspeaker

    card = SoundCardLoudspeaker()
    PROMISES[sys.argv[1]](card)
    card.close()
    print("kept")  # noqa: T201
