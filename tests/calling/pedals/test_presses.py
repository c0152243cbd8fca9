"""What goes down and up becomes presses: each rule alone, and laws that hold for any input."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from caller.calling.pedals.presses import REPEAT_GAP_S, Press, Presses
from caller.calling.ports import Edge
from caller.settings import PressSettings

# Parts of a second that floating point numbers hold exactly, so that the laws have no blurred edge.
STEP_S = 1 / 64
SETTINGS = PressSettings(debounce_s=2 / 64, long_s=40 / 64, double_s=24 / 64, together_s=5 / 64)
ALL = frozenset({"short", "long", "double"})
KINDS = st.sets(st.sampled_from(sorted(ALL)), min_size=1)


def presses(times=SETTINGS, kinds=ALL, **of_key):
    return Presses(times, lambda _source, key: of_key.get(key, kinds))


def told(machine, *steps):
    """What is told: steps are ("+a", seconds) for a key that goes down, ("-a", seconds) for up, and
    a number for the time alone. Everything that comes due is waited for at the end."""
    out = []
    for step in steps:
        if isinstance(step, tuple):
            name, at_s = step
            heard = machine.feed(Edge("pedal", name[1:], name[0] == "+", at_s))
        else:
            at_s = step
            heard = machine.tick(step)
        out += [(round(at_s, 4), press.key, press.kind) for press in heard]
    while (due_s := machine.due_s()) is not None:
        out += [(round(due_s, 4), press.key, press.kind) for press in machine.tick(due_s)]
    return out


def test_a_pedal_with_a_short_press_alone_acts_on_the_way_down():
    assert told(presses(kinds={"short"}), ("+a", 1.0), ("-a", 1.2)) == [(1.0, "a", "short")]


def test_a_short_press_is_told_when_it_ends_where_a_long_one_is_bound():
    machine = presses(kinds={"short", "long"})
    assert told(machine, ("+a", 1.0), ("-a", 1.25)) == [(1.2812, "a", "short")]


def test_a_long_press_is_told_once_while_it_is_held():
    machine = presses(kinds={"short", "long"})
    assert told(machine, ("+a", 1.0), 1.5, 2.0, 9.0, ("-a", 10.0)) == [(2.0, "a", "long")]


def test_a_long_press_is_due_when_it_has_been_held_so_long():
    machine = presses(kinds={"long"})
    assert machine.feed(Edge("pedal", "a", True, 1.0)) == []
    assert machine.due_s() == 1.0 + SETTINGS.long_s
    assert machine.tick(1.0 + SETTINGS.long_s) == [Press("pedal", "a", "long")]
    assert machine.due_s() is None


def test_a_long_press_that_falls_due_in_a_bounce_is_told_with_its_end():
    machine = presses()
    for down, at_s in ((True, 1.0), (False, 1.61)):
        assert machine.feed(Edge("pedal", "a", down, at_s)) == []
    assert machine.feed(Edge("pedal", "a", True, 1.63)) == [Press("pedal", "a", "long")]


def test_an_up_that_is_told_twice_counts_once():
    machine = presses(kinds={"short", "long"})
    assert told(machine, ("+a", 1.0), ("-a", 1.25), ("-a", 1.27)) == [(1.2812, "a", "short")]


def test_time_does_not_go_back():
    machine = presses(kinds={"short", "long"})
    assert machine.tick(5.0) == []
    assert machine.feed(Edge("pedal", "a", True, 1.0)) == []
    assert machine.due_s() == 5.0 + SETTINGS.long_s
    assert machine.tick(2.0) == []


def test_a_second_press_in_time_makes_a_double_press_as_it_begins():
    machine = presses(kinds={"short", "double"})
    steps = ("+a", 1.0), ("-a", 1.125), ("+a", 1.375), ("-a", 3.0)
    assert told(machine, *steps) == [(1.375, "a", "double")]


def test_a_second_press_that_comes_too_late_is_another_one():
    steps = ("+a", 1.0), ("-a", 1.125), ("+a", 1.5), ("-a", 1.625)
    assert told(presses(), *steps) == [(1.5, "a", "short"), (2.0, "a", "short")]


def test_a_double_press_is_not_waited_for_where_none_is_bound():
    machine = presses(kinds={"short"})
    steps = ("+a", 1.0), ("-a", 1.125), ("+a", 1.25), ("-a", 1.375)
    assert told(machine, *steps) == [(1.0, "a", "short"), (1.25, "a", "short")]


def test_a_third_press_is_a_new_one():
    steps = [(f"{sign}a", 1 + n / 8) for n, sign in enumerate("+-+-+-")]
    assert [kind for _, _, kind in told(presses(), *steps)] == ["double", "short"]


def test_a_press_after_a_long_one_is_no_double_press():
    steps = ("+a", 1.0), ("-a", 2.0), ("+a", 2.125), ("-a", 2.25)
    assert [kind for _, _, kind in told(presses(), *steps)] == ["long", "short"]


@pytest.mark.parametrize("kinds", [{"short"}, {"short", "long"}, ALL], ids=sorted)
def test_contacts_that_bounce_make_one_press(kinds):
    bounce = [("+a", 1.0), ("-a", 1.004), ("+a", 1.009), ("-a", 1.02), ("+a", 1.021)]
    again = [("-a", 1.3), ("+a", 1.31), ("-a", 1.311)]
    assert [kind for _, _, kind in told(presses(kinds=kinds), *bounce, *again)] == ["short"]


def test_how_long_contacts_bounce_can_be_set():
    steps = ("+a", 1.0), ("-a", 1.0625), ("+a", 1.125), ("-a", 1.25)
    slow = PressSettings(debounce_s=0.1)
    assert len(told(presses(slow, {"short"}), *steps)) == 1
    assert len(told(presses(SETTINGS, {"short"}), *steps)) == 2


@pytest.mark.parametrize("debounce_s", [0.0, 0.03])
@pytest.mark.parametrize("kinds", [{"short"}, {"short", "long"}], ids=sorted)
@pytest.mark.parametrize("ups", [False, True], ids=["downs alone", "ups and downs as on X11"])
def test_a_held_key_that_repeats_is_one_press(debounce_s, kinds, ups):
    """On X11 a repeat is a release and a press of the same time (seen there under Xvfb); on Windows
    and macOS it is another press."""
    steps = [("+a", 1.0)]
    for n in range(100):
        at_s = 1.5 + n / 30
        steps += [("-a", at_s), ("+a", at_s + REPEAT_GAP_S / 20)] if ups else [("+a", at_s)]
    steps.append(("-a", 5.0))
    machine = presses(PressSettings(debounce_s=debounce_s), kinds)
    expected = (1.6, "a", "long") if "long" in kinds else (1.0, "a", "short")
    ((at_s, *rest),) = told(machine, *steps)
    assert rest == list(expected[1:])
    assert at_s == pytest.approx(expected[0], abs=0.04)


def test_of_two_pedals_at_once_only_the_first_counts():
    steps = ("+a", 1.0), ("+b", 1.0625), ("-b", 1.5), ("-a", 1.5), ("+b", 2.0), ("-b", 2.1)
    machine = presses(kinds={"short"})
    assert told(machine, *steps) == [(1.0, "a", "short"), (2.0, "b", "short")]


def test_a_pedal_trodden_a_little_later_counts():
    machine = presses(kinds={"short"})
    assert told(machine, ("+a", 1.0), ("+b", 1.0 + SETTINGS.together_s)) == [
        (1.0, "a", "short"),
        (round(1.0 + SETTINGS.together_s, 4), "b", "short"),
    ]


def test_a_pedal_is_not_at_once_with_itself():
    steps = ("+a", 1.0), ("-a", 1.0156), ("+a", 1.0625)
    assert len(told(presses(kinds={"short"}), *steps)) == 2


def test_it_is_the_last_press_that_another_is_at_once_with():
    steps = ("+a", 1.0), ("-a", 1.1), ("+b", 2.0), ("+a", 2.03)
    assert told(presses(kinds={"short"}), *steps) == [(1.0, "a", "short"), (2.0, "b", "short")]


def test_a_press_that_does_not_count_stays_one_while_it_repeats():
    steps = ("+a", 1.0), ("+b", 1.03), ("+b", 1.5), ("+b", 1.6)
    assert told(presses(kinds={"short"}), *steps) == [(1.0, "a", "short")]


def test_two_pedals_at_once_count_both_where_that_is_wanted():
    machine = presses(PressSettings(together_s=0), {"short"})
    assert len(told(machine, ("+a", 1.0), ("+b", 1.0))) == 2


def test_a_press_that_does_not_count_is_never_told_however_long_it_is_held():
    steps = ("+a", 1.0), ("+b", 1.03), ("-a", 1.2), 5.0, ("-b", 6.0)
    assert [entry[1:] for entry in told(presses(), *steps)] == [("a", "short")]


def test_another_pedal_ends_the_waiting_for_a_second_press():
    machine = presses(a={"short", "double"}, b={"short"})
    steps = ("+a", 1.0), ("-a", 1.125), ("+b", 1.25)
    assert told(machine, *steps) == [(1.25, "a", "short"), (1.25, "b", "short")]


def test_a_key_bound_to_nothing_is_not_heard_and_stops_no_other():
    machine = presses(kinds=(), b={"short"})
    assert told(machine, ("+a", 1.0), ("+b", 1.01), ("-a", 1.5)) == [(1.01, "b", "short")]


def test_an_up_alone_is_nothing():
    assert told(presses(), ("-a", 1.0), ("-a", 2.0)) == []


def test_a_pedal_taken_away_while_it_is_down_is_forgotten():
    machine = presses()
    machine.feed(Edge("pedal", "a", True, 1.0))
    machine.feed(Edge("other", "a", True, 1.5))
    machine.lost("pedal")
    assert machine.tick(3.0) == [Press("other", "a", "long")]
    assert told(machine, ("+a", 4.0), ("-a", 4.125)) == [(4.5, "a", "short")]


def test_a_press_that_was_whole_is_told_though_the_pedal_is_taken_away():
    machine = presses()
    machine.feed(Edge("pedal", "a", True, 1.0))
    machine.feed(Edge("pedal", "a", False, 1.25))
    machine.lost("pedal")
    assert told(machine) == [(1.625, "a", "short")]


def test_the_same_key_of_two_sources_is_two_keys():
    machine = presses(PressSettings(together_s=0), {"short"})
    heard = [machine.feed(Edge(source, "a", True, 1.0)) for source in ("one", "two")]
    assert heard == [[Press("one", "a", "short")], [Press("two", "a", "short")]]


# Laws.

EDGES = st.lists(
    st.tuples(st.sampled_from("ab"), st.booleans(), st.integers(0, 60)), max_size=40
).map(
    lambda parts: [
        Edge("pedal", key, down, sum(step for *_, step in parts[: n + 1]) * STEP_S)
        for n, (key, down, _) in enumerate(parts)
    ]
)


def let_up(edges):
    """With every key up at the end, long after."""
    end_s = (edges[-1].at_s if edges else 0) + 10
    return [*edges, *(Edge("pedal", key, False, end_s) for key in "ab")]


def all_told(machine, edges, ticks=()):
    """Every press, with ticks at these times put between the edges."""
    heard = []
    for _, _, edge in sorted(
        [(edge.at_s, 1, n) for n, edge in enumerate(edges)] + [(at_s, 0, at_s) for at_s in ticks]
    ):
        heard += machine.tick(edge) if isinstance(edge, float) else machine.feed(edges[edge])
    while (due_s := machine.due_s()) is not None:
        heard += machine.tick(due_s)
    return heard


def trodden(edges, key):
    """The times of one key's presses, (down, up): gaps too short for a foot are none."""
    spans = []
    down = False
    for edge in edges:
        if edge.key != key or edge.down == down:
            continue
        down = edge.down
        if not down:
            spans[-1][1] = edge.at_s
        elif spans and edge.at_s - spans[-1][1] < SETTINGS.debounce_s:
            spans[-1][1] = None
        else:
            spans.append([edge.at_s, None])
    return spans


