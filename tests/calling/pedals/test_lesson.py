"""A pedal's lesson as a state machine: what is said, and that nothing is kept half."""

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.commands import WAYS, Command
from caller.calling.pedals import lesson as pedal_lesson
from caller.calling.pedals.lesson import (
    KINDS,
    MOST_UNANSWERED,
    Bound,
    LearnedPedal,
    PedalReply,
    Stage,
)
from caller.calling.signals import Signal
from caller.calling.words.keys import key_words
from caller.calling.words.utterance import said, shown
from caller.settings import PedalKey

GOLDEN = Path(__file__).parents[2] / "golden" / "pedal.lesson.txt"

PAGE_DOWN = LearnedPedal("system", "", "pagedown")
SUSTAIN = LearnedPedal("midi", "Stage Piano", "sustain")
SWITCH = LearnedPedal("device", "Foot Switch", "b")
OFFERED = {one.value for one in Command} - {"needle", "happened", "remark"}  # these need more
PEDALS = (PAGE_DOWN, SUSTAIN, SWITCH, LearnedPedal("system", "", "f13"))

found, pressed = pedal_lesson.found, pedal_lesson.pressed


def learned(reply: PedalReply, pedal: LearnedPedal = PAGE_DOWN) -> PedalReply:
    """The lesson when the pedal has been pressed twice."""
    return found(found(reply.lesson, pedal).lesson, pedal)


# What can happen in a lesson, by its name in the golden file: while the pedal is looked for, when
# it is found, and at all times.
LOOKING = {
    "page down is pressed": lambda lesson: found(lesson, PAGE_DOWN),
    "the sustain pedal is pressed": lambda lesson: found(lesson, SUSTAIN),
    "b is pressed on the switch": lambda lesson: found(lesson, SWITCH),
    "page up comes to the terminal": lambda lesson: pedal_lesson.at_terminal(lesson, "pageup"),
    "x comes to the terminal": lambda lesson: pedal_lesson.at_terminal(lesson, "x"),
}
FOUND = {
    "a short press": lambda lesson: pressed(lesson, "short"),
    "a long press": lambda lesson: pressed(lesson, "long"),
    "two quick presses": lambda lesson: pressed(lesson, "double"),
}
ALWAYS = {
    "nothing for a while": pedal_lesson.quiet,
    "the question again": pedal_lesson.again,
    "the knitter leaves": pedal_lesson.left,
}
HAPPENS = {**LOOKING, **FOUND, **ALWAYS}
EVENINGS = {
    "A pedal is learned as it is": (
        *("page down is pressed", "page down is pressed", "a short press"),
        *("a short press", "a long press", "two quick presses", "nothing for a while"),
    ),
    "Other commands are chosen": (
        *("the sustain pedal is pressed", "the sustain pedal is pressed", "a long press"),
        *("a long press", "a long press", "a short press", "a short press", "a long press"),
        *("two quick presses", "a short press", "the knitter leaves"),
    ),
    "The terminal has it already": (
        *("page up comes to the terminal", "x comes to the terminal", "the knitter leaves"),
    ),
    "Another one is pressed": (
        *("b is pressed on the switch", "page down is pressed", "page down is pressed"),
        "the knitter leaves",
    ),
    "Nothing comes": ("nothing for a while",) * MOST_UNANSWERED,
}


def transcript() -> str:
    lines = []
    for title, events in EVENINGS.items():
        reply = pedal_lesson.begin(Bound(), trouble="There is no MIDI pedal; plug it in.")
        lines += [title, f"  {shown(reply.say)}"]
        for event in events:
            assert not reply.over
            reply = HAPPENS[event](reply.lesson)
            lines += [f"  ({event})", f"  {shown(reply.say)}"]
            if reply.keep is not None:
                lines.append(f"  (kept: {reply.keep})")
        assert reply.over
    return "\n".join(lines) + "\n"


def test_lessons_as_they_are_heard():
    """Against a file that a person has read; CALLER_WRITE_GOLDEN=1 writes it anew."""
    if os.environ.get("CALLER_WRITE_GOLDEN"):
        GOLDEN.write_text(transcript(), encoding="utf-8")
    assert transcript() == GOLDEN.read_text(encoding="utf-8")


