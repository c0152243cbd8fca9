"""What is kept of a piece of work from one evening to the next: plain data."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from caller.calling.place import Place
from caller.pattern.laying import Laying
from caller.pattern.winding import Refill

Source = Literal["word", "key", "page", "pedal", "line", "follow", ""]
"""What a move came from; "follow" is the call that went on by itself, "" is not known."""


@dataclass(frozen=True)
class Kept:
    """Where a piece of work stands.

    `laying` is how it is called, and `of_pattern` how the pattern had it then, which differs where
    the knitter chose to go on as it hangs. `below` is the checksum of the rows below the place,
    None in places that older versions kept. `moves` counts what was kept so far; of two records of
    one piece the one with more moves is the newer one. `work` names the piece wherever its files
    go. `marked` and `remarks` are by rows; `refills` are the bobbins that were filled meanwhile.
    """

    place: Place
    laying: Laying
    of_pattern: Laying
    work: str
    moves: int = 0
    below: str | None = None
    marked: frozenset[int] = frozenset()
    remarks: Mapping[int, str] = field(default_factory=dict)
    refills: tuple[Refill, ...] = ()


@dataclass(frozen=True)
class Move:
    """One move, or the end of a sitting: when, to where, by which command, and from what.

    `at` has its time zone. `sitting` names the session it was made in.
    """

    at: datetime
    place: Place
    command: str = ""
    source: Source = ""
    sitting: str = ""
