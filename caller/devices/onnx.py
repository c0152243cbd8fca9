"""The library that runs neural networks, opened so that it keeps nothing of what is done here."""

import os
from types import ModuleType


def onnxruntime_library() -> ModuleType:
    """The library onnxruntime; ImportError where it is missing.

    Newer versions (1.32 was tried) else write a number for this computer into the user's cache and
    look for a server in the network, for reports of use. The variable is read when the library
    loads, so whatever imports it by itself is imported after this.
    """
    os.environ.setdefault("ORT_DISABLE_TELEMETRY", "1")
    import onnxruntime

    library: ModuleType = onnxruntime
    return library
