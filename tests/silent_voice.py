"""A voice without a device, for tests that need no sound."""

from collections.abc import Iterable, Iterator

from caller.calling.ports import SoundBlock, silence
from caller.errors import VoiceError
from caller.settings import VoiceSettings


class SilentVoice:
    """Fulfils `Voice` with silence as long as speech would be.

    `said` keeps every text. A text that contains `fails_on` raises VoiceError.
    """

    def __init__(self, fails_on: str | None = None, rate_wpm: int = 160) -> None:
        self.said: list[str] = []
        self._fails_on = fails_on
        self.set_rate(rate_wpm)

    @property
    def rate(self) -> int:
        return 22050

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next sentence on; SettingError outside 80 to 350."""
        self.rate_wpm = VoiceSettings(rate_wpm=wpm).rate_wpm

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Nothing: silence needs no time."""

    def render(self, text: str) -> Iterator[SoundBlock]:
        if self._fails_on is not None and self._fails_on in text:
            raise VoiceError("The voice has failed.")
        if any(character.isalnum() for character in text):
            self.said.append(text)
            for _ in text.split():
                yield silence(60 / self.rate_wpm, self.rate)

    def close(self) -> None:
        """Nothing to let go of."""
