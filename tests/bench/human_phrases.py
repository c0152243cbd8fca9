"""Short sentences said by people, heard as own phrases: human_phrases.py

Nobody has recorded the program's own phrases, but any English words may stand under [words]. So ten
sentences of two to five words at a time are written there for ten commands, the settings are read
as in a session, and each recording is cut and decided as in a session, clean and beside a carriage.

prompts   what a woman says for a telephone exchange (asterisk-core-sounds-en-g722, 16,000 samples
          a second), whole sentences by their published text (asterisk-core-sounds-en)
calls     what actors call in a game, eight sets of them (hedgewars-data). The names of the files
          tell the occasion and seldom the words, so a call counts where whisper-base writes down
          what the name says: the clearer ones.
"""

import argparse
import gzip
import os
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent))
import conditions
import hearing
import negatives
import speakers
import trials
from intervals import Share
from open_ears import WhisperEar
from sounds import Sound

from caller.calling.commands import Command
from caller.calling.listening.likeness import bare
from caller.calling.listening.listener import HeardPhrase, Listener, NearlyHeard
from caller.calling.ports import Recogniser
from caller.devices.storage import settings_file
from caller.errors import SettingError
from caller.settings import ListeningSettings
from caller.wiring.hearing import any_sentence
from caller.wiring.recognisers import RecogniserChoice, choose_recogniser

PROMPTS, TEXTS, CALLS = "asterisk-core-sounds-en-g722", "asterisk-core-sounds-en", "hedgewars-data"
ACTORS = ("Default", "British", "Classic", "HillBilly", "Mobster", "Pirate", "Russian", "Surfer")
"""The sets of calls in English that are spoken, neither sung nor made by a machine."""
NAMED = {
    **{"Byebye": "bye bye", "Comeonthen": "come on then", "Cutitout": "cut it out"},
    **{"Enemydown": "enemy down", "Firstblood": "first blood", "Flyaway": "fly away"},
    **{"Gonnagetyou": "gonna get you", "Illgetyou": "i'll get you", "Runaway": "run away"},
    **{"Justyouwait": "just you wait", "Leavemealone": "leave me alone", "Ohdear": "oh dear"},
    **{"Sameteam": "same team", "Solong": "so long", "Takecover": "take cover"},
    **{"Thisoneismine": "this one is mine", "Watchit": "watch it", "Watchthis": "watch this"},
    **{"Yessir": "yes sir", "Youllregretthat": "you'll regret that"},
}
FOR = (
    *(Command.NEXT, Command.BACK, Command.REPEAT, Command.WHERE, Command.REMAINING),
    *(Command.SUPPLIES, Command.CHANGES, Command.SLOWER, Command.FASTER, Command.HELP),
)
"""Two of the ten move the row, and are held stricter."""


@dataclass(frozen=True, eq=False)
class Recording:
    """What somebody says, and the same in writing."""

    who: str
    text: str
    sound: Sound


def prompts() -> list[Recording]:
    """The sentences that are whole, none twice; those with a name or letters in them left out."""
    listed = next(negatives.unpacked(TEXTS).rglob("core-sounds-en.txt.gz"))
    texts = gzip.decompress(listed.read_bytes()).decode("utf-8", "replace")
    found: dict[str, Recording] = {}
    for name, text in re.findall(r"^([\w-]+): *([A-Z][a-z' ,-]+[.!])\s*$", texts, re.MULTILINE):
        path = next(negatives.unpacked(PROMPTS).rglob(f"en_US_*/{name}.g722"), None)
        if path and 2 <= len(bare(text).split()) <= 5:
            [sound] = negatives.files(PROMPTS, path.name, re.escape(path.name) + "$")[:1]
            found.setdefault(bare(text), Recording("woman", bare(text), _as_loud(sound)))
    return list(found.values())


def calls() -> list[Recording]:
    ear = WhisperEar()
    there = [
        Recording(actor, words, _as_loud(sound))
        for actor in ACTORS
        for name, words in NAMED.items()
        for sound in negatives.files(CALLS, f"voices/{actor}/{name}.ogg")
    ]
    asked = trials.progress(there, "written down", len(there))
    found = [one for one in asked if _plain(ear.write_down(one.sound)) == _plain(one.text)]
    print(f"calls: {len(found)} of {len(there)} are what their file's name says")
    return found


