"""Bobbins during the work: the warning a row ahead, and yarn that joins where it ran out."""

from dataclasses import replace

import pytest
from small_pieces import HALVES

from caller.calling.commands import Command
from caller.calling.events import Pressed, Spoken, Typed
from caller.calling.orders import understood
from caller.calling.place import Place
from caller.calling.session import begin, step
from caller.calling.spelling import Asked, Spelled
from caller.calling.state import State
from caller.calling.words.utterance import Length, clause, said, shown
from caller.pattern.pattern import Fabric, SupplyRules
from caller.pattern.winding import Refill
from caller.settings import CallSettings

USUAL = CallSettings()


def at(row: int, *refills: Refill) -> State:
    return State(Place(row), 160, refills=refills)


def heard(order, state, pattern=HALVES):
    return step(pattern, USUAL, state, order)


def test_a_bobbin_is_warned_of_a_row_ahead():
    quiet = said(heard(Command.NEXT, at(2)).say)
    assert "metre" not in quiet
    ahead = said(heard(Command.NEXT, at(3)).say)
    assert ahead.startswith("Row number four, going left.")
    for yarn in ("navy", "cream"):
        assert (
            f"{yarn} will have about ten centimetres left; the row after this one needs twenty "
            "centimetres."
        ) in ahead
    now = said(heard(Command.NEXT, at(4)).say)
    assert now.startswith(
        "navy has about ten centimetres left; this row needs twenty centimetres. "
    )
    assert "metre" not in said(heard(Command.NEXT, at(5)).say), "it ran out, and the knitter knows"


def test_by_row_portions_the_warning_comes_with_the_last_one():
    settings = CallSettings(runs_at_once=1)
    first = step(HALVES, settings, replace(at(3), place=Place(3, 1)), Command.NEXT)
    assert "metre" not in said(first.say)
    assert "the row after this one needs" in said(
        step(HALVES, settings, first.state, Command.NEXT).say
    )


def test_a_bobbin_that_lasts_is_not_warned_of():
    for rules in (SupplyRules(0), SupplyRules(0, bobbin_m=50)):
        pattern = replace(HALVES, supply_rules=rules)
        assert not any(
            "metre" in said(heard(Command.NEXT, at(row), pattern).say) for row in range(1, 10)
        )


def test_a_filled_bobbin_joins_at_the_needle_named():
    answer = heard(Asked(Command.BOBBIN, "l10"), at(5))
    assert said(answer.say) == (
        "navy is full again, from left ten, as far as left one. Its tail lies to the left. Two "
        "more tails to weave in."
    )
    here = HALVES.bed.position("L10")
    assert answer.state.refills == (Refill(0, 1, 5, here),)
    corrected = heard(Asked(Command.BOBBIN, "L12"), answer.state)
    assert corrected.state.refills == (Refill(0, 1, 5, here - 2),)
    on = said(heard(Command.NEXT, corrected.state).say)
    assert "navy" not in on.partition("Row number six")[0]
    assert "cream has" not in on


def test_filled_without_a_needle():
    """Where one bobbin was warned of it is that one; else the needle is asked for."""
    lasting = replace(HALVES, supply_rules=SupplyRules(0, bobbin_m=1.0))
    both = heard(Command.BOBBIN, at(4), lasting)
    assert said(both.say).startswith("Which needle?")
    keys = both
    for key in ("l", "1", "0", "enter"):
        keys = heard(Spelled(key), keys.state)
    assert said(keys.say).startswith("navy is full again, from left ten,")
    one = heard(Command.BOBBIN, at(4, Refill(1, 1, 4, HALVES.bed.position("R1"))))
    assert said(one.say).startswith("navy is full again, from left one, as far as left twenty.")


@pytest.mark.parametrize(
    ("label", "told"),
    [("L40", "There is no stitch on left forty"), ("x", "is not a needle")],
)
def test_a_needle_that_is_not_there(label, told):
    answer = heard(Asked(Command.BOBBIN, label), at(5))
    assert told in said(answer.say)
    assert answer.state.refills == ()


def test_the_yarn_on_each_bobbin_is_told():
    assert shown(heard(Command.YARN, at(3)).say) == (
        "Worked out by the stitches, before row 3. navy about 50 cm. cream about 50 cm."
    )
    without = replace(HALVES, fabric=Fabric())
    assert "measure a swatch" in said(heard(Command.YARN, at(3), without).say)
    assert "finished" in said(heard(Command.YARN, at(11)).say)


def test_words_keys_and_lines_for_a_filled_bobbin():
    bed = HALVES.bed
    order = Asked(Command.BOBBIN, "L10")
    assert understood(bed, at(5), Spoken(Command.BOBBIN, "L10")) == order
    assert understood(bed, at(5), Typed("bobbin L10")) == order
    assert understood(bed, at(5), Pressed("e")) is Command.BOBBIN
    opened = begin(HALVES, USUAL, Place(5), 160)
    assert opened.state.refills == ()


@pytest.mark.parametrize(
    ("metres", "up", "words", "written"),
    [
        (0.02, False, "ten centimetres", "10 cm"),
        (0.59, False, "fifty centimetres", "50 cm"),
        (0.51, True, "sixty centimetres", "60 cm"),
        (1.0, True, "one metre", "1 m"),
        (1.4, False, "one metre", "1 m"),
        (1.6, False, "one and a half metres", "1.5 m"),
        (1.6, True, "two metres", "2 m"),
        (13.2, True, "thirteen and a half metres", "13.5 m"),
    ],
)
def test_lengths_are_told_on_the_safe_side(metres, up, words, written):
    told = clause("{length}", length=Length(metres, up))
    assert (told.said, told.shown) == (words, written)
