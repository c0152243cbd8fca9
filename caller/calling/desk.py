"""What a session works with: its voice and loudspeaker, its journal, its screen, and its events."""

import time
from collections.abc import Callable
from dataclasses import dataclass

from caller.calling.events import Events
from caller.calling.ports import Journal, Loudspeaker, Voice
from caller.calling.state import Told


def _nobody(_: Told) -> None:
    """Where no page follows."""


@dataclass(frozen=True)
class Desk:
    """All that a session works with. `show` puts a line on the screen; `clock` gives seconds.

    `watch` is given everything that is told, on the session's thread, and returns at once.
    """

    voice: Voice
    loudspeaker: Loudspeaker
    journal: Journal
    show: Callable[[str], None]
    events: Events
    clock: Callable[[], float] = time.monotonic
    watch: Callable[[Told], None] = _nobody
