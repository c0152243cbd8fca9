"""A row as what the hands do, in their order: plain data, without a word.

An end is a yarn that hangs at the bed, on its bobbin. Before row 1 the ends that row 1 knits are
hung (`setting_up`). In every row the edges of a shaped piece are shaped first; each end is taken up
where it hangs, or hung anew, and laid over its needles; then the carriage passes, and ends that
have done their work are cut; after the last row one is kept to bind off. Words, screen, page and
the tests' simulator read these acts. Needles are bed positions, 0 the leftmost.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import chain

from caller.pattern.bed import Direction
from caller.pattern.pattern import Pattern
from caller.pattern.shaping import Shaping
from caller.pattern.supplies.plan import SuppliedRun

NEXT_NEEDLE = 1
"""An end this many needles from where it is laid goes on without a float."""
CLEARLY_FARTHER = 2
"""Needles. Another end of the same yarn this much farther away is not taken for the right one."""


@dataclass(frozen=True)
class End:
    """A hanging yarn: its supply, its yarn's number, and its bobbin's number among that yarn's.

    `alone` tells that the yarn has no other bobbin, so that its name says which end is meant.
    """

    supply: int
    yarn: int
    bobbin: int
    alone: bool


@dataclass(frozen=True)
class Hang:
    """Hang a new end at a needle, its tail to the side where the carriage stands."""

    end: End
    needle: int
    tail_side: Direction


@dataclass(frozen=True)
class TakeUp:
    """Take up an end where it hangs, the needle that it knitted last.

    It is `obvious` when it hangs where it is laid, or on the next needle, and no other end of its
    yarn hangs nearly as near; `shared` when another end of its yarn hangs at the same needle.
    """

    end: End
    hangs_at: int
    obvious: bool
    shared: bool


@dataclass(frozen=True)
class Cross:
    """Take up the `under` end from under the one just laid, whose last needle is `needle`."""

    over: End
    under: End
    needle: int


@dataclass(frozen=True)
class Lay:
    """Lay an end over its needles, in the carriage's direction, both inclusive."""

    end: End
    first: int
    last: int

    @property
    def stitches(self) -> int:
        return abs(self.last - self.first) + 1


@dataclass(frozen=True)
class Shape:
    """Shape an edge of the work. Stitches are cast on with the end that `take` brings to the hand,
    the first that is laid in the row; `binds` is the end that binds off, cut afterwards if `cut`.
    It hangs at the edge, `shared` when another end of its yarn hangs there or is bound off.
    """

    shaping: Shaping
    take: Hang | TakeUp | None = None
    binds: End | None = None
    cut: bool = False
    shared: bool = False


@dataclass(frozen=True)
class Pass:
    """Let the carriage pass."""

    direction: Direction


@dataclass(frozen=True)
class Cut:
    """Cut an end at the needle that it knitted last; `shared` as in TakeUp."""

    end: End
    needle: int
    shared: bool


@dataclass(frozen=True)
class Keep:
    """Keep the end that hangs where the carriage stands after the last row: it binds off, and is
    cut then. `needle` and `shared` as in Cut."""

    end: End
    needle: int
    shared: bool


@dataclass(frozen=True)
class Remember:
    """Do what the pattern's reminder says, like moving the weights up."""

    what: str


_Hanging = tuple[int, int | None]  # a yarn's number, and the needle where its end hangs
Act = Shape | Hang | TakeUp | Cross | Lay | Pass | Cut | Keep | Remember


@dataclass(frozen=True)
class Step:
    """One run: how its end comes to the hand, what it crosses, and where it is laid.

    In row 1 nothing is hung: its ends hang from the setting up, and `take` is obvious.
    """

    take: Hang | TakeUp
    cross: Cross | None
    lay: Lay

    def __iter__(self) -> Iterator[Act]:
        yield self.take
        if self.cross:
            yield self.cross
        yield self.lay


@dataclass(frozen=True)
class RowActs:
    """A row: how its edges are shaped before it, where the carriage stands first, its runs in the
    order they are laid, the pass, and what is done after it.

    `cuts_all` tells that no end hangs any more when these are cut, but for the one that is `kept`
    after the last row.
    """

    number: int
    direction: Direction
    steps: tuple[Step, ...]
    cuts: tuple[Cut, ...]
    cuts_all: bool
    reminders: tuple[Remember, ...]
    shapes: tuple[Shape, ...] = ()
    kept: Keep | None = None

    def __iter__(self) -> Iterator[Act]:
        """Every act, in the order of the hands."""
        yield from self.shapes
        yield from chain.from_iterable(self.steps)
        yield Pass(self.direction)
        yield from self.cuts
        if self.kept:
            yield self.kept
        yield from self.reminders


def start_side(direction: Direction) -> Direction:
    """Where the carriage stands before it goes that way; a new end's tail lies there too."""
    return "left" if direction == "right" else "right"


