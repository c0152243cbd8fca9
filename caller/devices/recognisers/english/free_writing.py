"""What the model would write of its own accord: the likeliest token, one after another."""

from dataclasses import dataclass

from caller.devices.recognisers.english.model import Encoded, EnglishModel
from caller.devices.recognisers.english.tokeniser import END

MOST_TOKENS = 16


@dataclass(frozen=True)
class Written:
    """`text` with the log-likelihood of its tokens; `whole` when it came to its end."""

    text: str
    score: float
    whole: bool


def write_freely(
    model: EnglishModel,
    encoded: Encoded,
    least: float = float("-inf"),
    most: int = MOST_TOKENS,
) -> Written:
    """Write until the end, `most` tokens, or until it is less likely than `least`."""
    tokens: list[int] = []
    score, follows, past = 0.0, encoded.first, encoded.past
    while True:
        token = int(follows.argmax())
        score += float(follows[token])
        if token == END or score < least or len(tokens) == most:
            return Written(model.tokeniser.text(tokens), score, token == END)
        tokens.append(token)
        [follows], past = model.step(encoded, [token], past)
