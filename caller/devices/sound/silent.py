"""A loudspeaker and a voice without a device.

Shipped, not mocks: where there is no sound device the session runs on them for real.
"""

from collections.abc import Iterable, Iterator

from caller.calling.ports import SoundBlock, silence
from caller.errors import SoundError, VoiceError
from caller.settings import VoiceSettings


class SilentLoudspeaker:
    """Fulfils `Loudspeaker` without a sound.

    Nothing is drawn from the blocks unless `keep` is set; then what would sound is drawn at once
    and kept in `played`, one list of blocks a call, and an error that they raise is kept for
    `wait`. `fail_wait` makes `wait` fail.
    """

    def __init__(self, keep: bool = False, fail_wait: bool = False) -> None:
        self.played: list[list[SoundBlock]] = []
        self._error: Exception | None = None
        self._keep = keep
        self._fail_wait = fail_wait

    def play(self, blocks: Iterable[SoundBlock]) -> None:
        self._error = None
        self.add(blocks)

    def add(self, blocks: Iterable[SoundBlock]) -> None:
        if self._keep:
            drawn: list[SoundBlock] = []
            self.played.append(drawn)
            try:
                drawn.extend(blocks)
            except Exception as error:
                self._error = error

    def quiet_for(self) -> float:
        return float("inf")

    def wait(self, timeout: float | None = None) -> bool:  # noqa: ARG002 (the protocol's)
        if self._fail_wait:
            raise SoundError("The loudspeaker was taken away.")
        if self._error is not None:
            error, self._error = self._error, None
            raise error
        return True

    def close(self) -> None:
        """Nothing to let go of."""


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
