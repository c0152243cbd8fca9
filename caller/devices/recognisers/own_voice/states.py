"""What a sound is like as speech, frame by frame: the states of the English model's encoder.

The encoder learnt from much speech to tell words apart, and its states tell words of any language
apart, whoever says them. Only the encoder is loaded; nothing is written or scored as English.
"""

from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from caller.devices.recognisers.english import model_files
from caller.devices.recognisers.english.model import SHORTEST_SAMPLES
from caller.devices.recognisers.onnx_session import OnnxSession

WIDTH = 288
"""Numbers a frame."""
STEP_SAMPLES = 384
"""A frame each 24 ms."""

MEAN = Path(__file__).with_name("mean_state.npy")
"""The mean state of other people's talk, float32 of shape (WIDTH,).

tests/bench/mean_state.py makes it, from Italian and Czech talk.
"""


class SpeechStates:
    """Loads the encoder, with onnxruntime about 60 MB; ListeningError when a part is missing."""

    def __init__(self, folder: Path | None = None) -> None:
        """`folder` holds the model's files; without it the installed ones are used."""
        folder = folder or model_files.model_folder()
        self._encoder = OnnxSession(folder / model_files.ENCODER, model_files.PART)

    def frames(self, sound: NDArray[np.int16]) -> NDArray[np.float32]:
        """Frames of length 1, one each STEP_SAMPLES: shape (frames, WIDTH).

        No frame for less than a tenth of a second. Int16 samples, 16,000 a second.
        """
        # The mean is much the same for all sounds and says nothing of the words.
        apart = self.states(sound) - _mean()
        return np.asarray(apart / np.linalg.norm(apart, axis=1, keepdims=True))

    def states(self, sound: NDArray[np.int16]) -> NDArray[np.float32]:
        """The encoder's own numbers, for a sound as for `frames`."""
        if len(sound) < SHORTEST_SAMPLES:
            return np.zeros((0, WIDTH), dtype=np.float32)
        samples = sound.astype(np.float32)[None] / 32_768
        [states] = self._encoder.run(
            {"input_values": samples, "attention_mask": np.ones(samples.shape, np.int64)}
        )
        return np.asarray(states[0])


@cache
def _mean() -> NDArray[np.float32]:
    return np.asarray(np.load(MEAN), dtype=np.float32)
