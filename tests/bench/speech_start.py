"""From the text of a call to its first audible sound, and to all of its sound.

Of espeak-ng, and of the voices that are rendered ahead, piper and the computer's own, with and
without being prepared while the row before is listened to. What is compared is spoken by turns;
printed are medians, the worst, and the median of the ratios of each turn. Silence before the first
word counts as waiting.
"""

import time
from collections.abc import Callable
from functools import partial
from statistics import median

import numpy as np
from paired import ratios, rounds, tiny, told

from caller.calling.ports import SoundBlock, Voice
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.piper import PiperVoice
from caller.devices.voices.prerendered import Prerendered
from caller.devices.voices.system import SystemVoice

TIMES, SLOW_TIMES = tiny((3, 1), (200, 40))
LISTENED_S = tiny(0.2, 2.0)  # a row is listened to for longer
AUDIBLE = 300  # of 32767
SHORT = "Row 12, to the right."
CALL = SHORT + " Navy, to left 20. Ivory, to left 3. Navy, to right 5. Red, to right 20."
UNBROKEN = ", ".join(["navy to left twenty"] * 50)


def first_and_whole(voice: Voice, text: str) -> tuple[float, float, float]:
    """Seconds until it can be heard, until all of it is there, and how long it sounds."""
    start = time.perf_counter()
    blocks = voice.render(text)
    begin = next(blocks)
    first = time.perf_counter() - start + silent_s(begin)
    sounding = begin.seconds
    sounding += sum(block.seconds for block in blocks)
    return first, time.perf_counter() - start, sounding


def silent_s(block: SoundBlock) -> float:
    """Seconds of a block before it can be heard."""
    return int(np.argmax(np.abs(block.samples.astype(np.int32)) > AUDIBLE)) / block.rate


def main() -> None:
    start = time.perf_counter()
    voice = EspeakVoice()
    next(voice.render("Row one."))
    print(f"loading the voice, to its first sound {(time.perf_counter() - start) * 1e3:7.1f} ms")
    texts = {
        "the head of a call": SHORT,
        "a call of four runs": CALL,
        "200 words without a stop": UNBROKEN,
    }
    ways = {name: partial(first_and_whole, voice, text) for name, text in texts.items()}
    measured = rounds(ways, TIMES)
    firsts = [{name: first for name, (first, _, _) in found.items()} for found in measured]
    print(f"of {TIMES} calls, in ms             median  worst    whole  to a head's  to its first")
    for name, ratio in ratios(firsts, "the head of a call").items():
        spoken = [found[name] for found in measured]
        first, whole, _ = (median(column) for column in zip(*spoken, strict=True))
        worst = max(found[name] for found in firsts)
        slower = median(all_of_it / begun for begun, all_of_it, _ in spoken)
        print(
            f"{name:<33} {first * 1e3:8.2f} {worst * 1e3:6.2f} {whole * 1e3:8.2f} "
            f"{ratio:10.2f} {slower:12.1f}"
        )
    slow("piper", PiperVoice)
    slow("the system's voice", SystemVoice)


def slow(name_of_voice: str, made: Callable[[], Voice]) -> None:
    """The next row of a slow voice, as it comes and as it is prepared."""
    start = time.perf_counter()
    voice = Prerendered(made())
    next(voice.render("Row one."))
    loading_ms = (time.perf_counter() - start) * 1e3
    print(f"loading {name_of_voice}, to its first sound {loading_ms:7.1f} ms")
    turns = []
    for number in range(SLOW_TIMES):
        told(f"{name_of_voice}: turn {number + 1} of {SLOW_TIMES}")
        plain, *_ = first_and_whole(voice, f"Row {number}, to the left.")
        text = f"Row {number}, to the right."
        voice.prepare([text, "Navy, to left 20."], voice.rate_wpm)
        time.sleep(LISTENED_S)
        prepared, *_ = first_and_whole(voice, text)
        turns.append({"as it comes": plain, "prepared": prepared})
    voice.close()
    print(f"{name_of_voice}, of {SLOW_TIMES} calls, in ms    median  worst  to a prepared one")
    for name, ratio in ratios(turns, "prepared").items():
        times = [turn[name] for turn in turns]
        print(f"{name:<33} {median(times) * 1e3:8.2f} {max(times) * 1e3:6.2f} {ratio:10.1f}")


if __name__ == "__main__":
    main()
