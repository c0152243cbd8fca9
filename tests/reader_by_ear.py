"""An independent listener: writes down a row call from its sound, not knowing the answer.

PocketSphinx with the US English model of its wheel, breath by breath, over a grammar of the words
that a call may have: numbers up to the size of the work, sides, and the pattern's yarns. It shares
nothing with the code that words the calls.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

RATE = 16_000
Sound = NDArray[np.int16]

_ONES = "zero one two three four five six seven eight nine".split()  # noqa: SIM905
_TEENS = (
    *("ten", "eleven", "twelve", "thirteen", "fourteen"),
    *("fifteen", "sixteen", "seventeen", "eighteen", "nineteen"),
)
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_MISHEARD = range(13, 20)
_SILENCE = 60  # of 32767: less is no speech of a clean sound
_MARGIN_S = 0.08  # left around each breath
_HISS_DB = 30.0
"""A quiet room's hiss lies this far below the speech: in digital silence PocketSphinx, trained on
rooms, takes the ends of words for others."""


_GAP_S = 0.3
"""Between the pause of a comma and that after a run, at 160 words a minute."""


@dataclass(frozen=True)
class Told:
    """One breath as it was understood; only what settles the row.

    `kind` is "row", "run" or "aside"; the needle of a run is its last, "L20".
    """

    kind: str
    row: int = 0
    way: str = ""
    yarn: str = ""
    needle: str = ""


class Ear:
    """Listens to calls of one pattern: its yarns, the highest needle, the number of rows.

    `style` is how numbers are said: "words", "digits" or "checked".
    """

    def __init__(
        self, yarns: Sequence[str], most: int = 199, rows: int = 199, style: str = "words"
    ) -> None:
        self._numbers = {number_words(n, style): n for n in range(1, 1000)}
        number = "[a-z ]+?"
        self._words = {
            "yarn": "|".join(sorted(yarns, key=len, reverse=True)),
            "needle": f"(?:left|right) {number}",
            "number": number,
        }
        self._decoder = _decoder(yarns, style, most, rows)

    def breaths(self, samples: Sound) -> list[Sound]:
        """The sound between the silences that end a breath; the sound must be clean."""
        loud = np.flatnonzero(np.abs(samples.astype(int)) > _SILENCE)
        if len(loud) == 0:
            return []
        parted = np.flatnonzero(np.diff(loud) > _GAP_S * RATE)
        begins, ends = [loud[0], *loud[parted + 1]], [*loud[parted], loud[-1]]
        margin = round(_MARGIN_S * RATE)
        return [
            samples[max(0, begin - margin) : end + margin]
            for begin, end in zip(begins, ends, strict=True)
        ]

    def write_down(self, breath: Sound) -> str:
        """What was heard in one breath, as words; "" when nothing fits."""
        decoder = self._decoder
        decoder.start_utt()
        decoder.process_raw(_over_hiss(breath).tobytes(), full_utt=True)
        decoder.end_utt()
        found = decoder.hyp()
        return found.hypstr if found else ""

    def understood(self, words: str) -> Told:
        """One breath's words, written in any case and with any commas and hyphens."""
        words = " ".join(re.findall(r"[a-z']+", words.casefold()))
        if found := self._match("row number (?P<row>NUMBER) going (?P<way>left|right)", words):
            return Told("row", self._numbers[found["row"]], found["way"])
        run = "(?:new )?(?P<yarn>YARN)(?: bobbin NUMBER)?(?: waiting at NEEDLE)?"
        if found := self._match(f"{run} (?:to|as far as|only) (?P<last>NEEDLE)", words):
            side, _, number = found["last"].partition(" ")
            needle = f"{side[0].upper()}{self._numbers[number]}"
            return Told("run", yarn=found["yarn"], needle=needle)
        return Told("aside")

    def row(self, samples: Sound) -> list[Told]:
        """A whole call, breath by breath."""
        return [self.understood(self.write_down(breath)) for breath in self.breaths(samples)]

    def _match(self, pattern: str, words: str) -> re.Match[str] | None:
        for name, choice in self._words.items():
            pattern = pattern.replace(name.upper(), f"(?:{choice})")
        return re.fullmatch(pattern, words)


def number_words(number: int, style: str) -> str:
    """A number up to 999 in words, digit by digit, or in words with the digits where needed."""
    digits = " ".join(_ONES[int(digit)] for digit in str(number))
    if number % 100 == 0:
        digits = f"{_ONES[number // 100]} hundred"
    if style == "digits":
        return digits
    hundreds, rest = divmod(number, 100)
    words = [f"{_ONES[hundreds]} hundred"] if hundreds else []
    words += ["and"] if hundreds and rest else []
    if 0 < rest < 10:
        words.append(_ONES[rest])
    elif rest < 20:
        words += [_TEENS[rest - 10]] if rest else []
    else:
        words.append(_TENS[rest // 10 - 2])
        words += [_ONES[rest % 10]] if rest % 10 else []
    both = style == "checked" and rest in _MISHEARD
    return " ".join([*words, digits] if both else words)


def _decoder(yarns: Sequence[str], style: str, most: int, rows: int) -> Any:
    from pocketsphinx import Decoder

    decoder = Decoder(lm=None, loglevel="FATAL", bestpath=False, cmn="batch")
    decoder.add_jsgf_string(
        "call",
        "#JSGF V1.0; grammar call;"
        "public <call> = row number <row> going <side> | pass the carriage | the row goes on"
        " | [new] <yarn> [bobbin <n>] [waiting at <needle>] (to | as far as | only) <needle>"
        " | [after the pass] (cut | keep) <yarn> [bobbin <n>] at <needle> [which binds off];"
        f"<side> = left | right; <needle> = <side> <n>; <yarn> = {' | '.join(yarns)};"
        f"<n> = {_up_to(most, style)}; <row> = {_up_to(rows, style)};",
    )
    decoder.activate_search("call")
    return decoder


def _up_to(most: int, style: str) -> str:
    return " | ".join(number_words(number, style) for number in range(1, most + 1))


def _over_hiss(sound: Sound) -> Sound:
    level = np.sqrt(np.mean(sound.astype(float) ** 2)) / 10 ** (_HISS_DB / 20)
    hiss = np.random.default_rng(1).normal(0, level, len(sound))
    return np.clip(np.rint(sound + hiss), -32768, 32767).astype("<i2")
