"""The shape of a voice's spectrum, frame by frame, by kaldi-native-fbank.

Mel-frequency cepstra (Davis and Mermelstein 1980, IEEE TASSP 28:357): how the loudness of a sound
lies over a scale of pitch like the ear's, put in few numbers.
"""

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.listening.blocks import RATE
from caller.errors import ListeningError
from caller.installation import installs

CEPSTRA = 13
"""Numbers a frame; the first of them is its loudness."""
BANDS = 26
LOW_HZ, HIGH_HZ = 100, 7_600
"""Below is the hum of a room and of motors, above what microphones differ in."""

STEP_SAMPLES = RATE // 100


def cepstra(sound: NDArray[np.int16]) -> NDArray[np.float32]:
    """Each 25 ms of the sound, every 10 ms: shape (frames, CEPSTRA).

    No frame for less than 25 ms. Raises ListeningError when the library is missing.
    """
    reader = _library().OnlineMfcc(_options())
    reader.accept_waveform(RATE, sound.astype(np.float32))
    reader.input_finished()
    frames = [reader.get_frame(index) for index in range(reader.num_frames_ready)]
    return np.array(frames, dtype=np.float32).reshape(-1, CEPSTRA)


@cache
def _options() -> Any:
    options = _library().MfccOptions()
    options.frame_opts.samp_freq = RATE
    options.frame_opts.dither = 0.0  # the same sound always gives the same numbers
    options.frame_opts.window_type = "hamming"
    options.mel_opts.num_bins = BANDS
    options.mel_opts.low_freq = LOW_HZ
    options.mel_opts.high_freq = HIGH_HZ
    options.num_ceps = CEPSTRA
    options.use_energy = False
    return options


def _library() -> Any:
    try:
        import kaldi_native_fbank
    except ImportError:
        raise ListeningError(
            "Hearing your own words needs kaldi-native-fbank, which is not installed",
            installs("own-voice"),
        ) from None
    return kaldi_native_fbank