@settings(deadline=None)
@given(st.data())
def test_whatever_happens_all_is_told_and_only_a_pedal_that_is_sure_is_kept(data):
    reply = pedal_lesson.begin(Bound())
    pedals, kept = [None, None], []
    for _ in range(30):
        can_happen = {**(LOOKING if reply.lesson.looking else FOUND), **ALWAYS}
        event = data.draw(st.sampled_from(sorted(can_happen)))
        reply = can_happen[event](reply.lesson)
        if event.endswith("pressed") or event.endswith("on the switch"):
            pedals.append(event)
        assert said(reply.say)[-1] in ".?"
        assert said(reply.say) == shown(reply.say)
        if reply.keep is not None:
            kept.append(reply.keep)
            assert pedals[-1] == pedals[-2]  # the same one twice running
            assert reply.lesson.stage is Stage.TRY
        if reply.over:
            assert event in ("nothing for a while", "the knitter leaves")
            break
    assert len(kept) == (reply.lesson.stage is Stage.TRY)


@settings(deadline=None)
@given(
    st.sampled_from(PEDALS),
    st.builds(
        Bound,
        *(st.sampled_from(sorted(OFFERED)),) * 3,
    ),
    st.sets(st.sampled_from(["long", "double"])),
)
def test_every_command_can_be_chosen_for_every_press_with_the_foot_alone(pedal, wanted, nothing):
    wanted = wanted._replace(**dict.fromkeys(nothing, ""))
    reply = pressed(learned(pedal_lesson.begin(Bound()), pedal).lesson, "long")
    for kind in KINDS:
        does = next((way.does for way in WAYS if way.command.value == wanted.of(kind)), "nothing")
        for _ in range(len(Command) + 1):
            if f"{does}?" in said(reply.say).casefold():
                break
            reply = pressed(reply.lesson, "long")
        else:
            pytest.fail(f"{does} was not offered for the {kind} press")
        assert reply.keep is None
        reply = pressed(reply.lesson, "short")
    assert reply.keep == PedalKey(pedal.source, pedal.key, pedal.device, *wanted)


@pytest.mark.parametrize("presses", [0, 1, 2])
def test_leaving_before_the_pedal_is_settled_keeps_nothing(presses):
    reply = pedal_lesson.begin(Bound())
    for _ in range(presses):
        reply = found(reply.lesson, PAGE_DOWN)
    reply = pedal_lesson.left(reply.lesson)
    assert reply.over
    assert reply.keep is None
    assert said(reply.say) == "Stopped. Nothing is kept."


def test_one_press_is_not_enough_and_another_pedal_begins_anew():
    reply = found(pedal_lesson.begin(Bound()).lesson, SWITCH)
    assert reply.lesson.looking
    reply = found(reply.lesson, SUSTAIN)
    assert reply.signal is Signal.NOT_UNDERSTOOD
    assert "That is another one: sustain, from MIDI device Stage Piano." in said(reply.say)
    assert found(reply.lesson, SWITCH).lesson.looking
    assert not found(reply.lesson, SUSTAIN).lesson.looking


def test_a_pedal_that_is_known_is_told():
    known = (PedalKey("midi", "sustain", "Stage Piano", short="next"),)
    reply = found(pedal_lesson.begin(Bound(), known).lesson, SUSTAIN)
    assert "It is known already" in said(reply.say)
    reply = found(pedal_lesson.begin(Bound(), known).lesson, SWITCH)
    assert "known" not in said(reply.say)


def test_what_could_not_be_listened_to_is_told_when_nothing_comes_or_at_once():
    trouble = "There is no display here."
    opening = pedal_lesson.begin(Bound(), trouble=trouble)
    assert trouble not in said(opening.say)
    assert trouble in said(pedal_lesson.quiet(opening.lesson).say)
    assert said(pedal_lesson.begin(Bound(), (), trouble, at_once=True).say).startswith(trouble)


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.command.value)
def test_a_key_of_the_terminal_tells_what_it_gives_already(way):
    lesson = pedal_lesson.begin(Bound()).lesson
    for key in way.keys:
        reply = pedal_lesson.at_terminal(lesson, key)
        assert f"it gives this already: {way.does}. Nothing need be bound." in said(reply.say)
        assert reply.lesson.looking


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("pagedown", "page down"),
        ("space", "the space bar"),
        ("f13", "F 13"),
        ("f", "the letter F"),
        ("1", "the key 1"),
        ("#0", "a key without a name"),
        ("#269025153", "the key number 269025153"),
        ("media_play_pause", "media play pause"),
        ("controller-67", "controller 67"),
        ("sustain", "sustain"),
    ],
)
def test_keys_are_called_as_people_call_them(key, words):
    assert key_words(key) == words
