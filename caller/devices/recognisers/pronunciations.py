"""How English words sound, by the dictionary that comes with PocketSphinx (CMUdict)."""

import unicodedata
from collections.abc import Iterable
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from caller.calling.listening.stretches import Pronounce


def pronounce_by(texts: Iterable[str]) -> Pronounce:
    """What gives the sounds of these texts; letters stand for a word that is not in the dictionary,
    of another language, say, and for all where there is no dictionary."""
    wanted = {word for text in texts for word in _words(text)}
    known = _looked_up(frozenset(wanted))

    @cache
    def pronounce(text: str) -> tuple[str, ...]:
        return tuple(
            sound for word in _words(text) for sound in known.get(word, ()) or _letters(word)
        )

    return pronounce


def _words(text: str) -> list[str]:
    return text.casefold().replace("\u2019", "'").replace("-", " ").split()


def _letters(word: str) -> tuple[str, ...]:
    """Letters and figures, one by one also where the writing joins them (Korean); no accents."""
    parts = unicodedata.normalize("NFKD", word)
    return tuple(letter for letter in parts if letter.isalnum())


def _looked_up(words: frozenset[str]) -> dict[str, tuple[str, ...]]:
    """The first pronunciation of each word that is there."""
    found: dict[str, tuple[str, ...]] = {}
    spec = find_spec("pocketsphinx")
    for package in (spec and spec.submodule_search_locations) or ():
        path = Path(package, "model", "en-us", "cmudict-en-us.dict")
        try:
            with path.open(encoding="utf-8") as lines:
                for line in lines:
                    word, _, sounds = line.partition(" ")
                    if word in words:
                        found.setdefault(word, tuple(sounds.split()))
        except (OSError, UnicodeDecodeError):
            continue
    return found
