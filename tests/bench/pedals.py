"""From the foot to the session's queue: how long a press takes, and what waiting costs.

A named pipe stands for the device, so the wires and the kernel are not in it. Linux.
"""

import queue
import statistics
import sys
import tempfile
import threading
import time
from contextlib import suppress
from pathlib import Path

import psutil
from paired import tiny

sys.path.insert(0, str(Path(__file__).parent.parent))
from pedal_stand_ins import KEY_PAGEDOWN, PipePedal, moved

from caller.calling.events import Events
from caller.calling.pedals.reader import OpenPedal, PedalReader
from caller.devices.keys.evdev import EvdevPedal
from caller.settings import PedalKey, PressSettings

TIMES = tiny(2, 60)
HELD_S = 0.05
IDLE_S = tiny(1, 10)
SETTINGS = PressSettings()


def waits(key: PedalKey, pipe: PipePedal, from_the_end: bool) -> list[float]:
    """Milliseconds from the edge that decides to the command in the queue."""
    events = Events()
    reader = PedalReader(
        [OpenPedal("foot", lambda: EvdevPedal(pipe.path), [key])], SETTINGS, events
    )
    reader.start()
    taken = []
    for _ in range(TIMES):
        down_s = time.perf_counter()
        pipe.send(moved(KEY_PAGEDOWN, 1))
        if from_the_end:
            threading.Event().wait(HELD_S)
            down_s = time.perf_counter()
            pipe.send(moved(KEY_PAGEDOWN, 0))
        # On a busy machine two treads through a pipe, which bears no times, can be read as one.
        with suppress(queue.Empty):
            events.get(timeout=2)
            taken.append(1e3 * (time.perf_counter() - down_s))
        if not from_the_end:
            pipe.send(moved(KEY_PAGEDOWN, 0))
        threading.Event().wait(HELD_S + SETTINGS.debounce_s)
    reader.close()
    pipe.unplug()
    return taken


def press_to_queue() -> None:
    with tempfile.TemporaryDirectory() as folder:
        pipe = PipePedal(Path(folder) / "event0")
        cases = (
            ("short alone, from the way down", {"short": "next"}, False, 0.0),
            ("short beside long, from the way up", {"long": "where"}, True, SETTINGS.debounce_s),
            ("short beside double, from the way up", {"double": "back"}, True, SETTINGS.double_s),
        )
        for what, beside, from_the_end, must_s in cases:
            key = PedalKey("device", "pagedown", **{"short": "next", **beside})
            taken = waits(key, pipe, from_the_end)
            print(
                f"{what}: median {statistics.median(taken):.2f} ms, worst {max(taken):.2f} ms, "
                f"{len(taken)} of {TIMES} told; {1e3 * must_s:.0f} ms of them must be waited for"
            )


def idle_cost() -> None:
    with tempfile.TemporaryDirectory() as folder:
        pipe = PipePedal(Path(folder) / "event0")
        pedal = OpenPedal(
            "foot", lambda: EvdevPedal(pipe.path), [PedalKey("device", "pagedown", short="next")]
        )
        reader = PedalReader([pedal], SETTINGS, Events())
        reader.start()
        pipe.send(moved(KEY_PAGEDOWN, 1))
        threading.Event().wait(1)
        before = psutil.Process().cpu_times()
        threading.Event().wait(IDLE_S)
        after = psutil.Process().cpu_times()
        reader.close()
        used_s = after.user + after.system - before.user - before.system
        print(f"waiting for a foot: {100 * used_s / IDLE_S:.2f} % of a processor")


if __name__ == "__main__":
    press_to_queue()
    idle_cost()
