"""An independent reading of a call: from what is said, clause by clause, back to the needles.

Written from the wordings as the README gives them; it shares nothing with the code. Needles are
counted from the leftmost of the bed, 0, and `half` of them lie to the left of the centre.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

_ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen " + (
    "fifteen sixteen seventeen eighteen nineteen"
)
_TENS = "twenty thirty forty fifty sixty seventy eighty ninety"
_VALUES = {word: value for value, word in enumerate(_ONES.split())} | {
    word: 10 * value for value, word in enumerate(_TENS.split(), start=2)
}
_WORD = rf"(?:{'|'.join(sorted([*_VALUES, 'hundred', 'thousand', 'and'], key=len, reverse=True))})"
_NUMBER = rf"{_WORD}(?:(?:, | |-){_WORD})*\b"
_NEEDLE = rf"(?:left|right|needle) {_NUMBER}"
_BOBBIN = rf"(?:, bobbin (?P<bobbin>{_NUMBER}))?"

_HEAD = re.compile(rf"Row number (?P<row>{_NUMBER}), going (?P<way>left|right)\.")
_STARTS = re.compile(r"Before row one, the carriage stands on the (?P<side>left|right)\.")
_HANG_ONE = re.compile(
    rf"Hang (?P<yarn>.+?)(?:{_BOBBIN},)? at (?P<needle>{_NEEDLE}), "
    r"tail to the (?P<side>left|right)\."
)
_HANG_MANY = re.compile(rf"Hang (?P<count>{_NUMBER}) ends, tails to the (?P<side>left|right)\.")
_HUNG = re.compile(rf"(?P<yarn>.+?)(?:{_BOBBIN},)? at (?P<needle>{_NEEDLE})\.")
_CUT = re.compile(
    rf"(?:After the pass, cut|Cut) (?P<yarn>.+?)(?:{_BOBBIN},)? at (?P<needle>{_NEEDLE})\."
)
_CUT_ALL = re.compile(
    rf"After the pass, cut (?P<count>{_NUMBER}) ends, all (?:of them|(?P<but_one>but one))\."
)
_KEEP = re.compile(
    rf"(?:After the pass, keep|Keep) (?P<yarn>.+?)(?:{_BOBBIN},)? at (?P<needle>{_NEEDLE}), "
    r"which binds off\."
)
_PLAIN_ROWS = re.compile(
    rf"(?P<count>{_NUMBER}) plain rows, (?P<end>.+), through row (?P<row>{_NUMBER})\."
)
_PLAIN = re.compile(rf"Plain .+, (?P<nth>{_NUMBER}) out of (?P<count>{_NUMBER}) rows\.")
_END = rf"(?P<new>new )?(?P<yarn>.+?){_BOBBIN}(?P<at>,? waiting at (?P<hung>{_NEEDLE}))?"
_TAIL = r"(?:, tail to the (?P<side>left|right))?"
_UNDER = r"(?:, from under (?P<under>.+?))?"
_BEGIN = re.compile(rf"{_END}{_TAIL}{_UNDER}")
_REST = (
    re.compile(rf", (?:to|as far as|(?P<only>only)) (?P<last>{_NEEDLE})\."),
    re.compile(
        rf", from (?P<first>{_NEEDLE}), as far as (?P<last>{_NEEDLE}), "
        rf"over (?P<count>{_NUMBER}) stitches\."
    ),
    re.compile(rf",? (?P<takes>takes) (?P<first>{_NEEDLE})(?:, as far as (?P<last>{_NEEDLE}))?\."),
    re.compile(rf",? (?P<elsewhere>at) (?P<first>{_NEEDLE})\."),
)
_SHAPE = re.compile(
    rf"(?:First|Then) (?P<kind>increase|decrease|cast on|bind off) (?P<count>{_NUMBER}) "
    r"on (?:the (?P<side>left|right)|(?P<each>each side))"
    r"(?P<method>, fully fashioned, three stitches moved|, simple)?"
    rf"(?:, from (?P<first>{_NEEDLE}), as far as (?P<last>{_NEEDLE}))?"
    r"(?:, with (?P<end>.+?))?"
    rf", edges? at (?P<edge>{_NEEDLE})(?: and (?P<other>{_NEEDLE}))?(?P<cut>, then cut it)?\."
)
_UNTOLD = dict.fromkeys(("only", "first", "last", "count", "takes", "elsewhere"))
_ASIDE = re.compile(
    r"(From yarn|Remember:|Check:|The row goes on\.|Pass the carriage\.|Where two yarns meet,"
    r"|There are more to hang\.|Go on when they hang\.).*"
)
SAME = "Same as the row before."


@dataclass(frozen=True)
class Work:
    """What the listener knows beforehand: the yarns, and where the work lies."""

    yarns: Sequence[str]
    first: int
    last: int
    half: int | None  # None on a straight bed


@dataclass(frozen=True)
class End:
    """An end as it was told: its yarn, and where it was told its bobbin and where it hangs."""

    yarn: str
    new: bool = False
    bobbin: int | None = None
    at: int | None = None


@dataclass(frozen=True)
class Laid:
    """An end laid from its first needle as far as its last one."""

    end: End
    first: int
    last: int
    under: str | None = None


@dataclass(frozen=True)
class Shaped:
    """What was told of one edge: how many stitches, where it lies now, and with which end."""

    kind: str
    side: str
    stitches: int
    edge: int
    end: End | None = None
    cut: bool = False
    fully_fashioned: bool | None = None


@dataclass(frozen=True)
class Heard:
    """A row as it was understood: its runs as laid, the ends cut after it, and the one `kept`.

    `shapes` were done before it, and its work lies from needle `first` to `last`. `hung` are the
    ends hung before it, at row 1; `cuts_all` how many were said to be all, or all but the kept one.
    """

    row: int
    way: str
    laid: tuple[Laid, ...]
    cuts: tuple[End, ...] = ()
    cuts_all: int | None = None
    kept: End | None = None
    hung: tuple[End, ...] = ()
    shapes: tuple[Shaped, ...] = ()
    first: int = -1
    last: int = -1

    @property
    def yarns(self) -> tuple[str, ...]:
        """The yarn of each needle from left to right."""
        spread = {place: one.end.yarn for one in self.laid for place in _needles(one)}
        return tuple(spread[place] for place in sorted(spread))


def _needles(one: Laid) -> range:
    step = 1 if one.last >= one.first else -1
    return range(one.first, one.last + step, step)


def value(words: str) -> int:
    """The number that was said, in any of the three styles."""
    texts = words.split(", ")
    numbers = {_value(text) for text in texts}
    assert len(numbers) == 1, f"{words!r} says two numbers"
    return numbers.pop()


def _value(words: str) -> int:
    total, group = 0, []
    for token in re.split("[ -]", words):
        if token in ("hundred", "thousand"):
            total, group = total + _group(group) * (100 if token == "hundred" else 1000), []
        elif token != "and":
            group.append(_VALUES[token])
    return total + _group(group)


def _group(values: Sequence[int]) -> int:
    """Digits one by one as a number, anything else added up: one three; twenty-one."""
    if len(values) > 1 and all(value < 10 for value in values):
        return int("".join(map(str, values)))
    return sum(values)


def needle(words: str, work: Work) -> int:
    side, _, number = words.partition(" ")
    count = value(number)
    if side == "needle":
        assert work.half is None
        return count - 1
    assert work.half is not None
    return work.half - count if side == "left" else work.half + count - 1


def understood(clauses: Sequence[str], work: Work, before: Heard | None) -> Heard:
    """The row that these clauses call, after the row `before`."""
    told = [clause for clause in clauses if not _ASIDE.fullmatch(clause)]
    hung, told = _set_up(told, work)
    kept = None
    if keeps := _KEEP.fullmatch(told[-1]):
        kept, told = _at(keeps, work), told[:-1]
        last = bool(_CUT.fullmatch(told[-1]) or _CUT_ALL.fullmatch(told[-1]))
        assert keeps[0].startswith("Keep") == last
    cuts = [clause for clause in told if _CUT.fullmatch(clause) or _CUT_ALL.fullmatch(clause)]
    assert told[len(told) - len(cuts) :] == cuts, "what is cut is told at the end"
    if before is not None:
        work = replace(work, first=before.first, last=before.last)
    shapes = [clause for clause in told if clause.startswith(("First ", "Then "))]
    assert told[1 : 1 + len(shapes)] == shapes, "the edges are told first"
    shaped = tuple(one for clause in shapes for one in _shaped(clause, work))
    for one in shaped:
        work = replace(work, **{"first" if one.side == "left" else "last": one.edge})
    told = [told[0], *told[1 + len(shapes) : len(told) - len(cuts)]]
    row = _row(told, work, before)
    row = replace(row, shapes=shaped, first=work.first, last=work.last, kept=kept)
    if cuts and (every := _CUT_ALL.fullmatch(cuts[0])):
        assert len(cuts) == 1
        assert bool(every["but_one"]) == (kept is not None)
        return replace(row, hung=hung, cuts_all=value(every["count"]))
    found = [_CUT.fullmatch(cut) for cut in cuts]
    return replace(row, hung=hung, cuts=tuple(_at(one, work) for one in found if one))


def _shaped(clause: str, work: Work) -> Iterator[Shaped]:
    found = _SHAPE.fullmatch(clause)
    assert found, f"not understood: {clause!r}"
    kind, count = found["kind"], value(found["count"])
    assert bool(found["each"]) == bool(found["other"])
    end = None
    if found["end"]:
        begin = _BEGIN.fullmatch(found["end"])
        assert begin, clause
        end = _end(begin, "", work)
    assert (end is not None) == (kind in ("cast on", "bind off"))
    fully = None if found["method"] is None else found["method"] != ", simple"
    edges = {found["side"]: found["edge"]}
    if found["each"]:
        assert needle(found["edge"], work) <= needle(found["other"], work)
        edges = {"left": found["edge"], "right": found["other"]}
    for side, told in edges.items():
        edge, before = needle(told, work), work.first if side == "left" else work.last
        more = before - edge if side == "left" else edge - before
        assert more == (count if kind in ("increase", "cast on") else -count)
        if found["first"]:
            outward = 1 if side == "right" else -1
            innermost = before + outward if more > 0 else before
            assert needle(found["first"], work) == innermost
            assert abs(needle(found["last"], work) - innermost) == count - 1
        yield Shaped(kind, side, count, edge, end, bool(found["cut"]), fully)


def _set_up(told: list[str], work: Work) -> tuple[tuple[End, ...], list[str]]:
    """The ends hung before row 1, and what is told after them."""
    if not told or not (starts := _STARTS.fullmatch(told[0])):
        return (), told
    if one := _HANG_ONE.fullmatch(told[1]):
        assert one["side"] == starts["side"]
        return (_at(one, work),), told[2:]
    many = _HANG_MANY.fullmatch(told[1])
    assert many, told[1]
    assert many["side"] == starts["side"]
    end = 2 + value(many["count"])
    found = [_HUNG.fullmatch(clause) for clause in told[2:end]]
    assert all(found), told[2:end]
    return tuple(_at(one, work) for one in found if one), told[end:]


def _at(found: re.Match[str], work: Work) -> End:
    bobbin = found["bobbin"] and value(found["bobbin"])
    return End(_name(found["yarn"], work), False, bobbin, needle(found["needle"], work))


def _row(told: Sequence[str], work: Work, before: Heard | None) -> Heard:
    head = _HEAD.fullmatch(told[0])
    if head is None:
        return _counted(told, work, before)
    row, way = value(head["row"]), head["way"]
    assert before is None or row == before.row + 1
    rest = told[1:]
    if stretch := _PLAIN_ROWS.fullmatch(rest[0][:1].lower() + rest[0][1:]):
        assert value(stretch["row"]) - row + 1 == value(stretch["count"])
        found = _BEGIN.fullmatch(stretch["end"])
        assert found, rest[0]
        return Heard(row, way, (_whole(_end(found, way, work), way, work),))
    if rest[0] == SAME or _tells_changes(rest, work):
        assert before is not None
        return Heard(row, way, _changed(rest, work, before, way))
    return Heard(row, way, _laid(rest, work, way))


def _whole(end: End, way: str, work: Work) -> Laid:
    return Laid(end, *((work.first, work.last) if way == "right" else (work.last, work.first)))


def _name(name: str, work: Work) -> str:
    assert name in work.yarns, f"{name!r} is no yarn"
    return name


def _counted(told: Sequence[str], work: Work, before: Heard | None) -> Heard:
    found = _PLAIN.fullmatch(told[0])
    assert found, told
    assert len(told) == 1
    assert before is not None
    assert len(before.laid) == 1
    assert value(found["nth"]) <= value(found["count"])
    way = "left" if before.way == "right" else "right"
    return Heard(before.row + 1, way, (_whole(End(before.laid[0].end.yarn), way, work),))


def _read(clause: str, way: str, work: Work) -> tuple[End, str | None, dict[str, str | None]]:
    """The end, what it comes from under, and what is told of its needles."""
    for begin in _readings(clause):
        for rest in _REST:
            found = rest.fullmatch(clause, begin.end())
            if found and begin["yarn"] in work.yarns:
                return _end(begin, way, work), begin["under"], _UNTOLD | found.groupdict()
    raise AssertionError(f"not understood: {clause!r}")


def _readings(clause: str) -> Iterator[re.Match[str]]:
    """Every way to part an end from what follows: a yarn's name may hold any words."""
    for parted in re.finditer("[ ,]", clause):  # one of them begins whatever follows
        if found := _BEGIN.fullmatch(clause, 0, parted.start()):
            yield found


