"""Neural networks run by onnxruntime: opened and run alike, and quiet on the screen."""

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.devices.onnx import onnxruntime_library
from caller.devices.sound.stderr import stderr_silenced
from caller.errors import ListeningError
from caller.installation import installs, installs_again


class OnnxSession:
    """One network on one thread, which does not wait busily for work."""

    def __init__(self, path: Path, part: str) -> None:
        """Load the network.

        `part` is what brings it, of the parts that can be added. ListeningError where onnxruntime
        is missing or the file cannot be loaded.
        """
        try:
            onnxruntime = onnxruntime_library()
        except ImportError:
            raise ListeningError(
                "Listening this way needs onnxruntime, which is not installed",
                installs(part),
            ) from None
        options = onnxruntime.SessionOptions()
        options.log_severity_level = 4
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.enable_cpu_mem_arena = False  # it keeps what the largest run took
        options.add_session_config_entry("session.intra_op.allow_spinning", "0")
        try:
            with stderr_silenced():
                self._session: Any = onnxruntime.InferenceSession(
                    str(path), options, providers=["CPUExecutionProvider"]
                )
        except Exception as error:  # onnxruntime raises errors of many kinds of its own
            raise ListeningError(
                f"The model in {path.parent} cannot be used ({type(error).__name__})",
                installs_again(part),
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
