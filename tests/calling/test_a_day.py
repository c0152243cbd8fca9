"""A session of 24 hours by its own clock: nothing grows, nothing drifts, each rest is told of."""

import gc
import random
import tracemalloc

from silent_voice import SilentVoice
from small_pieces import STEPS

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import News, NotQuiteHeard
from caller.calling.place import Place
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.settings import CallSettings

HOURS, REST_MINUTES = 24, 45
MOST_GROWN = 100_000
"""Bytes in the second half; half a kilobyte a command would be more."""
_OF_THE_SESSION = [
    tracemalloc.Filter(True, f"*/caller/{folder}/*") for folder in ("calling", "devices/storage")
]
"""Where they are counted: a thread that another test left behind may take memory meanwhile."""


class Day:
    """Gives a command a minute or so, to and fro over the rows, until the day is over."""

    def __init__(self) -> None:
        self.chance, self.now_s, self.rests, self.row, self.moves = random.Random(4), 0.0, 0, 1, 0
        self.grown = 0

    def show(self, line: str) -> None:
        self.rests += "Rest your hands and shoulders" in line

    def put(self, event: object) -> None:
        raise AssertionError(event)

    def get(self, timeout: float | None = None) -> object:  # noqa: ARG002 (the queue's)
        before_s = self.now_s
        self.now_s += self.chance.uniform(100, 300)
        if before_s < HOURS * 1800 <= self.now_s:
            gc.collect()
            tracemalloc.start()
        if self.now_s >= HOURS * 3600:
            gc.collect()
            snapshot = tracemalloc.take_snapshot().filter_traces(_OF_THE_SESSION)
            self.grown = sum(one.size for one in snapshot.statistics("filename"))
            return Command.LEAVE
        if self.chance.random() < 0.2:
            return self.chance.choice(
                (Command.WHERE, News("The microphone is back."), NotQuiteHeard())
            )
        self.moves += 1
        ahead = self.row == 1 or (self.row < 8 and self.chance.random() < 0.6)
        self.row += 1 if ahead else -1
        return Command.NEXT if ahead else Command.BACK


def test_a_day_at_the_machine(tmp_path):
    day, journal = Day(), FileJournal(tmp_path / "steps.place", STEPS, tmp_path / "h.sqlite")
    desk = Desk(
        *(SilentVoice(), SilentLoudspeaker(), journal, day.show, day), clock=lambda: day.now_s
    )
    try:
        end = loop.run(
            STEPS, desk, Place(1), CallSettings(rest_minutes=REST_MINUTES, runs_at_once=0)
        )
        kept = journal.read()
    finally:
        journal.close()
        tracemalloc.stop()
    assert day.moves > 300
    assert end == kept.place == Place(day.row)
    assert day.rests == (HOURS * 60 - 1) // REST_MINUTES
    assert day.grown < MOST_GROWN
