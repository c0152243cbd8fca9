"""The ways in which the model may write what was said: capitals and marks at the end. Pure."""

import re
from collections.abc import Iterable

ENDINGS = (".", "", "?", "!")
_ALWAYS_CAPITAL = {"i": "I", "i'm": "I'm", "i'll": "I'll", "i've": "I've", "i'd": "I'd"}


def is_english(word: str) -> bool:
    """Whether a word is written in English letters, with an apostrophe or hyphen or without."""
    return re.fullmatch(r"[A-Za-z]+(['\u2019-][A-Za-z]+)*['\u2019]?", word) is not None


def spellings(phrase: str) -> tuple[str, ...]:
    """Each way to write a phrase: "Yes please.", "yes please", "Yes, please!" and so on.

    Capitals, hyphens and curly apostrophes in the phrase itself do not matter.
    """
    written = phrase.casefold().replace("\u2019", "'")
    texts = []
    for one in (written, written.replace("-", " ")):
        words = [_ALWAYS_CAPITAL.get(word, word) for word in one.split()]
        paused = [" ".join(words[:at]) + ", " + " ".join(words[at:]) for at in range(1, len(words))]
        for plain in (" ".join(words), *paused):
            texts += [plain[:1].upper() + plain[1:], plain]
    return tuple(text + mark for text in dict.fromkeys(texts) for mark in ENDINGS)


def sentence_spellings(written: Iterable[str]) -> tuple[str, ...]:
    """The likely ways only, for sentences are many: "Go to row 42.", "Go to row forty two"."""
    texts = [text for one in written for text in (one, one.replace("-", " "))]
    plain = [text[:1].upper() + text[1:] for text in dict.fromkeys(texts)]
    return tuple(text + mark for text in plain for mark in ENDINGS[:3])