def _as_loud(sound: Sound) -> Sound:
    """Without the quiet around it, and as loud as the words of the other benches."""
    whole = sound.astype(float)
    loud = np.flatnonzero(np.abs(whole) > np.abs(whole).max() * 0.01)
    word = whole[loud[0] : loud[-1] + 1]
    word *= speakers.LEVEL / np.sqrt(np.mean(word**2))
    return np.clip(np.rint(word), -32768, 32767).astype(np.int16)


def sets(phrases: Iterable[str], folder: Path) -> Iterator[tuple[str, ...]]:
    """Tens of these, and what is left, that the settings accept; prints what they refuse."""
    chosen: list[str] = []
    for phrase in phrases:
        try:
            _choice((*chosen, phrase), folder)
            chosen.append(phrase)
        except SettingError as error:
            print(f"  refused: {phrase!r} beside {len(chosen)} others ({error.finding})")
        if len(chosen) == len(FOR):
            yield tuple(chosen)
            chosen = []
    if chosen:
        yield tuple(chosen)


def _choice(phrases: Sequence[str], folder: Path) -> RecogniserChoice:
    """What listens where these stand in the settings file."""
    path = folder / "settings.toml"
    lines = (f'{one.value} = ["{phrase}"]' for one, phrase in zip(FOR, phrases, strict=False))
    path.write_text("\n".join(("[words]", *lines, "")), encoding="utf-8")
    os.environ[settings_file.ENVIRONMENT] = str(path)
    return choose_recogniser(ListeningSettings(engine="english"), any_sentence)


def heard(choice: RecogniserChoice, recogniser: Recogniser, stream: Sound) -> tuple[set[str], bool]:
    """The phrases that are heard in a stream, and whether something nearly was."""
    blocks, likely = hearing.blocks(stream)
    detector = hearing.KeptDetector(likely)
    listener = Listener(detector, recogniser, choice.listening, choice.words, choice.sentences)
    found = listener.feed(blocks.ravel())
    nearly = any(isinstance(one, NearlyHeard) for one in found)
    return {one.phrase for one in found if isinstance(one, HeardPhrase)}, nearly


def tried(kind: str, recordings: Sequence[Recording]) -> None:
    phrases = list(dict.fromkeys(one.text for one in recordings))
    np.random.default_rng(1).shuffle(phrases)
    came: Counter[tuple[str, str, str]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        tens = list(sets(phrases, Path(folder)))
        for ten in trials.progress(tens, kind, len(tens)):
            choice = _choice(ten, Path(folder))
            recogniser = choice.open()
            for one in [one for one in recordings if one.text in ten]:
                for condition in conditions.conditions():
                    if condition.name not in ("clean", "carriage 10 dB"):
                        continue
                    found, nearly = heard(choice, recogniser, condition.make(one.sound, one.text))
                    right = found == {one.text}
                    what = "heard" if right else "another" if found else "near" if nearly else ""
                    for who in ("all", one.who):
                        came[condition.name, who, what] += 1
                    if not right:
                        told = f"{what or 'not heard'} {', '.join(found - {one.text})}"
                        print(f"  {condition.name}, {one.who}: {one.text!r} {told}")
    for name, who in dict.fromkeys(key[:2] for key in came):
        share = [came[name, who, what] for what in ("heard", "another", "near", "")]
        hit = Share(share[0], sum(share))
        print(f"{kind}, {name}, {who}: heard {hit}, as another {share[1]}, nearly {share[2]}")


def _plain(text: str) -> str:
    return re.sub(r"[^a-z]", "", text.casefold())


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kind", choices=("prompts", "calls"), help="only these")
    asked = parser.parse_args()
    if asked.kind != "calls":
        tried("prompts", prompts())
    if asked.kind != "prompts":
        tried("calls", calls())


if __name__ == "__main__":
    main()
