"""What runs neural networks leaves nothing behind."""

import os
import subprocess
import sys

OPENED = """
from caller.settings import ListeningSettings, VoiceSettings
from caller.wiring.recognisers import choose_recogniser
from caller.wiring.voices import open_voice
choose_recogniser(ListeningSettings(engine="english")).open().close()
open_voice(VoiceSettings(kind="piper")).close()
"""


def test_the_networks_write_nothing_into_the_home(tmp_path):
    # Newer versions of onnxruntime write a number for the computer there, unless told not to.
    home = tmp_path / "home"
    home.mkdir()
    env = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")}
    subprocess.run(
        [sys.executable, "-c", OPENED], env={**env, "HOME": str(home)}, check=True, timeout=120
    )
    assert list(home.rglob("*")) == []
