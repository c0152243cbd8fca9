"""A slow voice, prerendered: the likely next words are sound before they are asked for."""

import threading
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from caller.calling.ports import SoundBlock, Voice
from caller.devices.memory import give_back
from caller.errors import VoiceError
from caller.settings import VoiceSettings

KEPT_S = 900.0
"""Seconds of sound that are kept, some 40 megabytes; two rows of 100 yarns sound for 400."""

_RESTED_S = 1.0
"""After so long with nothing to render memory is given back: after each text it would be a tenth of
the work, for the next one takes it again."""


@dataclass(eq=False)
class _Sound:
    """A text at a rate, as far as it is sound by now."""

    text: str
    wpm: int
    blocks: list[SoundBlock] = field(default_factory=list)
    source: Iterator[SoundBlock] | None = None
    done: bool = False
    error: Exception | None = None


class Prerendered:
    """Fulfils `Voice` around any voice. Only its own thread uses that voice, until `close`.

    What is asked for comes before what is prepared, and the newest first, as what was asked for
    before has been cut. A text that fails is tried again when it is asked for again.
    """

    def __init__(self, voice: Voice, kept_s: float = KEPT_S) -> None:
        self._voice = voice
        self.rate_wpm = voice.rate_wpm
        self._kept_s = kept_s
        self._changed = threading.Condition()
        self._sounds: dict[tuple[str, int], _Sound] = {}  # the least recently asked for is first
        self._asked: list[_Sound] = []
        self._wanted: tuple[_Sound, ...] = ()
        self._closed = False
        self._thread = threading.Thread(target=self._work, name="prerendering", daemon=True)
        self._thread.start()

    @property
    def rate(self) -> int:
        return self._voice.rate

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next text on; SettingError outside 80 to 350."""
        self.rate_wpm = VoiceSettings(rate_wpm=wpm).rate_wpm

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Render these texts when nothing is asked for, instead of what was to be prepared."""
        with self._changed:
            self._wanted = tuple([self._sound(text, wpm) for text in texts])
            self._changed.notify_all()

    def render(self, text: str) -> Iterator[SoundBlock]:
        with self._changed:
            sound = self._sound(text, self.rate_wpm)
            self._asked.append(sound)
            self._changed.notify_all()
        try:
            yield from self._followed(sound)
        finally:
            with self._changed:
                self._asked.remove(sound)

    def close(self) -> None:
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        self._voice.close()  # first, so that a driver that hangs lets the thread go
        self._thread.join(5)

    def _sound(self, text: str, wpm: int) -> _Sound:
        """The text as it is kept, now the most recent of all."""
        sound = self._sounds.pop((text, wpm), None) or _Sound(text, wpm)
        self._sounds[text, wpm] = sound
        return sound

    def _followed(self, sound: _Sound) -> Iterator[SoundBlock]:
        """The blocks of a sound, as they come."""
        given = 0
        while True:
            with self._changed:
                while given == len(sound.blocks) and not (sound.done or self._closed):
                    self._changed.wait()
                if given == len(sound.blocks):
                    break
                block = sound.blocks[given]
            given += 1
            yield block
        if sound.error is not None:
            raise sound.error
        if not sound.done:
            raise VoiceError("The voice has been closed.")

    def _work(self) -> None:
        while (sound := self._next()) is not None:
            block, error = None, None
            try:
                self._voice.set_rate(sound.wpm)
                if sound.source is None:
                    sound.source = self._voice.render(sound.text)
                block = next(sound.source, None)
            except Exception as raised:  # whatever it is, it must not end the thread
                error = raised
            with self._changed:
                if block is not None:
                    sound.blocks.append(block)
                else:
                    sound.done, sound.error, sound.source = True, error, None
                    self._forget(sound if error is not None else None)
                self._changed.notify_all()

    def _next(self) -> _Sound | None:
        """Wait for something to render; None when closed."""
        rest_s: float | None = _RESTED_S
        with self._changed:
            while not self._closed:
                for sound in (*reversed(self._asked), *self._wanted):
                    if not sound.done:
                        return sound
                if not self._changed.wait(rest_s):
                    give_back()
                    rest_s = None
        return None

    def _forget(self, failed: _Sound | None) -> None:
        """Let go of what failed, and of the oldest sounds that nobody asks for or prepares."""
        if failed is not None and self._sounds.get((failed.text, failed.wpm)) is failed:
            del self._sounds[failed.text, failed.wpm]
        needed = {*self._asked, *self._wanted}
        seconds = {
            key: sum(block.seconds for block in sound.blocks) for key, sound in self._sounds.items()
        }
        total = sum(seconds.values())
        for key, sound in list(self._sounds.items()):
            if total <= self._kept_s:
                break
            if sound not in needed:
                total -= seconds[key]
                del self._sounds[key]
