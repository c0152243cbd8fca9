"""The session at work, on the silent devices that the program ships."""

import queue
import threading
import time

import numpy as np
import pytest
from silent_voice import SilentVoice

from caller.calling import loop
from caller.calling.commands import Command
from caller.calling.desk import Desk
from caller.calling.events import (
    Again,
    Events,
    Moved,
    News,
    NotQuiteHeard,
    Pressed,
    Spoken,
    Trouble,
    Typed,
    Unknown,
)
from caller.calling.listening.into_call import IntoCall
from caller.calling.listening.listener import HeardPhrase, NearlyHeard, listen
from caller.calling.place import Place
from caller.calling.signals import Signal, sound
from caller.calling.words.utterance import sentence
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.errors import PedalError, PlaceError, SoundError, VoiceError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

# Row 1 is one yarn, so that it is called as soon as its end is told.
GRID = np.array([[0, 0, 0, 0], [0, 1, 1, 1], [0, 0, 0, 1]], dtype=np.uint8)
PATTERN = Pattern("Three rows", Chart(GRID), (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")))


class Sitting:
    """A session at the silent desk, with everything it did in order."""

    def __init__(self, tmp_path, voice=None, loudspeaker=None, **chosen):
        self.settings = CallSettings(**chosen)
        self.voice = voice or SilentVoice()
        self.loudspeaker = loudspeaker or SilentLoudspeaker(keep=True)
        self.journal = FileJournal(tmp_path / "rows.place", PATTERN)
        self.shown: list[str] = []
        self.kept_when_shown: list[Place | None] = []
        self.now_s = 0.0
        self.events = Events()
        self.desk = Desk(
            self.voice, self.loudspeaker, self.journal, self._show, self.events, self._clock
        )

    def _clock(self) -> float:
        """Every look at it is a minute later."""
        self.now_s += 60
        return self.now_s

    def _show(self, line: str) -> None:
        self.shown.append(line)
        kept = self.journal.read()
        self.kept_when_shown.append(kept and kept.place)

    def run(self, *events, kept=None, chosen=None) -> Place:
        for event in events:
            self.events.put(event)
        self.events.put(Command.LEAVE)
        try:
            return loop.run(PATTERN, self.desk, kept, self.settings, chosen)
        finally:
            self.journal.close()

    def sounded(self, signal: Signal) -> int:
        """How often this signal came out of the loudspeaker."""
        wanted = sound(signal, self.voice.rate).samples.tobytes()
        return sum(
            block.samples.tobytes() == wanted for call in self.loudspeaker.played for block in call
        )


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
    assert "Row number two, going left." in sitting.voice.said


def test_the_place_is_kept_before_it_is_shown_or_said(sitting):
    sitting.run(Command.NEXT, Command.NEXT, Command.NEXT, Command.BACK)
    rows = [1, 2, 3, 4, 3, 3]  # opening, three moves on, one back, the goodbye
    assert sitting.kept_when_shown == list(map(Place, rows))


def test_the_piece_is_kept_too(tmp_path):
    sitting = Sitting(tmp_path, runs_at_once=1)
    assert sitting.run(Command.NEXT, Command.NEXT) == Place(2, 1)
    assert sitting.kept_when_shown == [Place(1), Place(2), Place(2, 1), Place(2, 1)]
    again = Sitting(tmp_path, runs_at_once=1)
    assert again.run(kept=again.journal.read().place) == Place(2, 1)
    assert again.shown[0] == (
        "Carrying on at row 2 of 3. Row 2, going left: From yarn 2 of 2, at L2. "
        "navy waiting at R2, only L2. Pass the carriage."
    )


def test_a_filled_bobbin_is_known_on_another_evening(tmp_path):
    sitting = Sitting(tmp_path)
    sitting.run(Command.NEXT, Spoken(Command.BOBBIN, "L1"), Command.NEXT)
    again = Sitting(tmp_path)
    (filled,) = again.journal.read() and again.journal.refills()
    assert (filled.row, filled.needle) == (2, PATTERN.bed.position("L1"))
    again.run()


def test_it_can_begin_at_a_row(sitting):
    assert sitting.run(chosen=3) == Place(3)
    assert sitting.shown[0].startswith("Starting at row 3 of 3. Row 3, going right")


def test_a_chosen_row_names_the_place_that_was_kept(sitting):
    assert sitting.run(kept=Place(2), chosen=1) == Place(1)
    assert sitting.shown[0].startswith(
        "Starting at row 1 of 3. Your place was row 2. Before row 1,"
    )


def test_each_command_is_acknowledged_first(sitting):
    sitting.run(Command.NEXT, Unknown("x"), Command.REPEAT)
    first = [call[0].samples.tolist() for call in sitting.loudspeaker.played]
    heard = sound(Signal.HEARD, sitting.voice.rate).samples.tolist()
    low = sound(Signal.NOT_UNDERSTOOD, sitting.voice.rate).samples.tolist()
    assert first[1] == heard  # the opening was 0
    assert first[3] == low
    assert first[5] == heard
    assert len(heard) / sitting.voice.rate < 0.1


def test_signals_can_be_turned_off(tmp_path):
    sitting = Sitting(tmp_path, signals="off")
    sitting.run(Command.NEXT, Unknown("x"), Trouble(SoundError("The microphone was taken away.")))
    assert not any(sitting.sounded(signal) for signal in Signal)
    assert "The microphone was taken away." in sitting.voice.said, "it is said all the same"


def test_the_carriage_is_sounded_where_wanted(tmp_path):
    sitting = Sitting(tmp_path, signals="all", runs_at_once=1)
    sitting.run(*[Command.NEXT] * 4)
    assert sitting.sounded(Signal.CARRIAGE_RIGHT) == 2  # rows 1 and 3
    assert sitting.sounded(Signal.CARRIAGE_LEFT) == 1
    assert sitting.sounded(Signal.ROW_FINISHED) == 2


def test_keys_and_lines(sitting):
    place = sitting.run(Pressed("space"), Typed("next\n"), Pressed("x"), Typed("go back"))
    assert place == Place(2)
    assert sum("not understood" in line for line in sitting.shown) == 1


def test_a_needle_by_keys_and_by_line(sitting):
    sitting.run(*map(Pressed, ["n", "l", "2", "enter"]), Typed("needle r1"))
    assert sitting.shown[-3:-1] == ["In row 1, L2 is navy.", "In row 1, R1 is navy."]


def test_the_rate_is_changed_and_said_at_the_new_rate(tmp_path):
    sitting = Sitting(tmp_path, voice=SilentVoice(rate_wpm=200))
    sitting.run(Command.FASTER, Command.FASTER, Command.SLOWER, Command.NEXT)
    assert sitting.voice.rate_wpm == 220
    assert "Two hundred and twenty words a minute." in sitting.voice.said

    def seconds(call) -> float:
        return sum(block.seconds for block in call)

    # Between them in `played` lie the signals: opening, heard, 220, heard, 240, heard, 220.
    spoken = sitting.loudspeaker.played[2:7:2]
    assert seconds(spoken[0]) > seconds(spoken[1])
    assert seconds(spoken[0]) == pytest.approx(seconds(spoken[2]), abs=0.01)


def test_a_row_asked_for_twice_is_said_slower_and_the_next_one_not(sitting):
    sitting.run(Command.REPEAT, Command.REPEAT, Command.REPEAT, Command.WHERE)
    first, second, third = (
        sum(block.seconds for block in sitting.loudspeaker.played[at]) for at in (2, 4, 6)
    )
    assert second > 1.2 * first
    assert third == pytest.approx(second)
    assert sitting.voice.rate_wpm == 160


def test_the_clock_is_handed_to_the_session(sitting):
    moves = [Command.NEXT] * 3
    sitting.run(*moves, Command.BACK, Command.REMAINING)
    assert sitting.shown[-2] == "This is the last row. About 1 minute."


def test_what_is_not_understood_is_said(sitting):
    sitting.run(Unknown("x"))
    assert "not understood" in sitting.shown[1]
    assert "press the question mark" in sitting.voice.said[-2]


@pytest.fixture
def full_disk(sitting, monkeypatch):
    """A disk that takes nothing more after the beginning, until room is made."""
    write, room = sitting.journal.write, threading.Event()
    tried = queue.SimpleQueue()

    def full(place, *_):
        tried.put(place)
        if place != Place(1) and not room.is_set():
            raise PlaceError("Row 2 could not be kept: the disk is full.")
        write(place)

    monkeypatch.setattr(sitting.journal, "write", full)
    monkeypatch.setattr("caller.calling.sitting.RETRY_S", 0.01)
    return room, tried


def test_a_place_that_cannot_be_kept_is_not_taken(sitting, full_disk):
    assert sitting.run(Command.NEXT, Command.WHERE) == Place(1)
    assert sitting.shown[1] == "Row 2 could not be kept: the disk is full. I keep trying."
    assert "This is row 1" in sitting.shown[2]


def test_a_note_that_could_not_be_kept_before_the_next_row_is_told_of(sitting):
    again = [Again(Place(1), Typed("mark loose edge")), Again(Place(1), Command.NEXT)]
    assert sitting.run(Command.NEXT, *again) == Place(2)
    told = "What you noted at row 1 was not kept; note it there again."
    assert sitting.shown[2:-1] == [told], "a move that was meant for row 1 is no longer meant"


def test_what_could_not_be_kept_is_tried_again_and_called_once_it_is(sitting, full_disk):
    room, tried = full_disk
    sitting.events.put(Command.NEXT)
    ended = []
    session = threading.Thread(
        target=lambda: ended.append(loop.run(PATTERN, sitting.desk, None)), daemon=True
    )
    session.start()
    places = [tried.get(timeout=20) for _ in range(5)]
    assert places == [Place(1), *[Place(2)] * 4]
    assert len(sitting.shown) == 2, "it is told once, and then tried quietly"
    room.set()
    for _ in range(2000):
        if len(sitting.shown) > 2:
            break
        time.sleep(0.01)
    sitting.events.put(Command.LEAVE)
    session.join(20)
    sitting.journal.close()
    assert ended == [Place(2)]
    assert sitting.shown[2].startswith("Row 2, going left")
    assert sitting.kept_when_shown[1:3] == [Place(1), Place(2)]


def test_a_failing_voice_is_told_and_survived(tmp_path):
    sitting = Sitting(tmp_path, voice=SilentVoice(fails_on="Row number two"))
    assert sitting.run(Command.NEXT, Command.NEXT) == Place(3)
    # Trouble is put into the queue behind the commands that were there already.
    assert sitting.events.get_nowait() == Trouble(VoiceError("The voice has failed."), aloud=False)


def test_trouble_is_shown_sounded_and_said(sitting):
    sitting.run(Trouble(SoundError("The microphone was taken away.")))
    assert "The microphone was taken away." in sitting.shown
    assert "The microphone was taken away." in sitting.voice.said
    assert sitting.sounded(Signal.TROUBLE) == 1


class CountsCuts(SilentLoudspeaker):
    segments = 0

    def play(self, blocks):
        self.segments += 1
        super().play(blocks)


def test_news_waits_for_what_is_being_said(tmp_path):
    sitting = Sitting(tmp_path, loudspeaker=CountsCuts(keep=True))
    sitting.run(News("The microphone is back."))
    assert "The microphone is back." in sitting.shown
    assert "The microphone is back." in sitting.voice.said
    assert sitting.sounded(Signal.TROUBLE) == 0
    assert sitting.loudspeaker.segments == 1  # the leaving alone


def test_what_was_nearly_heard_gets_a_soft_signal_and_no_words(tmp_path):
    sitting = Sitting(tmp_path, loudspeaker=CountsCuts(keep=True))
    assert sitting.run(NotQuiteHeard()) == Place(1)
    assert sitting.sounded(Signal.NOT_UNDERSTOOD) == 1
    assert "That was not understood" not in " ".join(sitting.shown)
    assert sitting.loudspeaker.segments == 1


def test_trouble_does_not_cut_the_row(tmp_path):
    sitting = Sitting(tmp_path, loudspeaker=CountsCuts(keep=True))
    sitting.run(Trouble(PedalError("There is no pedal.")))
    assert "There is no pedal." in sitting.voice.said
    assert sitting.sounded(Signal.TROUBLE) == 1
    assert sitting.loudspeaker.segments == 1  # the leaving alone


def test_a_voice_that_failed_is_not_asked_to_say_so(sitting):
    sitting.run(Trouble(VoiceError("The voice has failed."), aloud=False))
    assert "The voice has failed." in sitting.shown
    assert "The voice has failed." not in sitting.voice.said
    assert sitting.sounded(Signal.TROUBLE) == 1


def test_a_loudspeaker_gone_at_the_end_does_not_matter(tmp_path):
    sitting = Sitting(tmp_path, loudspeaker=SilentLoudspeaker(fail_wait=True))
    assert sitting.run(Command.NEXT) == Place(2)
    assert "The loudspeaker was taken away." in sitting.shown


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
        own_tail_s = 0.1

    def __init__(self):
        self.deaf = self.overheard = 0

    def deafen(self, samples):
        self.deaf += samples

    def overhear(self, samples):
        self.overheard += len(samples)

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
    events, listener = Events(), ScriptedListener()
    quiet = [0.0, 0.09, 0.29, 0.3, 5.0]
    listen(ScriptedMicrophone([block] * 5), listener, TimedLoudspeaker(quiet), events)
    assert listener.deaf == 2 * 512
    assert listener.overheard == 512, "the beginning of a word that goes on is kept"
    assert [events.get_nowait() for _ in range(events.qsize())] == [Spoken(Command.NEXT)] * 2


def test_a_command_said_into_the_call_gets_a_note_and_is_not_obeyed():
    block, asked = np.ones(512, dtype=np.int16), []

    def noticed(samples, speaking):
        asked.append((len(samples), speaking))
        return speaking and len(asked) == 2

    events, quiet = Events(), [0.0, 0.0, 0.2, 5.0]
    microphone = ScriptedMicrophone([block] * 4)
    listen(microphone, ScriptedListener(), TimedLoudspeaker(quiet), events, None, noticed)
    assert asked == [(512, True)] * 3 + [(512, False)], "it hears all, to know the echo"
    told = [events.get_nowait() for _ in range(events.qsize())]
    assert told == [NotQuiteHeard(), Spoken(Command.NEXT)]


def test_into_the_call_only_a_whole_command_is_noticed():
    class Heard(ScriptedListener):
        def feed(self, samples):
            near = [NearlyHeard(0.0)] if samples[0] == 2 else []
            return near if near else super().feed(samples)

    class Clean:
        def clean(self, heard):
            return heard

    listener = Heard()
    into = IntoCall(Clean(), listener)
    block = np.ones(512, dtype=np.int16)
    assert into.feed(block, True)
    assert not into.feed(2 * block, True), "not what is only near"
    assert not into.feed(0 * block, True)
    assert not into.feed(block, False)
    assert listener.deaf == 512, "between calls the other one listens"


def test_a_microphone_that_is_taken_away_is_trouble():
    events = Events()
    microphone = ScriptedMicrophone([], SoundError("The microphone was taken away."))
    thread = threading.Thread(
        target=listen, args=(microphone, ScriptedListener(), SilentLoudspeaker(), events)
    )
    thread.start()
    thread.join(5)
    assert not thread.is_alive()
    assert events.get_nowait() == Trouble(SoundError("The microphone was taken away."))


class Follower(Sitting):
    """Leaves when a line with these words is shown, or after five seconds."""

    def follow(self, words: str, *events) -> list[str]:
        self.leave_at = words
        for event in events:
            self.events.put(event)
        timer = threading.Timer(5, self.events.put, [Command.LEAVE])
        timer.start()
        loop.run(PATTERN, self.desk, Place(1), self.settings)
        timer.cancel()
        self.journal.close()
        return self.shown

    def _show(self, line: str) -> None:
        super()._show(line)
        if self.leave_at in line:
            self.events.put(Command.LEAVE)


def test_the_rest_of_a_long_row_follows_by_itself(tmp_path):
    follower = Follower(tmp_path, runs_at_once=1, follow=True)
    shown = follower.follow("Pass the carriage", Command.NEXT)
    assert [line.split(":")[0] for line in shown[1:3]] == [
        "Row 2, going left",
        "navy waiting at R2, only L2. Pass the carriage.",
    ]
    assert follower.kept_when_shown[2] == Place(2, 1), "it is kept as every place is"
    assert follower.sounded(Signal.HEARD) == 2, "next and leave; nothing was heard in between"


@pytest.mark.parametrize("word", [Command.WHERE, Command.REPEAT, Unknown("x")])
def test_a_word_or_a_press_stops_what_follows(tmp_path, word):
    follower = Follower(tmp_path, runs_at_once=1, follow=True)
    shown = follower.follow("Pass the carriage", Command.NEXT, word)
    assert not any("Pass the carriage" in line for line in shown)
    assert "Stopping at row 2" in shown[-1]


def test_nothing_follows_unless_it_is_wanted_nor_after_a_row(tmp_path):
    assert (
        "Stopping at row 2" in Follower(tmp_path, runs_at_once=1).follow("Pass", Command.NEXT)[-1]
    )
    rows = Follower(tmp_path, follow=True).follow("Row 3", Command.NEXT)
    assert not any("Row 3" in line for line in rows)


def test_what_comes_while_a_question_waits_is_told_and_the_question_stays(sitting):
    """A device that fails, news, a word nearly heard, another session's move: no answer."""
    asked = sentence("Go on at row two?")
    for event in (
        Trouble(PedalError("The pedal does not answer.", "Go on by keys.")),
        News("A microphone is there again."),
        NotQuiteHeard(),
        Moved(Place(2)),
        Typed("what"),
        Command.REPEAT,
        Command.YES,
    ):
        sitting.events.put(event)
    assert loop.ask(PATTERN, sitting.desk, asked, sitting.settings) is Command.YES
    assert sitting.shown == [
        "Go on at row two?",
        "The pedal does not answer. Go on by keys.",
        "A microphone is there again.",
        "Go on at row two?",
        "Go on at row two?",
    ]
    assert sitting.sounded(Signal.NOT_UNDERSTOOD) == 2
    assert sitting.sounded(Signal.HEARD) == 2


@pytest.mark.parametrize(
    ("typed", "order"), [("b", Command.BACK), ("leave", Command.LEAVE), ("y", Command.YES)]
)
def test_a_question_takes_a_no_and_leave(sitting, typed, order):
    sitting.events.put(Typed(typed))
    asked = sentence("Go on at row two?")
    assert loop.ask(PATTERN, sitting.desk, asked, sitting.settings) is order
