"""From what goes down and up to presses: short, long and double. Pure, with no clock of its own.

A press begins when its key goes down and ends when the key stays up. Each press is told once:

- at once on the way down, where only its short press is bound: the common pedal acts instantly
- as long, when it has been held for so long and a long press is bound
- as short, when it ends; where a double press is bound, when no second one has followed in time
- as double, when the second one begins
"""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Literal, NamedTuple, get_args

from caller.calling.ports import Edge
from caller.settings import PressSettings

Kind = Literal["short", "long", "double"]
KINDS: tuple[Kind, ...] = get_args(Kind)
BoundKinds = Callable[[str, str], Collection[Kind]]
"""The kinds of press that are bound for the key of a source; none: the key is not heard at all."""

REPEAT_GAP_S = 0.01
"""A held key that X11 repeats comes as an up and at once a down; no foot is so quick."""


@dataclass(frozen=True)
class Press:
    """A press of a key, named as in `Edge`."""

    source: str
    key: str
    kind: Kind


class _Key(NamedTuple):
    source: str
    name: str


@dataclass
class _Begun:
    """A press that has begun: `up_s` is set once it went up, `ended` once it stays up.

    `told` when it has been told, or does not count.
    """

    kinds: Collection[Kind]
    down_s: float
    told: bool = False
    up_s: float | None = None
    ended: bool = False


class Presses:
    """Takes edges in the order in which they come and tells the presses in them.

    All times are seconds by the clock of `Edge.at_s`; a time before one already told of is taken
    for that one.
    """

    def __init__(self, settings: PressSettings, bound: BoundKinds) -> None:
        self._settings = settings
        self._settle_s = max(settings.debounce_s, REPEAT_GAP_S)
        self._bound = bound
        self._begun: dict[_Key, _Begun] = {}
        self._now_s = float("-inf")
        self._counted: tuple[_Key, float] | None = None
        """Which press counted last, and when it began."""

    def feed(self, edge: Edge) -> list[Press]:
        """The presses told by what went down or up, and by the time until then."""
        told = self.tick(edge.at_s)
        key = _Key(edge.source, edge.key)
        press = self._begun.get(key)
        if edge.down:
            if press is None or press.ended:
                told += self._down(key, press)
            else:
                press.up_s = None  # it bounced, or is held and repeats
        elif press is not None and press.up_s is None:
            press.up_s = self._now_s
        return told + self.tick(self._now_s)

    def tick(self, now_s: float) -> list[Press]:
        """The presses told by the time alone."""
        self._now_s = max(now_s, self._now_s)
        told: list[Press] = []
        while due := self._next_due():
            due_s, key = due
            if due_s > self._now_s:
                break
            told += self._come_due(key, self._begun[key])
        return told

    def due_s(self) -> float | None:
        """When `tick` has something to do next; None while only an edge can change anything."""
        due = self._next_due()
        return None if due is None else due[0]

    def lost(self, source: str) -> None:
        """The source is gone: what is down on it will not come up, and is forgotten."""
        for key, press in list(self._begun.items()):
            if key.source == source and press.up_s is None:
                del self._begun[key]

    def _down(self, key: _Key, before: _Begun | None) -> list[Press]:
        """A press begins; `before` is one of the same key that waits for a second."""
        kinds = self._bound(*key)
        if not kinds:
            return []
        if before is not None:
            self._begin(key, kinds, told=True)
            return [Press(*key, "double")]
        if self._counted is not None:
            other, began_s = self._counted
            if other != key and self._now_s - began_s < self._settings.together_s:
                self._begun[key] = _Begun(kinds, self._now_s, told=True)
                return []
        # Another press ends the waiting for a second one, so that all are told in their order.
        waiting = [other for other, press in self._begun.items() if press.ended]
        for other in waiting:
            del self._begun[other]
        told = [Press(*other, "short") for other in waiting]
        at_once = "long" not in kinds and "double" not in kinds
        self._begin(key, kinds, told=at_once)
        return [*told, Press(*key, "short")] if at_once else told

    def _begin(self, key: _Key, kinds: Collection[Kind], told: bool) -> None:
        self._begun[key] = _Begun(kinds, self._now_s, told)
        self._counted = (key, self._now_s)

    def _next_due(self) -> tuple[float, _Key] | None:
        dues = [
            (due, key)
            for key, press in self._begun.items()
            if (due := self._due_s(press)) is not None
        ]
        return min(dues, default=None)

    def _due_s(self, press: _Begun) -> float | None:
        if press.up_s is not None:
            return press.up_s + (self._settings.double_s if press.ended else self._settle_s)
        if "long" in press.kinds and not press.told:
            return press.down_s + self._settings.long_s
        return None

    def _come_due(self, key: _Key, press: _Begun) -> list[Press]:
        if press.up_s is None:
            press.told = True
            return [Press(*key, "long")]
        if not press.ended and not press.told and "double" in press.kinds:
            press.ended = True
            return []
        del self._begun[key]
        return [] if press.told else [Press(*key, "short")]