def _end(found: re.Match[str], way: str, work: Work) -> End:
    side = found["side"] if "side" in found.re.groupindex else None
    assert side is None or side == ("left" if way == "right" else "right")
    return End(
        _name(found["yarn"], work),
        bool(found["new"]),
        found["bobbin"] and value(found["bobbin"]),
        found["hung"] and needle(found["hung"], work),
    )


def _tells_changes(clauses: Sequence[str], work: Work) -> bool:
    read = [_read(clause, "", work)[2] for clause in _without_tails(clauses)]
    changes = [bool(parts["takes"] or parts["elsewhere"]) for parts in read]
    assert len(set(changes)) == 1, "two wordings in one row"
    return changes[0]


def _without_tails(clauses: Sequence[str]) -> list[str]:
    return [re.sub(r", tail to the (left|right)", "", clause) for clause in clauses]


def _laid(clauses: Sequence[str], work: Work, way: str) -> tuple[Laid, ...]:
    """Runs laid one beside the other in the carriage's direction."""
    step = 1 if way == "right" else -1
    at = work.first if way == "right" else work.last
    laid: list[Laid] = []
    for clause in clauses:
        end, under, parts = _read(clause, way, work)
        assert parts["first"] is None or needle(parts["first"], work) == at
        last = needle(parts["last"] or "", work)
        assert (last - at) * step >= 0, "a run of no needles"
        assert (parts["only"] is not None) == (last == at)
        assert parts["count"] is None or value(parts["count"]) == abs(last - at) + 1
        laid.append(Laid(end, at, last, under))
        at = last + step
    assert at - step == (work.last if way == "right" else work.first), "the work is covered"
    return tuple(laid)


