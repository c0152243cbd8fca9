"""What stands in the way of a session, said aloud: who calls by ear reads no screen."""

import contextlib

from caller.calling.signals import Signal
from caller.calling.speech import signalled
from caller.calling.words.utterance import RUN_PAUSE_S, Clause
from caller.errors import CallerError
from caller.settings import VoiceSettings
from caller.wiring import voices
from caller.wiring.closing import closed_in_time

LONGEST_S = 30.0
"""The longest an error may take to say; the command ends then all the same."""
_USUAL_RATE = 48_000


def say_error(error: CallerError, settings: VoiceSettings, loudspeaker: str | None) -> None:
    """Say finding and remedy after the sound of trouble.

    Where that voice or loudspeaker is what is wrong, the usual ones speak. Nothing happens where
    nothing can sound: the error has been shown.
    """
    for voice, device in ((settings, loudspeaker), (VoiceSettings(), None)):
        with contextlib.suppress(CallerError):
            _say(error, voice, device)
            return


def _say(error: CallerError, settings: VoiceSettings, device: str | None) -> None:
    with closed_in_time() as devices:
        # A loudspeaker that is missing is noticed before a large voice is loaded.
        voices.open_loudspeaker(_USUAL_RATE, device).close()
        voice = voices.open_voice(settings)
        devices.callback(voice.close)
        loudspeaker = voices.open_loudspeaker(voice.rate, device)
        devices.callback(loudspeaker.close)
        told = tuple(
            Clause(text, text, 2 * RUN_PAUSE_S) for text in (error.finding, error.remedy) if text
        )
        loudspeaker.play(signalled(voice, told, lambda _trouble: None, (Signal.TROUBLE,)))
        loudspeaker.wait(LONGEST_S)
