"""What a sound is like as speech, whoever says it in whatever room: a small network's answer.

The network is Google's speech embedding (arXiv 2002.01322), which learnt from much speech to tell
words apart. Its two ONNX files lie in the wheel openwakeword 0.4.0, whose README says that Google
published the network under the Apache License 2.0; they are run by onnxruntime, and nothing of that
package's code is.
"""

from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from caller.devices.recognisers.onnx_session import OnnxSession
from caller.errors import ListeningError
from caller.installation import installs

NUMBERS = 96
"""Numbers a frame."""
WINDOW = 76
"""Frames of the spectrum, 10 ms each, that one answer is drawn from."""
STEP = 8

_PART = "own-voice"


class SpeechEmbedding:
    """Loads the network, with onnxruntime about 90 MB; ListeningError when a part is missing."""

    def __init__(self) -> None:
        folder = _model_folder()
        self._spectrum = OnnxSession(folder / "melspectrogram.onnx", _PART)
        self._network = OnnxSession(folder / "embedding_model.onnx", _PART)

    def frames(self, sound: NDArray[np.int16], step: int = STEP) -> NDArray[np.float32]:
        """Frames of length 1, one each `step` of 10 ms: shape (frames, NUMBERS).

        A frame is drawn from 0.78 s of sound; no frame for less. Int16 samples, 16,000 a second.
        """
        if len(sound) < 512:
            return np.zeros((0, NUMBERS), dtype=np.float32)
        bands = (
            _answer(self._spectrum, sound.astype(np.float32)[None])[0, 0] / 10 + 2
        )  # as the network was trained; so its makers' code does it
        starts = range(0, len(bands) - WINDOW + 1, step)
        if not starts:
            return np.zeros((0, NUMBERS), dtype=np.float32)
        windows = np.stack([bands[start : start + WINDOW] for start in starts])[..., None]
        frames = _answer(self._network, windows).reshape(-1, NUMBERS)
        return np.asarray(frames / np.linalg.norm(frames, axis=1, keepdims=True))


def _answer(network: OnnxSession, numbers: NDArray[np.float32]) -> NDArray[np.float32]:
    [answer] = network.run({network.inputs[0]: numbers})
    return np.asarray(answer)


def _model_folder() -> Path:
    """Found without importing the package, which would load much that is not needed."""
    found = find_spec("openwakeword")
    folders = [] if found is None else list(found.submodule_search_locations or ())
    for folder in folders:
        models = Path(folder, "resources", "models")
        if models.joinpath("embedding_model.onnx").is_file():
            return models
    raise ListeningError(
        "Hearing your own words needs a model that is not installed",
        installs(_PART),
    )
