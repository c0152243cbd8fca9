"""Neural networks run by onnxruntime: opened and run alike, and quiet on the screen."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.devices.sound.stderr import stderr_silenced
from caller.errors import ListeningError


class OnnxSession:
    """One network on one thread, which does not wait busily for work."""

    def __init__(self, path: Path, brings: str, renews: str) -> None:
        """Load the network.

        ListeningError where onnxruntime is missing, with the command that `brings` it, and where
        the file cannot be loaded, with the one that `renews` it.
        """
        try:
            import onnxruntime
        except ImportError:
            raise ListeningError(
                "Listening this way needs onnxruntime, which is not installed",
                f"this command brings it: {brings}",
            ) from None
        options = onnxruntime.SessionOptions()
        options.log_severity_level = 4
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        try:
            with stderr_silenced():
                self._session: Any = onnxruntime.InferenceSession(
                    str(path), options, providers=["CPUExecutionProvider"]
                )
        except Exception as error:  # onnxruntime raises errors of many kinds of its own
            raise ListeningError(
                f"The model in {path.parent} cannot be used ({type(error).__name__})",
                f"this command installs it again: {renews}",
            ) from None
        self.inputs = tuple(one.name for one in self._session.get_inputs())
        self.outputs = tuple(one.name for one in self._session.get_outputs())

    def run(self, feed: dict[str, Any]) -> list[NDArray[np.float32]]:
        """The network's answers, in the order of `outputs`; ListeningError when it fails."""
        try:
            return list(self._session.run(None, feed))
        except Exception as error:  # as for loading
            raise ListeningError(
                f"The recogniser failed ({type(error).__name__})",
                "use the keys, and start the session again to be heard.",
            ) from None
