"""The work of the detector, which goes on for as long as somebody listens."""

import subprocess
import sys

import pytest

THREADS = """
import numpy as np, psutil, threading
from caller.devices.recognisers.silero_vad import SileroDetector

detector = SileroDetector()
takes = np.ones((200, 200), dtype=np.float32)
counted = []

def listen():
    for _ in range(5):
        detector.probability(np.ones(512, dtype=np.int16))
        takes @ takes.T
    counted.append(psutil.Process().num_threads())

listen()
thread = threading.Thread(target=listen)
thread.start()
thread.join()
print(counted)
"""


@pytest.mark.skipif(sys.platform != "linux", reason="other systems start threads of their own")
def test_no_thread_of_a_library_waits_busily():
    ran = subprocess.run(
        [sys.executable, "-c", THREADS], capture_output=True, text=True, check=True
    )
    assert ran.stdout.strip() == "[1, 2]"
