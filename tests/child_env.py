"""Environments for child processes."""

import os
from pathlib import Path

WITHOUT_SOUND = {**os.environ, "PYTHONPATH": str(Path(__file__).parent / "without_sound")}
"""A machine without PortAudio, so that nothing sounds where the tests run."""
