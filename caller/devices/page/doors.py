"""Who may look at the page and press its buttons: the address, its code, and how often.

A page of another site that runs in the knitter's browser can reach this computer too. It knows no
code, and the browser tells where it is from: `Origin` names another site, and a name that was
pointed at this computer stands in `Host`.
"""

import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

CODE_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"
"""Without i, l, o, 0 and 1, which are taken for one another."""
CODE_LENGTH = 10
"""Such a code is one of 8 x 10^14."""

MOST_AT_ONCE = 40
"""Requests that one computer may make at once, after a rest."""
MOST_A_SECOND = 10
WRONG_COSTS = 10
"""A request with a wrong code counts as so many."""
_MOST_REMEMBERED = 256


def new_code() -> str:
    """A code for one session, from the system's own source of chance."""
    return "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))


@dataclass(frozen=True)
class Door:
    """The one address of a session: `host` and `port` as they stand in it, and the code.

    On this computer alone it may be called "localhost" too.
    """

    host: str
    port: int
    code: str

    @property
    def address(self) -> str:
        return f"http://{self.host}:{self.port}/{self.code}/"

    def refuses(self, host: str | None, origin: str | None, code: str, moves: bool) -> int:
        """The HTTP status by which a request is refused, 0 where it is not.

        What `moves` must name its origin, for every browser does so; what only looks need not.
        """
        hosts = [f"{self.host}:{self.port}"]
        if self.host == "127.0.0.1":
            hosts.append(f"localhost:{self.port}")
        if host is None or host.lower() not in hosts:
            return 421  # misdirected request (RFC 9110, 15.5.20)
        if origin is None and moves:
            return 403
        if origin is not None and origin.lower() != f"http://{host.lower()}":
            return 403
        if not secrets.compare_digest(code.encode(), self.code.encode()):
            return 404
        return 0


@dataclass
class Rates:
    """How often each computer asks: a bucket of MOST_AT_ONCE, refilled by MOST_A_SECOND."""

    clock: Callable[[], float] = time.monotonic
    _buckets: OrderedDict[str, tuple[float, float]] = field(default_factory=OrderedDict)

    def too_often(self, computer: str, cost: int = 1) -> bool:
        """Count a request of this computer; whether its bucket was too empty for it."""
        now_s = self.clock()
        left, since_s = self._buckets.pop(computer, (float(MOST_AT_ONCE), now_s))
        left = min(MOST_AT_ONCE, left + (now_s - since_s) * MOST_A_SECOND)
        refused = left < 1
        self._buckets[computer] = (left if refused else max(0.0, left - cost), now_s)
        while len(self._buckets) > _MOST_REMEMBERED:
            self._buckets.popitem(last=False)
        return refused
