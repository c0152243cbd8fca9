"""From the text of a call to its first sound, and to all of its sound.

Prints the median and the worst of many calls in one process, and their ratio: of espeak-ng, and of
the computer's own voice, with and without being prepared while the row before is listened to.
"""

import statistics
import time

from paired import tiny

from caller.calling.ports import Voice
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.prerendered import Prerendered
from caller.devices.voices.system import SystemVoice

TIMES, SLOW_TIMES = tiny((3, 1), (200, 40))
SHORT = "Row 12, to the right."
CALL = SHORT + " Navy, to left 20. Ivory, to left 3. Navy, to right 5. Red, to right 20."
UNBROKEN = ", ".join(["navy to left twenty"] * 50)


def first_and_whole(voice: Voice, text: str) -> tuple[float, float, float]:
    """Seconds to the first block, seconds to the last, and the seconds that they sound."""
    start = time.perf_counter()
    blocks = voice.render(text)
    sounding = next(blocks).seconds
    first = time.perf_counter() - start
    sounding += sum(block.seconds for block in blocks)
    return first, time.perf_counter() - start, sounding


def main() -> None:
    start = time.perf_counter()
    voice = EspeakVoice()
    next(voice.render("Row one."))
    print(f"loading the voice, to its first sound {(time.perf_counter() - start) * 1e3:7.1f} ms")
    print(f"of {TIMES} calls, in ms             median  worst    whole   first : whole : sounding")
    for name, text in [
        ("the head of a call", SHORT),
        ("a call of four runs", CALL),
        ("200 words without a stop", UNBROKEN),
    ]:
        times = [first_and_whole(voice, text) for _ in range(TIMES)]
        first, whole, sounding = (statistics.median(column) for column in zip(*times, strict=True))
        worst = max(time for time, _, _ in times)
        print(
            f"{name:<33} {first * 1e3:8.2f} {worst * 1e3:6.2f} {whole * 1e3:8.2f}   "
            f"1 : {whole / first:.1f} : {sounding / first:.0f}"
        )
    slow()


def slow() -> None:
    """The next row of the system's voice, as it comes and as it is prepared."""
    voice = Prerendered(SystemVoice())
    plain, prepared = [], []
    for number in range(SLOW_TIMES):
        plain.append(first_and_whole(voice, f"Row {number}, to the left.")[0])
        text = f"Row {number}, to the right."
        voice.prepare([text, "Navy, to left 20."], voice.rate_wpm)
        time.sleep(1.0)  # a row is listened to for longer
        prepared.append(first_and_whole(voice, text)[0])
    voice.close()
    print(f"the system's voice, of {SLOW_TIMES} calls    median  worst")
    for name, times in [("as it comes", plain), ("prepared", prepared)]:
        print(f"{name:<33} {statistics.median(times) * 1e3:8.2f} {max(times) * 1e3:6.2f}")
    print(
        f"as it comes : prepared  {statistics.median(plain) / statistics.median(prepared):.0f} : 1"
    )


if __name__ == "__main__":
    main()
