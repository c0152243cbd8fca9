"""Commands while the caller speaks: opened where it is wanted and there is a sound card."""

from caller.calling.ports import EchoRemover, Loudspeaker
from caller.settings import ListeningSettings


def open_canceller(settings: ListeningSettings, loudspeaker: Loudspeaker) -> EchoRemover | None:
    """What takes the caller's own voice away, or None where it is not wanted or nothing sounds.

    Open it before the first sound, close it before the loudspeaker. Raises ListeningError, with the
    one command, when its library is missing.
    """
    from caller.devices.sound.loudspeaker import SoundCardLoudspeaker

    if not settings.barge_in or not isinstance(loudspeaker, SoundCardLoudspeaker):
        return None
    from caller.devices.sound.echo_canceller import LoudspeakerEcho

    return LoudspeakerEcho(loudspeaker)
