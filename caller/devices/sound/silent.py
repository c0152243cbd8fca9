"""A loudspeaker without a device.

Shipped, no mock: where there is no sound device the session runs on it for real.
"""

from collections.abc import Iterable

from caller.calling.ports import SoundBlock
from caller.errors import SoundError


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
