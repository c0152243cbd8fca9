"""No command phrase ever leaves the loudspeaker in one breath."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.commands import PHRASES
from caller.calling.words.utterance import APART_S, Clause, kept_apart, said, shown

# The ears end a word after 0.29 s of quiet (listening notes; EndpointSettings.hangover_s).
QUIET_S = 0.29
PHRASE_WORDS = sorted({word for phrase in PHRASES for word in phrase.split()})


def breaths(utterance) -> list[str]:
    """What is said between silences that part words for the ears; only letters, lower case."""
    found = [""]
    for clause in utterance:
        found[-1] += " " + clause.said
        if clause.pause_s > QUIET_S:
            found.append("")
    return [" ".join(re.findall(r"[a-z']+", breath.casefold())) for breath in found]


def sets_nothing_off(utterance) -> bool:
    return not any(
        f" {phrase} " in f" {breath} "
        for breath in breaths(kept_apart(utterance))
        for phrase in PHRASES
    )


def words_of(utterance) -> list[str]:
    return said(utterance).split()


@pytest.mark.parametrize("phrase", PHRASES)
def test_each_phrase_is_parted(phrase):
    for text in (phrase, f"Now {phrase.upper()}!", f"{phrase}, {phrase}", phrase.replace(" ", "-")):
        assert sets_nothing_off((Clause(text, text),))


def test_a_phrase_across_two_clauses_is_parted():
    parted = kept_apart((Clause("next,", "next", 0.1), Clause("Row two.", "Row two.", 0.2)))
    assert [clause.pause_s for clause in parted] == [APART_S, 0.2]
    assert said(parted) == "next, Row two."


def test_other_words_are_left_alone():
    calm = (Clause("Row two, to the left.", "Row 2", 0.1), Clause("ivory, to left one.", "L1"))
    assert kept_apart(calm) == calm
    assert kept_apart(()) == ()


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
