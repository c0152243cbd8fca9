"""The session at work, on the silent devices that the program ships."""

import threading

import numpy as np
import pytest

from caller.calling import loop, signals
from caller.calling.commands import Command
from caller.calling.listening import HeardPhrase
from caller.calling.loop import Desk, Trouble, Unknown
from caller.calling.session import Place
from caller.devices.journal import FileJournal
from caller.devices.stand_ins import SilentLoudspeaker, SilentVoice
from caller.errors import PlaceError, SoundError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn

GRID = np.array([[0, 0, 1, 1], [0, 1, 1, 1], [0, 0, 0, 1]], dtype=np.uint8)
PATTERN = Pattern("Three rows", Chart(GRID), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))


class Sitting:
    """A session at the silent desk, with everything it did in order."""

    def __init__(self, tmp_path, voice=None, loudspeaker=None):
        self.voice = voice or SilentVoice()
        self.loudspeaker = loudspeaker or SilentLoudspeaker(keep=True)
        self.journal = FileJournal(tmp_path / "rows.place", PATTERN)
        self.shown: list[str] = []
        self.kept_when_shown: list[int | None] = []
        self.events = loop.Events()
        self.desk = Desk(self.voice, self.loudspeaker, self.journal, self._show, self.events)

    def _show(self, line: str) -> None:
        self.shown.append(line)
        self.kept_when_shown.append(self.journal.read())

    def run(self, *events, kept=None) -> Place:
        for event in events:
            self.events.put(event)
        self.events.put(Command.LEAVE)
        try:
            return loop.run(PATTERN, self.desk, kept)
        finally:
            self.journal.close()


@pytest.fixture
def sitting(tmp_path):
    return Sitting(tmp_path)


def test_rows_are_called_in_order(sitting):
    place = sitting.run(Command.NEXT, Command.NEXT, Command.BACK, Command.REPEAT)
    assert place == Place(2)
    assert [line.split(",")[0] for line in sitting.shown[1:-1]] == [
        "Row 2",
        "Row 3",
        "Row 2",
        "Row 2",
    ]
    assert "Row two, to the left." in sitting.voice.said


def test_the_place_is_kept_before_it_is_shown_or_said(sitting):
    sitting.run(Command.NEXT, Command.NEXT, Command.NEXT, Command.BACK)
    rows = [1, 2, 3, 4, 3, 3]  # opening, three moves on, one back, the goodbye
    assert sitting.kept_when_shown == rows


def test_each_command_is_acknowledged_first(sitting):
    sitting.run(Command.NEXT, Unknown("x"), Command.REPEAT)
    first = [call[0].samples.tolist() for call in sitting.loudspeaker.played]
    heard = signals.heard(sitting.voice.rate).samples.tolist()
    low = signals.not_understood(sitting.voice.rate).samples.tolist()
    assert first[1] == heard  # the opening was 0
    assert first[3] == low
    assert first[5] == heard
    assert len(heard) / sitting.voice.rate < 0.1


def test_what_is_not_understood_is_said(sitting):
    sitting.run(Unknown("x"))
    assert "not understood" in sitting.shown[1]
    assert "press the question mark" in sitting.voice.said[-2]


def test_a_place_that_cannot_be_kept_is_not_taken(sitting, monkeypatch):
    def full(row: int) -> None:
        raise PlaceError("Row 2 could not be kept: the disk is full.")

    write = sitting.journal.write
    monkeypatch.setattr(sitting.journal, "write", lambda row: write(row) if row == 1 else full(row))
    assert sitting.run(Command.NEXT, Command.WHERE) == Place(1)
    assert "the disk is full" in sitting.shown[1]
    assert "This is row 1" in sitting.shown[2]


def test_a_failing_voice_is_told_and_survived(tmp_path):
    sitting = Sitting(tmp_path, voice=SilentVoice(fails_on="Row two"))
    assert sitting.run(Command.NEXT, Command.NEXT) == Place(3)
    # Trouble is put into the queue behind the commands that were there already.
    assert sitting.events.get_nowait() == Trouble("The voice has failed.")


def test_trouble_is_shown_and_sounded(sitting):
    sitting.run(Trouble("The microphone was taken away."))
    assert "The microphone was taken away." in sitting.shown
    trouble = signals.trouble(sitting.voice.rate).samples.tolist()
    assert any(call[0].samples.tolist() == trouble for call in sitting.loudspeaker.played)


def test_a_loudspeaker_gone_at_the_end_does_not_matter(tmp_path):
    sitting = Sitting(tmp_path, loudspeaker=SilentLoudspeaker(fail_wait=True))
    assert sitting.run(Command.NEXT) == Place(2)
    assert "The loudspeaker was taken away." in sitting.shown


def test_signals_differ_and_start_and_end_softly():
    made = [signals.heard(22050), signals.not_understood(22050), signals.trouble(22050)]
    assert len({block.samples.tobytes() for block in made}) == 3
    for block in made:
        assert abs(int(block.samples[0])) < 100
        assert abs(int(block.samples[-1])) < 1500
        assert np.abs(block.samples).max() > 5000


class ScriptedMicrophone:
    def __init__(self, blocks, error=None):
        self._blocks, self._error = blocks, error

    def blocks(self):
        yield from self._blocks
        if self._error:
            raise self._error

    def close(self):
        pass


class ScriptedListener:
    """Hears a command in every block that is not silent."""

    class settings:  # noqa: N801 (stands for an attribute)
        deaf_after_speech_s = 0.3

    def __init__(self):
        self.deaf = 0

    def deafen(self, samples):
        self.deaf += samples

    def feed(self, samples):
        return [HeardPhrase(0.0, "next row", Command.NEXT, "scripted")] if samples.any() else []


class TimedLoudspeaker(SilentLoudspeaker):
    def __init__(self, quiet):
        super().__init__()
        self._quiet = iter(quiet)

    def quiet_for(self):
        return next(self._quiet)


def test_the_ears_are_shut_while_it_speaks_and_a_little_after():
    block = np.ones(512, dtype=np.int16)
    events, listener = loop.Events(), ScriptedListener()
    quiet = [0.0, 0.1, 0.29, 0.3, 5.0]
    loop.listen(ScriptedMicrophone([block] * 5), listener, TimedLoudspeaker(quiet), events)
    assert listener.deaf == 3 * 512
    assert [events.get_nowait() for _ in range(events.qsize())] == [Command.NEXT] * 2


def test_a_microphone_that_is_taken_away_is_trouble():
    events = loop.Events()
    microphone = ScriptedMicrophone([], SoundError("The microphone was taken away."))
    thread = threading.Thread(
        target=loop.listen, args=(microphone, ScriptedListener(), SilentLoudspeaker(), events)
    )
    thread.start()
    thread.join(5)
    assert not thread.is_alive()
    assert events.get_nowait() == Trouble("The microphone was taken away.")