def expected(spans, kinds):
    """What one key's presses give, by the whole of them."""
    out = []
    spans = list(spans)
    while spans:
        down_s, up_s = spans.pop(0)
        if "long" in kinds and up_s - down_s >= SETTINGS.long_s:
            out.append("long")
        elif "double" in kinds and spans and spans[0][0] - up_s < SETTINGS.double_s:
            out.append("double")
            spans.pop(0)
        else:
            out.append("short")
    return out


@settings(deadline=None)
@given(EDGES, KINDS)
def test_each_pedal_gives_what_was_trodden(edges, kinds):
    edges = let_up([edge for edge in edges if edge.key == "a"])
    heard = all_told(presses(kinds=kinds), edges)
    assert [press.kind for press in heard] == expected(trodden(edges, "a"), kinds)


@settings(deadline=None)
@given(EDGES, KINDS, KINDS)
def test_nothing_is_told_twice(edges, of_a, of_b):
    edges = let_up(edges)
    heard = all_told(presses(a=of_a, b=of_b), edges)
    for key in "ab":
        used = [2 if press.kind == "double" else 1 for press in heard if press.key == key]
        assert sum(used) <= len(trodden(edges, key))


@settings(deadline=None)
@given(EDGES, KINDS, KINDS)
def test_nothing_is_lost_where_two_pedals_may_be_trodden_at_once(edges, of_a, of_b):
    apart = PressSettings(SETTINGS.debounce_s, SETTINGS.long_s, SETTINGS.double_s, 0.0)
    edges = let_up(edges)
    heard = all_told(presses(apart, a=of_a, b=of_b), edges)
    for key in "ab":
        used = [2 if press.kind == "double" else 1 for press in heard if press.key == key]
        assert sum(used) == len(trodden(edges, key))


@settings(deadline=None)
@given(EDGES, KINDS, KINDS, st.lists(st.floats(0, 60)))
def test_looking_in_more_often_makes_no_difference(edges, of_a, of_b, ticks):
    edges = let_up(edges)
    once = all_told(presses(a=of_a, b=of_b), edges)
    assert all_told(presses(a=of_a, b=of_b), edges, ticks) == once


@settings(deadline=None)
@given(
    st.lists(
        st.one_of(
            st.builds(
                Edge, st.sampled_from("xy"), st.sampled_from("ab"), st.booleans(), st.floats()
            ),
            st.floats(),
            st.sampled_from("xy"),
        )
    ),
    st.floats(0, 0.2),
)
def test_whatever_comes_in_nothing_is_raised_and_no_more_told_than_went_down(steps, debounce_s):
    machine = presses(PressSettings(debounce_s=debounce_s))
    heard, downs = 0, 0
    for step in steps:
        if isinstance(step, Edge):
            heard += len(machine.feed(step))
            downs += step.down
        elif isinstance(step, float):
            heard += len(machine.tick(step))
        else:
            machine.lost(step)
        assert heard <= downs
