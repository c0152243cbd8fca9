"""The English model: sound to states (encoder), and states to the likelihood of tokens (decoder).

Both networks are ONNX graphs. The decoder goes token by token; what it has computed for the tokens
before (the `Past`) is kept, so that a step costs one token.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.devices.recognisers.english import model_files
from caller.devices.recognisers.english.encoder import Encoder
from caller.devices.recognisers.english.model_files import PART
from caller.devices.recognisers.english.tokeniser import BEGIN, PIECES, Tokeniser
from caller.devices.recognisers.onnx_session import OnnxSession
from caller.errors import ListeningError
from caller.installation import installs_again

_LAYERS, _HEADS, _WIDTH = 6, 8, 36

Array = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Past:
    """What the decoder has computed for n rows of tokens of one length, as it wants it back."""

    arrays: tuple[Array, ...]

    def rows(self, chosen: Sequence[int]) -> "Past":
        """These rows, in this order; a row may come twice or not at all."""
        return Past(tuple(array[list(chosen)] for array in self.arrays))

    @staticmethod
    def joined(pasts: Sequence["Past"]) -> "Past":
        return Past(tuple(map(np.concatenate, zip(*(past.arrays for past in pasts), strict=True))))


@dataclass(frozen=True, eq=False)
class Encoded:
    """A sound as the decoder needs it.

    `first` holds the log-likelihood of each token as the first one, shape (PIECES,); `past` is of
    the one row that has only begun. `feed` is what every step is given.
    """

    first: Array
    past: Past
    feed: dict[str, Any]


class EnglishModel:
    """Loads the networks, about 130 MB; ListeningError when a part is missing or damaged."""

    def __init__(self, folder: Path | None = None) -> None:
        """`folder` holds the three files; without it the installed ones are used."""
        folder = folder or model_files.model_folder()
        self.tokeniser = Tokeniser(_read(folder / model_files.VOCABULARY))
        self.encoder = Encoder(folder)
        self._decoder = OnnxSession(folder / model_files.DECODER, PART)
        self._past_names = [
            f"past_key_values.{layer}.{part}.{kind}"
            for layer in range(_LAYERS)
            for part in ("decoder", "encoder")
            for kind in ("key", "value")
        ]
        expected = ("logits", *(_present(name) for name in self._past_names))
        if self._decoder.outputs != expected:
            raise ListeningError(
                f"The English model in {folder} is of another version",
                installs_again(PART),
            )

    def encode(self, sound: NDArray[np.int16]) -> Encoded:
        """Int16 samples, 16,000 a second, at least SHORTEST_SAMPLES of them."""
        states = self.encoder.states(sound)[None]
        nothing = np.zeros((1, _HEADS, 0, _WIDTH), np.float32)
        feed = {
            "encoder_hidden_states": states,
            "encoder_attention_mask": np.ones((1, states.shape[1]), np.int64),
        }
        logits, *past = self._decoder.run(
            {
                **feed,
                "input_ids": np.array([[BEGIN]]),
                "use_cache_branch": np.array([False]),
                **dict.fromkeys(self._past_names, nothing),
            },
        )
        named = dict(zip(self._past_names, past, strict=True))
        # The sound's own part of the past stays as it is, and serves any number of rows.
        feed |= {name: array for name, array in named.items() if ".encoder." in name}
        kept = Past(tuple(array for name, array in named.items() if ".decoder." in name))
        return Encoded(_log_likelihoods(logits)[0], kept, feed)

    def step(self, encoded: Encoded, tokens: Sequence[int], past: Past) -> tuple[Array, Past]:
        """Add one token to each row: the log-likelihoods of what follows, (rows, PIECES).

        The networks' numbers are scaled over all rows at once (8-bit), so a row's answer differs by
        a few tenths with the rows beside it.
        """
        rows = [name for name in self._past_names if ".decoder." in name]
        logits, *present = self._decoder.run(
            {
                **encoded.feed,
                "input_ids": np.array(tokens, dtype=np.int64)[:, None],
                "use_cache_branch": np.array([True]),
                **dict(zip(rows, past.arrays, strict=True)),
            },
        )
        named = zip(self._past_names, present, strict=True)
        return _log_likelihoods(logits), Past(
            tuple(array for name, array in named if ".decoder." in name)
        )


def _present(name: str) -> str:
    return name.replace("past_key_values", "present")


def _log_likelihoods(logits: Array) -> Array:
    """Of the last token of each row: (rows, tokens, PIECES) to (rows, PIECES)."""
    # Row by row, for a row stays near the processor where all of them would not.
    likely = np.empty((len(logits), PIECES), np.float32)
    for row, given in zip(likely, logits[:, -1, :PIECES], strict=True):
        np.subtract(given, given.max(), out=row)
        row -= np.log(np.exp(row).sum())
    return likely


def _read(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        raise ListeningError(
            f"{path} cannot be read: {error.strerror or error}",
            installs_again(PART),
        ) from None
