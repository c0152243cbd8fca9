"""The English model's encoder: sound to states, which tell words of any language apart.

Two who hear by the same states share one encoder, and the states of a segment that both ask for.
"""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from caller.devices.recognisers.english import model_files
from caller.devices.recognisers.onnx_session import OnnxSession

SHORTEST_SAMPLES = 1_600
"""It needs a tenth of a second."""
WIDTH = 288
"""Numbers a state."""
STEP_SAMPLES = 384
"""A state each 24 ms."""


class Encoder:
    """Loads the network, with onnxruntime about 60 MB; ListeningError when a part is missing."""

    def __init__(self, folder: Path | None = None) -> None:
        """`folder` holds the model's files; without it the installed ones are used."""
        folder = folder or model_files.model_folder()
        self._network = OnnxSession(folder / model_files.ENCODER, model_files.PART)
        self._sound = np.zeros(0, dtype=np.int16)
        self._states = np.zeros((0, WIDTH), dtype=np.float32)

    def states(self, sound: NDArray[np.int16]) -> NDArray[np.float32]:
        """Of shape (states, WIDTH); none for less than SHORTEST_SAMPLES.

        Int16 samples, 16,000 a second. The states of the last sound are kept.
        """
        if len(sound) < SHORTEST_SAMPLES:
            return np.zeros((0, WIDTH), dtype=np.float32)
        if not np.array_equal(sound, self._sound):
            samples = sound.astype(np.float32)[None] / 32_768
            [states] = self._network.run(
                {"input_values": samples, "attention_mask": np.ones(samples.shape, np.int64)}
            )
            self._sound, self._states = sound.copy(), states[0]
        return self._states
