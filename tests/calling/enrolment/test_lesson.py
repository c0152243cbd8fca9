"""The lesson as a state machine: what is asked, what is kept, and that it always ends."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.commands import PHRASES, WAYS, Command
from caller.calling.enrolment import lesson as enrolment
from caller.calling.enrolment.lesson import EnrolmentLesson, EnrolmentReply, LearnerAnswer
from caller.calling.enrolment.takes import ENOUGH, Finding, Take
from caller.calling.listening.blocks import RATE
from caller.calling.signals import Signal
from caller.calling.words.utterance import kept_apart, said, shown
from caller.errors import SettingError

MAIN = (Command.NEXT, Command.REPEAT, Command.BACK)


def take(pitch: float, level: float = 4000) -> Take:
    """A note: its pitch stands for the words that are said."""
    room, talk = RATE // 4, RATE // 2
    sound = np.random.default_rng(1).normal(0, 3, talk + 2 * room)
    sound[room : room + talk] += level * np.sin(2 * np.pi * pitch * np.arange(talk) / RATE)
    return Take(sound.astype(np.int16), room, room + talk)


class ByPitch:
    """A stand-in for the ear: a semitone apart is as far as two takes may be."""

    def distance(self, one, other):
        return abs(12 * np.log2(pitch_of(one) / pitch_of(other)))


def pitch_of(samples) -> float:
    return float(np.argmax(np.abs(np.fft.rfft(samples[4000:12000]))) * RATE / 8000)


WORDS = {Command.NEXT: 300.0, Command.REPEAT: 450.0, Command.BACK: 700.0, Command.WHERE: 1100.0}


PHRASE = 2000.0
"""The note that stands for the phrase of going back, which is heard from anyone."""


def as_phrase(samples) -> Command | None:
    return Command.BACK if pitch_of(samples) == PHRASE else None


def hear(reply: EnrolmentReply, pitch: float, level: float = 4000) -> EnrolmentReply:
    return enrolment.heard(reply.lesson, take(pitch, level), ByPitch(), as_phrase)


def taught_all(reply: EnrolmentReply) -> EnrolmentReply:
    """The lesson after every command has been said as often as it was asked for."""
    while not reply.lesson.trying:
        reply = hear(reply, WORDS[reply.lesson.command])
    return reply


def test_a_whole_lesson_as_it_is_heard():
    reply = enrolment.begin(MAIN[:2], 3, {})
    told, kept = [said(reply.say)], []
    while not reply.lesson.trying:
        reply = hear(reply, WORDS[reply.lesson.command])
        assert reply.signal is Signal.HEARD
        told.append(said(reply.say))
        kept.append((reply.keep[0], len(reply.keep[1])))
    for command in (None, Command.REPEAT, Command.REPEAT, Command.NEXT):
        assert not reply.over
        reply = enrolment.tried(reply.lesson, command)
        told.append(said(reply.say))
    assert reply.over
    assert told[0].endswith("Say your words for: hear what follows. Take one of three.")
    assert told[1:] == [
        "Take two.",
        "Take three.",
        "Say your words for: hear it again. Take one of three.",
        "Take two.",
        "Take three.",
        "Now say any of them; wait when you are done.",
        "That was not understood. Say it again, or press Q to end.",
        "Understood: hear it again.",
        "Understood: hear it again.",
        "Understood: hear what follows. All of them were understood. Your words are kept.",
    ]
    assert kept == [(command, number) for command in MAIN[:2] for number in (1, 2, 3)]


def test_each_question_names_its_command():
    reply = enrolment.begin(tuple(Command), 3, {})
    does = {way.command: way.does for way in WAYS}
    for command in Command:
        assert said(reply.say).endswith(f"Say your words for: {does[command]}. Take one of three.")
        reply = enrolment.pressed(reply.lesson, LearnerAnswer.SKIP)


def test_a_refused_take_is_told_and_asked_for_again():
    reply = hear(enrolment.begin(MAIN, 3, {}), 300)
    refused = hear(reply, 300, level=20)
    assert refused.lesson.fresh == reply.lesson.fresh
    assert refused.signal is Signal.NOT_UNDERSTOOD
    assert refused.keep is None
    finding = Finding.QUIET
    assert said(refused.say) == f"{finding.sentence} {finding.remedy} Take two."


def test_what_the_ear_could_not_know_again_is_refused():
    class Deaf:
        def distance(self, _one, _other):
            return float("inf")

    reply = enrolment.heard(enrolment.begin(MAIN, 3, {}).lesson, take(300), Deaf(), as_phrase)
    assert reply.keep is None
    assert said(reply.say).startswith("No words were heard.")


def test_the_words_of_another_command_are_refused():
    reply = hear(hear(hear(enrolment.begin(MAIN, 3, {}), 300), 300), 300)
    refused = hear(reply, 305)
    assert refused.lesson.fresh == ()
    assert refused.keep is None
    assert "That sounded like your words for: hear what follows." in said(refused.say)
    assert said(refused.say).endswith("Say your words for: hear it again. Take one of three.")
    assert hear(refused, 450).keep is not None


def test_one_odd_take_among_three_is_replaced_whichever_it_is():
    for odd in range(3):
        reply = enrolment.begin(MAIN, 3, {})
        for number in range(3):
            reply = hear(reply, 900 if number == odd else 300 + number)
        assert reply.keep is None
        assert reply.lesson.command is Command.NEXT
        assert said(reply.say) == (
            "These sounded unlike one another. Say the same words each time. One more take."
        )
        reply = hear(reply, 303)
        assert reply.keep[0] is Command.NEXT
        assert len(reply.keep[1]) == 3
        assert max(map(pitch_of, reply.keep[1])) < 310
        assert reply.lesson.command is Command.REPEAT


def test_a_knitter_whose_takes_always_differ_is_not_kept_for_ever():
    reply = enrolment.begin(MAIN, 3, {})
    pitches = iter([300, 400, 550, 750, 1000, 1400, 1900])
    heard = 0
    while reply.lesson.command is Command.NEXT:
        reply, heard = hear(reply, next(pitches)), heard + 1
    assert heard == 3 + enrolment.MOST_EXTRA
    assert len(reply.keep[1]) == 3
    assert "Your takes still differ" in said(reply.say)


def test_back_takes_the_last_take_away():
    reply = hear(hear(enrolment.begin(MAIN, 3, {}), 300), 301)
    reply = enrolment.pressed(reply.lesson, LearnerAnswer.BACK)
    assert len(reply.lesson.fresh) == 1
    assert reply.keep == (Command.NEXT, reply.lesson.fresh)
    assert said(reply.say).endswith("Take two of three.")
    reply = enrolment.pressed(
        enrolment.pressed(reply.lesson, LearnerAnswer.BACK).lesson, LearnerAnswer.BACK
    )
    assert reply.signal is Signal.NOT_UNDERSTOOD
    assert "This is the first take" in said(reply.say)


def test_back_at_the_first_take_goes_to_the_command_before():
    reply = hear(hear(hear(enrolment.begin(MAIN, 3, {}), 300), 300), 300)
    reply = enrolment.pressed(reply.lesson, LearnerAnswer.BACK)
    assert reply.lesson.command is Command.NEXT
    assert (
        said(reply.say) == "Taken away. Say your words for: hear what follows. Take three of three."
    )
    assert reply.keep is None, "three are kept until there are three others"
    reply = hear(reply, 302)
    assert pitch_of(reply.keep[1][2]) == 302
    assert reply.lesson.command is Command.REPEAT


def test_back_from_the_trial():
    reply = taught_all(enrolment.begin(MAIN, 3, {}))
    reply = enrolment.tried(reply.lesson, Command.NEXT)
    reply = enrolment.pressed(reply.lesson, LearnerAnswer.BACK)
    assert reply.lesson.command is Command.BACK
    reply = hear(reply, 700)
    assert reply.lesson.trying
    assert reply.lesson.to_try == set(MAIN), "all are to be tried, now that one is new"


def test_a_command_may_be_left_out_and_what_it_had_stays():
    reply = hear(enrolment.begin(MAIN, 3, {}), 300)
    reply = enrolment.pressed(reply.lesson, LearnerAnswer.SKIP)
    assert reply.lesson.command is Command.REPEAT
    assert len(reply.lesson.taught[Command.NEXT]) == 1
    reply = taught_all(reply)
    assert reply.lesson.to_try == {Command.REPEAT, Command.BACK}


def test_leaving_everything_out_ends_the_lesson():
    reply = enrolment.begin(MAIN, 3, {})
    for _ in MAIN:
        assert not reply.over
        reply = enrolment.pressed(reply.lesson, LearnerAnswer.SKIP)
    assert reply.over


def test_a_lesson_left_half_way_goes_on_another_day():
    reply = enrolment.begin(MAIN, 3, {})
    for _ in range(5):
        reply = hear(reply, WORDS[reply.lesson.command])
    store = dict(reply.lesson.taught)
    end = enrolment.pressed(reply.lesson, LearnerAnswer.LEAVE)
    assert end.over
    assert "Taught: one; not yet taught: two." in said(end.say)
    again = enrolment.begin(MAIN, 3, store)
    assert again.lesson.asked == (Command.REPEAT, Command.BACK)
    assert said(again.say).endswith("Say your words for: hear it again. Take three of three.")
    again = hear(again, 450)
    assert len(again.keep[1]) == 3


def test_what_is_taught_is_only_asked_for_when_it_is_named():
    store = {command: tuple(take(WORDS[command]).samples for _ in range(3)) for command in MAIN}
    reply = enrolment.begin(MAIN, 3, store)
    assert reply.lesson.trying
    assert said(reply.say) == (
        "All of this is taught already. Now say any of them; wait when you are done."
    )
    anew = enrolment.begin(MAIN[:1], 3, store, anew=True)
    assert anew.lesson.command is Command.NEXT
    for _ in range(2):
        anew = hear(anew, 900)
        assert anew.keep is None, "the old takes stay until the new ones are all there"
    anew = hear(anew, 900)
    assert [round(pitch_of(one)) for one in anew.keep[1]] == [900] * 3


@pytest.mark.parametrize("count", [-1, 0, 2, 10, 1000])
def test_too_few_or_too_many_takes_are_refused(count):
    with pytest.raises(SettingError, match="from 3 to 9"):
        enrolment.begin(MAIN, count, {})


@pytest.mark.parametrize(
    ("text", "line", "answer"),
    [
        ("r", False, LearnerAnswer.AGAIN),
        ("w", False, LearnerAnswer.AGAIN),
        ("b", False, LearnerAnswer.BACK),
        ("left", False, LearnerAnswer.BACK),
        ("space", False, LearnerAnswer.SKIP),
        ("pagedown", False, LearnerAnswer.SKIP),
        ("Q", False, LearnerAnswer.LEAVE),
        ("control-c", False, LearnerAnswer.LEAVE),
        ("?", False, LearnerAnswer.KEYS),
        ("p", False, LearnerAnswer.PLAY),
        ("play\n", True, LearnerAnswer.PLAY),
        ("x", False, None),
        ("s", False, None),
        ("again\n", True, LearnerAnswer.AGAIN),
        ("Skip", True, LearnerAnswer.SKIP),
        ("\n", True, LearnerAnswer.SKIP),
        ("leave\n", True, LearnerAnswer.LEAVE),
        ("back", True, LearnerAnswer.BACK),
        ("b", True, LearnerAnswer.BACK),
        ("what", True, None),
    ],
)
def test_keys_and_lines(text, line, answer):
    assert enrolment.answer_of(text, line) is answer


def test_the_last_take_is_played_back_and_the_question_stays():
    reply = enrolment.begin(MAIN, 3, {})
    none = enrolment.pressed(reply.lesson, LearnerAnswer.PLAY)
    assert none.play is None
    assert said(none.say).startswith("There is no take to play yet. Say your words for:")
    for count in (1, 2, 3):
        reply = hear(reply, 300 + count)
        played = enrolment.pressed(reply.lesson, LearnerAnswer.PLAY)
        assert played.lesson == reply.lesson
        assert played.keep is None
        assert played.play is reply.keep[1][-1], "past the third it is of the command before"


def test_a_key_without_a_meaning_is_told():
    reply = enrolment.begin(MAIN, 3, {})
    told = enrolment.pressed(reply.lesson, None)
    assert told.signal is Signal.NOT_UNDERSTOOD
    assert said(told.say).startswith("That was not understood. R asks once more")
    assert told.lesson == reply.lesson


def test_the_phrase_of_another_command_is_refused_and_that_of_the_same_is_taught():
    reply = hear(enrolment.begin((Command.NEXT, Command.BACK), 3, {}), 300)
    refused = hear(reply, PHRASE)
    assert (refused.keep, refused.lesson.fresh) == (None, reply.lesson.fresh)
    assert refused.signal is Signal.NOT_UNDERSTOOD
    assert said(refused.say) == (
        "That is already understood, without teaching, as: hear what came before. Choose words "
        "that sound quite unlike it. Say your words for: hear what follows. Take two of three."
    )
    reply = hear(hear(refused, 300), 300)
    assert reply.lesson.command is Command.BACK
    assert hear(reply, PHRASE).keep is not None


def test_silence_asks_again_and_then_ends():
    reply = enrolment.begin(MAIN, 3, {})
    for _ in range(enrolment.MOST_UNANSWERED - 1):
        reply = enrolment.silent(reply.lesson)
        assert said(reply.say).startswith("No words were heard. Speak after the tone, near")
        assert said(reply.say).endswith("Take one of three.")
        assert not reply.over
    assert "it may be muted" in said(enrolment.silent(hear(reply, 300).lesson, dead=True).say)
    assert enrolment.silent(reply.lesson).over
    assert not enrolment.silent(hear(reply, 300).lesson).over, "an answer begins the count anew"


steps = st.lists(
    st.one_of(
        st.sampled_from([300.0, 302.0, 450.0, 455.0, 700.0, 1100.0]),
        st.sampled_from([*LearnerAnswer, None]),
        st.sampled_from([*WORDS, "silence", "nothing"]),
    ),
    max_size=40,
)


@settings(max_examples=100, deadline=None)
@given(steps, st.integers(3, 4), st.booleans())
def test_whatever_happens_nothing_that_was_taught_is_lost(steps, count, anew):
    """A stand-in for the disk takes what is kept; a command on it is never taught less."""
    disk = {Command.NEXT: tuple(take(300).samples for _ in range(ENOUGH))}
    reply = enrolment.begin(MAIN, count, disk, anew)
    for step in steps:
        if reply.over:
            break
        lesson = reply.lesson
        reply = happened(lesson, step)
        whole = {command for command, takes in disk.items() if len(takes) >= ENOUGH}
        if reply.keep is not None:
            disk[reply.keep[0]] = reply.keep[1]
        # Only the knitter's own B takes a take away, from what was not replacing another.
        still = {command for command, takes in disk.items() if len(takes) >= ENOUGH}
        assert whole <= still or (step is LearnerAnswer.BACK and not lesson.replacing)
        assert {**disk} == {**reply.lesson.taught}
        assert said(reply.say)
        assert all(len(takes) <= max(count, ENOUGH) for takes in disk.values())


def happened(lesson: EnrolmentLesson, step) -> EnrolmentReply:
    match step:
        case float():
            if lesson.trying:
                return enrolment.tried(lesson, None)
            return enrolment.heard(lesson, take(step), ByPitch(), as_phrase)
        case Command():
            return enrolment.tried(lesson, step) if lesson.trying else enrolment.silent(lesson)
        case "silence":
            return enrolment.silent(lesson)
        case "nothing":
            return enrolment.pressed(lesson, LearnerAnswer.AGAIN)
        case _:
            return enrolment.pressed(lesson, step)


def test_no_command_phrase_is_ever_in_the_callers_mouth():
    """Every sentence of a lesson; the silence that keeps a phrase apart is a clause's end."""
    taught = taught_all(enrolment.begin(MAIN, 3, {}))
    first = enrolment.begin(MAIN, 3, {}).lesson
    replies = [
        enrolment.begin(tuple(Command), 3, {}),
        taught,
        hear(enrolment.begin((Command.NEXT,), 3, {}), PHRASE),
        *(enrolment.pressed(first, answer) for answer in (*LearnerAnswer, None)),
        *(enrolment.tried(taught.lesson, command) for command in (*Command, None)),
        enrolment.silent(first),
        enrolment.silent(first, dead=True),
    ]
    for reply in replies:
        for clause in kept_apart(reply.say):
            words = clause.said.casefold()
            assert not any(phrase in words for phrase in PHRASES)
        assert shown(reply.say)
