"""Which names of yarns are misheard: names_heard.py [--voice piper] [--times 1] [NAME ...]

Every name that pictures and demo patterns give, or those that are named, in four kinds of clause
each time, beside other names; spoken, and written down by recognisers without a grammar
(open_ears.py). Prints the names that were missed, worst first, with what was written for them.

Two recognisers, one synthetic voice, no room and no knitter: it finds names to avoid, and does not
prove the others.
"""

import argparse
import sys
import time
from collections import defaultdict
from difflib import SequenceMatcher

import numpy as np
from heard_back import DEMOS, sound_of
from open_ears import CLIP_S, EARS, open_ear, written_down
from written import facts

from caller.calling.ports import Voice
from caller.calling.words.utterance import RUN_PAUSE_S
from caller.devices.voices.espeak import EspeakVoice
from caller.devices.voices.piper import PiperVoice
from caller.pattern.picture.colour_names import NAMES
from caller.pattern.storage.pattern_file import load

FORMS = (
    "{name}, to left {a}.",
    "{name}, waiting at left {a}, as far as right {b}.",
    "new {name}, to right {a}.",
    "After the pass, cut {name} at right {a}.",
)
NUMBERS = "two five nine twelve twenty-one twenty-six thirty-three thirty-eight forty-seven".split()  # noqa: SIM905
AT_ONCE = 5


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("names", nargs="*")
    options.add_argument("--voice", choices=("piper", "espeak"), default="piper")
    options.add_argument("--times", type=int, default=1)
    options.add_argument("--forms", type=int, default=len(FORMS), help="only the first so many")
    options.add_argument("--ears", nargs="+", choices=EARS, default=EARS)
    chosen = options.parse_args()
    demos = {yarn.name for path in DEMOS for yarn in load(path).yarns}
    names = chosen.names or sorted({*NAMES, *demos})
    voice: Voice = PiperVoice() if chosen.voice == "piper" else EspeakVoice()
    ears = {name: open_ear(name) for name in chosen.ears}
    chance, began_s = np.random.default_rng(11), time.process_time()
    missed: dict[str, dict[str, list[str]]] = {ear: defaultdict(list) for ear in ears}
    rounds = [form for _ in range(chosen.times) for form in FORMS[: chosen.forms]]
    for number, form in enumerate(rounds, 1):
        order = list(chance.permutation(names))
        for begin in range(0, len(order), AT_ONCE):
            some = order[begin : begin + AT_ONCE]
            texts = [_row(chance)]
            texts += [form.format(name=name, **_needles(chance)) for name in some]
            sounds = [sound_of(voice, text, RUN_PAUSE_S) for text in texts]
            wanted = _names(" ".join(texts), names)
            for ear_name, ear in ears.items():
                text = written_down(ear, sounds, CLIP_S[ear_name])
                for name, instead in _missing(wanted, text, names):
                    missed[ear_name][name].append(instead)
        spent_s = time.process_time() - began_s
        print(f"{number} of {len(rounds)} rounds, {spent_s:.0f} s of one core", file=sys.stderr)
    print(f"{chosen.voice}, {len(names)} names, each said {len(rounds)} times; missed:")
    print(f"| name | {' | '.join(ears)} | written instead |\n|---{'|---' * (len(ears) + 1)}|")

    def misses(name: str) -> int:
        return sum(len(missed[ear][name]) for ear in ears)

    for name in sorted(names, key=misses, reverse=True):
        if misses(name):
            instead = sorted({text for ear in ears for text in missed[ear][name]})
            counts = " | ".join(str(len(missed[ear][name])) for ear in ears)
            print(f"| {name} | {counts} | {'; '.join(instead)} |")


def _row(chance: np.random.Generator) -> str:
    return f"Row {chance.choice(NUMBERS)}, going left."


def _needles(chance: np.random.Generator) -> dict[str, str]:
    first, second = chance.choice(NUMBERS, 2, replace=False)
    return {"a": str(first), "b": str(second)}


def _names(text: str, names: list[str]) -> list[str]:
    return [fact.what for fact in facts(text, names) if fact.kind == "yarn"]


def _missing(wanted: list[str], text: str, names: list[str]) -> list[tuple[str, str]]:
    """The names that were not written, each with the whole text."""
    heard = _names(text, names)
    found: list[tuple[str, str]] = []
    for kind, i, j, k, m in SequenceMatcher(None, wanted, heard, autojunk=False).get_opcodes():
        if kind != "equal":
            found += [(name, " ".join(heard[k:m]) or text) for name in wanted[i:j]]
    return found


if __name__ == "__main__":
    main()
