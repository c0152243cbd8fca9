"""What the model would write of its own accord: the likeliest token, one after another."""

from dataclasses import dataclass

from caller.devices.recognisers.english.model import Array, Encoded, EnglishModel, Past
from caller.devices.recognisers.english.tokeniser import END

MOST_TOKENS = 16


@dataclass(frozen=True)
class Written:
    """`text` with the log-likelihood of its tokens; `whole` when it came to its end."""

    text: str
    score: float
    whole: bool


@dataclass(frozen=True, eq=False)
class Beginning:
    """The tokens written so far with their log-likelihood, what may follow them, and their past.

    `follows` has shape (PIECES,); the past is of one row.
    """

    tokens: tuple[int, ...]
    score: float
    follows: Array
    past: Past

    @property
    def likeliest(self) -> int:
        """The token that follows."""
        return int(self.follows.argmax())

    def longer(self, follows: Array, past: Past) -> "Beginning":
        """With that token, after which `follows` and `past` hold."""
        score = self.score + float(self.follows[self.likeliest])
        return Beginning((*self.tokens, self.likeliest), score, follows, past)


def nothing_yet(encoded: Encoded) -> Beginning:
    return Beginning((), 0.0, encoded.first, encoded.past)


def write_freely(
    model: EnglishModel,
    encoded: Encoded,
    begun: Beginning | None = None,
    least: float = float("-inf"),
    most: int = MOST_TOKENS,
) -> Written:
    """Write on until the end, `most` tokens, or until it is less likely than `least`."""
    begun = begun or nothing_yet(encoded)
    while True:
        token = begun.likeliest
        score = begun.score + float(begun.follows[token])
        if token == END or score < least or len(begun.tokens) >= most:
            return Written(model.tokeniser.text(begun.tokens), score, token == END)
        [follows], past = model.step(encoded, [token], begun.past)
        begun = begun.longer(follows, past)
