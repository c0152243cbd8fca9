"""Short sentences said by people, heard as own phrases: human_phrases.py

Nobody has recorded the program's own phrases, but any English words may stand under [words]. So ten
sentences of two to five words at a time are written there for ten commands, the settings are read
as in a session, and each recording is cut and decided as in a session, clean and beside a carriage.

prompts   what a woman says for a telephone exchange (asterisk-core-sounds-en-g722, 16,000 samples
          a second), whole sentences by their published text (asterisk-core-sounds-en)
calls     what actors call in a game, eight sets of them (hedgewars-data), by the names of files.
          They do not always say what the name says, so those that whisper-base writes down as
          named are counted once more by themselves: the clearer ones.
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
    """What somebody says; `named` is the same in writing."""

    who: str
    named: str
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
    return [
        Recording(actor, words, _as_loud(sound))
        for actor in ACTORS
        for name, words in NAMED.items()
        for sound in negatives.files(CALLS, f"voices/{actor}/{name}.ogg")
    ]


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


def tried(kind: str, recordings: Sequence[Recording], asked: argparse.Namespace) -> None:
    ear = None if kind == "prompts" or asked.tiny else WhisperEar()
    written = {one: ear is not None and _as_named(ear, one) for one in recordings}
    phrases = list(dict.fromkeys(one.named for one in recordings))
    np.random.default_rng(1).shuffle(phrases)
    came: Counter[tuple[str, str, str]] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        tens = list(sets(phrases, Path(folder)))[: 1 if asked.tiny else None]
        for ten in trials.progress(tens, kind, len(tens)):
            choice = _choice(ten, Path(folder))
            recogniser = choice.open()
            for one in [one for one in recordings if one.named in ten]:
                for condition in conditions.conditions():
                    if condition.name not in ("clean", "carriage 10 dB"):
                        continue
                    found, nearly = heard(choice, recogniser, condition.make(one.sound, one.named))
                    right = found == {one.named}
                    what = "heard" if right else "another" if found else "near" if nearly else ""
                    for who in ("all", one.who, *(["as named"] * written[one])):
                        came[condition.name, who, what] += 1
                    if not right:
                        told = f"{what or 'not heard'} {', '.join(found - {one.named})}"
                        print(f"  {condition.name}, {one.who}: {one.named!r} {told}")
    for name, who in dict.fromkeys(key[:2] for key in came):
        share = [came[name, who, what] for what in ("heard", "another", "near", "")]
        hit = Share(share[0], sum(share))
        print(f"{kind}, {name}, {who}: heard {hit}, as another {share[1]}, nearly {share[2]}")


def _as_named(ear: WhisperEar, one: Recording) -> bool:
    return _plain(ear.write_down(one.sound)) == _plain(one.named)


def _plain(text: str) -> str:
    return bare(text).replace(" ", "").replace("'", "")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kind", choices=("prompts", "calls"), help="only these")
    parser.add_argument("--tiny", action="store_true", help="one set of ten")
    asked = parser.parse_args()
    for kind, recordings in (("prompts", prompts), ("calls", calls)):
        if asked.kind in (None, kind):
            tried(kind, recordings(), asked)


if __name__ == "__main__":
    main()