def setting_up(pattern: Pattern) -> tuple[Hang, ...]:
    """The ends to hang before row 1, in the order in which they are laid."""
    return tuple(
        Hang(end_of(pattern, entry.supply), entry.run.first, start_side(pattern.first_direction))
        for entry in pattern.supply_plan.row(1)
    )


@lru_cache(maxsize=64)
def row_acts(pattern: Pattern, number: int) -> RowActs:
    """The acts of the row of this number; ChartError when there is none.

    Kept for a while: a row is called portion by portion, asked about and shown.
    """
    entries = pattern.supply_plan.row(number)
    direction = pattern.script.direction(number)
    shapings = pattern.script.shapings(number)
    waiting = _waiting(pattern, number, {entry.supply for entry in entries})
    cast_on = next((shaping for shaping in shapings if shaping.kind == "cast on"), None)
    wound: Hang | TakeUp | None = None
    steps: list[Step] = []
    for index, entry in enumerate(entries):
        end, run = end_of(pattern, entry.supply), entry.run
        take: Hang | TakeUp
        if number == 1:
            take = TakeUp(end, run.first, obvious=True, shared=False)
        elif entry.carried_from is None:
            take = Hang(end, run.first, start_side(direction))
        else:
            later = [(other.run.yarn, other.carried_from) for other in entries[index + 1 :]]
            begin = cast_on.first if cast_on and index == 0 else run.first
            take = _take_up(end, begin, entry.carried_from, [*later, *waiting])
        if cast_on and index == 0:  # it is wound over the new needles first
            wound = replace(take, needle=cast_on.first) if isinstance(take, Hang) else take
            take = TakeUp(end, run.first, obvious=True, shared=False)
        goes_on = number > 1 and isinstance(take, TakeUp)
        last = steps[-1].lay if steps and goes_on else None
        cross = Cross(last.end, end, last.last) if last else None
        steps.append(Step(take, cross, Lay(end, run.first, run.last)))
    cuts = tuple(
        Cut(step.lay.end, step.lay.last, (step.lay.end.yarn, step.lay.last) in waiting)
        for step, entry in zip(steps, entries, strict=True)
        if entry.end == "cut"
    )
    cuts_all = len(cuts) == len(entries) and not waiting
    kept = None
    if number == pattern.script.rows:  # the end laid last hangs on the carriage's side
        kept, cuts = Keep(**vars(cuts[-1])), cuts[:-1]
    return RowActs(
        number,
        direction,
        tuple(steps),
        cuts,
        cuts_all,
        tuple(map(Remember, pattern.reminders_at(number))),
        tuple(_shape(pattern, number, shaping, wound) for shaping in shapings),
        kept,
    )


def run_at(pattern: Pattern, row: int, needle: int) -> SuppliedRun | None:
    """The run that knits a needle in a row; None where no yarn is laid there."""
    for entry in pattern.supply_plan.row(row):
        if min(entry.run.first, entry.run.last) <= needle <= max(entry.run.first, entry.run.last):
            return entry
    return None


def _shape(pattern: Pattern, number: int, shaping: Shaping, wound: Hang | TakeUp | None) -> Shape:
    if shaping.kind == "cast on":
        return Shape(shaping, take=wound)
    if shaping.kind == "bind off":
        plan = pattern.supply_plan
        supply, cut = plan.binds_off(number)
        end = end_of(pattern, supply)
        shared = any(
            (needle, yarn) == (shaping.edge, end.yarn) and other != supply
            for needle, yarn, other in plan.hanging(number)
        )
        return Shape(shaping, binds=end, cut=cut, shared=shared)
    return Shape(shaping)


def end_of(pattern: Pattern, supply: int) -> End:
    """The end by which a supply hangs."""
    plan, index = pattern.supply_plan, supply - 1
    on = plan.bobbins
    return End(supply, int(plan.supplies.yarn[index]), int(on.bobbin[index]), bool(on.alone[index]))


def _waiting(pattern: Pattern, number: int, knitting: set[int]) -> list[_Hanging]:
    """The ends that hang and do not knit in this row, without one that is cut before it."""
    if not pattern.supply_rules.max_rest_rows:
        return []
    plan = pattern.supply_plan
    return [
        (yarn, needle)
        for needle, yarn, supply in plan.hanging(number)
        if supply not in knitting and plan.supplies.last_row[supply - 1] > number
    ]


def _take_up(end: End, begin: int, hangs_at: int, others: list[_Hanging]) -> TakeUp:
    """`others` hang too and are not yet laid in this row; `begin` is the first needle."""
    carry = abs(hangs_at - begin)
    rivals = [at for yarn, at in others if yarn == end.yarn and at is not None]
    clear = all(abs(at - begin) >= carry + CLEARLY_FARTHER for at in rivals)
    return TakeUp(end, hangs_at, carry <= NEXT_NEEDLE and clear, hangs_at in rivals)
