"""Text to the model's tokens and back: byte-pair encoding by a vocabulary of 32,768 pieces.

A text is cut into characters first; then, again and again, the two neighbours are joined whose
union has the lowest number (Sennrich, Haddow, Birch 2016, arXiv 1508.07909, as SentencePiece does
it). Cutting by the longest match instead gives other tokens, which the model scores as unlikely.
"""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from caller.devices.recognisers.english.model_files import PART
from caller.errors import ListeningError
from caller.installation import installs_again

PIECES = 32_768
BEGIN, END = 1, 2
_SPACE = "\u2581".encode()
_FIRST_BYTE = 3


class Tokeniser:
    """`vocabulary` is the content of tokenizer.bin: each piece behind its length."""

    def __init__(self, vocabulary: bytes) -> None:
        self._pieces = _pieces(vocabulary)
        if len(self._pieces) != PIECES:
            raise ListeningError(
                f"The English model's vocabulary has {len(self._pieces)} pieces and not {PIECES}; "
                "it is damaged, or of another version",
                installs_again(PART),
            )
        # A few early pieces are there again later; the later number is the one in use.
        self._number = {piece: number for number, piece in enumerate(self._pieces)}
        self._known: dict[str, tuple[int, ...]] = {}

    def tokens(self, text: str) -> tuple[int, ...]:
        """The text's tokens, without begin and end. No piece goes on over a space."""
        return tuple(token for word in text.split(" ") for token in self._tokens_of(word))

    def _tokens_of(self, word: str) -> tuple[int, ...]:
        """The tokens of a word with the space before it; kept, for sentences share their words."""
        if word not in self._known:
            self._known[word] = self._joined(word)
        return self._known[word]

    def _joined(self, word: str) -> tuple[int, ...]:
        parts = [_SPACE, *(letter.encode() for letter in word)]
        while len(parts) > 1:
            joined = [first + second for first, second in pairwise(parts)]
            best = min(joined, key=lambda piece: self._number.get(piece, PIECES))
            if best not in self._number:
                break
            at = joined.index(best)
            parts[at : at + 2] = [best]
        return tuple(number for part in parts for number in self._numbers(part))

    def text(self, tokens: Iterable[int]) -> str:
        """What these tokens write; begin and end write nothing."""
        written = b"".join(self._pieces[one] for one in tokens if one >= _FIRST_BYTE)
        return written.replace(_SPACE, b" ").decode(errors="replace").strip()

    def _numbers(self, part: bytes) -> Sequence[int]:
        number = self._number.get(part)
        return [_FIRST_BYTE + byte for byte in part] if number is None else [number]


def _pieces(vocabulary: bytes) -> list[bytes]:
    """A length below 128 takes one byte, a longer one two, the lower seven bits first."""
    pieces, at = [], 0
    while at < len(vocabulary):
        length = vocabulary[at]
        at += 1
        if length >= 128 and at < len(vocabulary):
            length = length - 128 + 128 * vocabulary[at]
            at += 1
        pieces.append(vocabulary[at : at + length])
        at += length
    return pieces