@dataclass
class _Changes:
    yarns: list[str]
    ends: dict[int, tuple[End, str | None]] = field(default_factory=dict)  # by first needle


def _changed(clauses: Sequence[str], work: Work, before: Heard, way: str) -> tuple[Laid, ...]:
    """The row before, with the needles that other yarns take, laid in the other direction."""
    places = range(work.first, work.last + 1)
    reached = (min(max(place, before.first), before.last) for place in places)
    yarns = before.yarns
    now = _Changes([yarns[place - before.first] for place in reached])
    step = 1 if way == "right" else -1
    for clause in clauses:
        if clause == SAME:
            assert len(clauses) == 1
            continue
        end, under, parts = _read(clause, way, work)
        first = needle(parts["first"] or "", work)
        assert first not in now.ends, "one end is told twice"
        now.ends[first] = (end, under)
        if parts["takes"]:
            last = needle(parts["last"] or parts["first"] or "", work)
            for place in range(first, last + step, step):
                assert now.yarns[place - work.first] != end.yarn, "it had that yarn already"
                now.yarns[place - work.first] = end.yarn
    return _runs(now, work, step)


def _runs(now: _Changes, work: Work, step: int) -> tuple[Laid, ...]:
    places = list(range(work.first, work.last + 1))[::step]
    laid: list[Laid] = []
    for yarn, run in groupby(places, lambda place: now.yarns[place - work.first]):
        first, *more = run
        end, under = now.ends.get(first, (End(yarn), None))
        assert end.yarn == yarn
        laid.append(Laid(end, first, more[-1] if more else first, under))
    for first, (end, _) in now.ends.items():
        starts = any(one.first == first for one in laid)
        assert starts or end == End(end.yarn), "an end begins inside a run"
    return tuple(laid)
