"""What a voice is given: plain text in pieces, none so long that it holds back the first sound."""

import re
import textwrap
import unicodedata
from collections.abc import Iterator

_SENTENCE = re.compile(r"(?<=[.!?;:])\s+")
_LONGEST = 200
"""Characters of a piece; about ten seconds of speech."""


def pieces(text: str) -> Iterator[str]:
    """Sentences without control characters, each with a letter or a digit in it."""
    plain = "".join(" " if unicodedata.category(c)[0] == "C" else c for c in text)
    for sentence in _SENTENCE.split(plain):
        for piece in textwrap.wrap(sentence, _LONGEST, break_on_hyphens=False):
            if any(character.isalnum() for character in piece):
                yield piece
