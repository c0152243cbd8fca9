"""An independent listener: writes down a row call from its sound, not knowing the answer.

PocketSphinx with the US English model of its wheel, over a grammar of numbers, sides and the
pattern's yarn names.
"""

import re
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
_ONES = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_VALUES = {word: value for value, word in enumerate(_ONES + _TEENS, start=1)} | {
    word: 10 * value for value, word in enumerate(_TENS, start=2)
}


def write_down(samples: NDArray[np.int16], yarns: Sequence[str], most: int = 199) -> str:
    """What was heard in one row call, as words; "" when nothing fits.

    `most` is the highest needle that the listener expects, as one who knows the work would.
    """
    from pocketsphinx import Decoder

    decoder = Decoder(lm=None, loglevel="FATAL", bestpath=False)
    decoder.add_jsgf_string(
        "call",
        "#JSGF V1.0; grammar call;"
        "public <call> = row <number> to the <side> (<yarn> to <side> <needle>)+;"
        f"<yarn> = {' | '.join(yarns)}; <side> = left | right;"
        f"<one> = {' | '.join(_ONES)}; <teen> = {' | '.join(_TEENS)};"
        f"<ten> = {' | '.join(_TENS)}; <small> = <one> | <teen> | <ten> [<one>];"
        "<number> = <small> | <one> hundred [and <small>];" + _needles(most),
    )
    decoder.activate_search("call")
    decoder.start_utt()
    decoder.process_raw(np.asarray(samples, dtype="<i2").tobytes(), full_utt=True)
    decoder.end_utt()
    found = decoder.hyp()
    return found.hypstr if found else ""


def _needles(most: int) -> str:
    """The grammar's rule for needles: up to `most`, counted in tens."""
    if most >= 100:
        return "<needle> = <number>;"
    tens = " | ".join(word for word in _TENS if _VALUES[word] <= most)
    return f"<needle> = <one> | <teen> | ({tens}) [<one>];"


def value(words: str) -> int:
    """The number that these words say."""
    total = 0
    for word in words.replace("-", " ").split():
        if word == "hundred":
            total *= 100
        elif word != "and":
            total += _VALUES[word]
    return total


def understood(words: str) -> tuple[int, str, list[tuple[str, str]]] | None:
    """The row number, the direction, and each yarn with its last needle ("L20")."""
    head = re.match(r"row ([a-z ]+?) to the (left|right)\b", words)
    if head is None:
        return None
    number_word = "|".join([*_VALUES, "hundred", "and"])
    runs = re.findall(
        rf"([a-z ]+?) to (left|right)((?: (?:{number_word})\b)+)", words[head.end() :]
    )
    needles = [(yarn.strip(), f"{side[0].upper()}{value(number)}") for yarn, side, number in runs]
    return value(head[1]), head[2], needles
