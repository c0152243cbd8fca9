"""No command phrase ever leaves the loudspeaker in one breath."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.commands import PHRASES
from caller.calling.words.utterance import (
    APART_S,
    Clause,
    Exact,
    Length,
    capital,
    clause,
    ended,
    kept_apart,
    said,
    sentence,
    shown,
)

# The ears end a word after 0.29 s of quiet (listening notes; EndpointSettings.hangover_s).
QUIET_S = 0.29
PHRASE_WORDS = sorted({word for phrase in PHRASES for word in phrase.split()})


def breaths(utterance) -> list[str]:
    """What is said between silences that part words for the ears; only letters, lower case."""
    found = [""]
    for one in utterance:
        found[-1] += " " + one.said
        if one.pause_s > QUIET_S:
            found.append("")
    return [" ".join(re.findall(r"[a-z']+", breath.casefold())) for breath in found]


def sets_nothing_off(utterance) -> bool:
    return not any(
        f" {phrase} " in f" {breath} "
        for breath in breaths(kept_apart(utterance))
        for phrase in PHRASES
    )


@pytest.mark.parametrize(
    ("metres", "up", "words", "written"),
    [
        (0.04, False, "ten centimetres", "10 cm"),
        (0.25, False, "twenty centimetres", "20 cm"),
        (0.25, True, "thirty centimetres", "30 cm"),
        (3 * 0.1, True, "thirty centimetres", "30 cm"),  # a little over 0.3 in binary
        (0.1 * 3 - 1e-12, False, "thirty centimetres", "30 cm"),
        (0.99, False, "ninety centimetres", "90 cm"),
        (0.99, True, "one hundred centimetres", "100 cm"),
        (1.0, False, "one metre", "1 m"),
        (1.49, False, "one metre", "1 m"),
        (1.49, True, "one and a half metres", "1.5 m"),
        (2.0, True, "two metres", "2 m"),
        (13.9, False, "thirteen and a half metres", "13.5 m"),
    ],
)
def test_a_length_of_yarn(metres: float, up: bool, words: str, written: str):
    told = clause("About {yarn}.", "checked", yarn=Length(metres, up))
    assert (told.said, told.shown) == (f"About {words}.", f"About {written}.")
    digits = clause("{yarn}", "digits", yarn=Length(metres, up)).said
    assert digits.startswith("one three") is (words[:8] == "thirteen")


def test_parts_of_a_clause():
    told = clause("{a} {b} {c}.", "checked", 0.7, a=Exact(13), b=13, c="sand")
    assert (told.said, told.shown) == ("thirteen, one three thirteen sand.", "13 13 sand.")
    assert (told.pause_s, told.pan) == (0.7, 0.0)
    assert clause("a").pause_s == Clause("a", "a").pause_s == 0.0
    assert [one.shown for one in ended((told, told))] == ["13 13 sand.;", "13 13 sand.."]
    assert capital(clause("{n} ends", n=2)).said == "Two ends"
    assert sentence("So.", 0.2) == (Clause("So.", "So.", 0.2),)


def words_of(utterance) -> list[str]:
    return said(utterance).split()


@pytest.mark.parametrize("phrase", PHRASES)
def test_each_phrase_is_parted(phrase):
    for text in (phrase, f"Now {phrase.upper()}!", f"{phrase}, {phrase}", phrase.replace(" ", "-")):
        assert sets_nothing_off((Clause(text, text),))


def test_a_phrase_across_two_clauses_is_parted():
    parted = kept_apart((Clause("next,", "next", 0.1), Clause("Row two.", "Row two.", 0.2)))
    assert [one.pause_s for one in parted] == [APART_S, 0.2]
    assert said(parted) == "next, Row two."


def test_other_words_are_left_alone():
    calm = (Clause("Row two, to the left.", "Row 2", 0.1), Clause("ivory, to left one.", "L1"))
    assert kept_apart(calm) == calm
    assert kept_apart(()) == ()
    assert kept_apart(calm, ()) == calm


def test_what_is_parted_keeps_its_place_and_is_shown_once():
    before = Clause("Now next row.", "Now next row.", 0.6, pan=0.5)
    assert kept_apart((before,)) == (
        Clause("Now next", "", APART_S, pan=0.5),
        Clause("row.", "Now next row.", 0.6, pan=0.5),
    )
    longer = (Clause("next", "next", 0.3), Clause("row", "row", 0.1), Clause("next", "next", 0.1))
    assert [one.pause_s for one in kept_apart(longer)] == [APART_S, 0.1, 0.1]
    parted = (Clause("next", "next", 0.6), Clause("row", "row", 0.1))
    assert kept_apart(parted) == parted, "the silence is there"


@settings(deadline=None)
@given(
    st.lists(
        st.builds(
            Clause,
            st.lists(st.sampled_from([*PHRASE_WORDS, "row.", "navy", "Next", "-", ""])).map(
                " ".join
            ),
            st.just("x"),
            st.sampled_from([0.0, 0.15, 0.3, 0.5]),
        )
    ).map(tuple)
)
def test_whatever_is_said(utterance):
    parted = kept_apart(utterance)
    assert sets_nothing_off(utterance)
    assert words_of(parted) == words_of(utterance)
    assert shown(parted) == shown(utterance)
    assert sum(c.pause_s for c in parted) >= sum(c.pause_s for c in utterance)
