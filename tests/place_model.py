"""A small model of the place, written from what the knitters' pages say and not from the code.

It knows of a piece only how many portions each row is called in, how many portions of ends are hung
before row 1 and how many steps the finishing has. `after` gives the model after something was said,
typed or pressed at a time; what is told, and in which words, is none of its concern.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from statistics import median

WAITS_S, HURRY_S, HURRIED_MOST = 30.0, 6.0, 3
MOVES = ("next", "back", "repeat")
NEEDLES = ("needle", "happened", "bobbin")
TELLS = ("where", "slower", "faster", "remaining", "supplies", "changes", "yarn", "help")
NAMES = {
    *(*MOVES, *NEEDLES, *TELLS, "leave", "row", "unravel", "finish", "mark", "remark", "pause"),
    *("listen", "yes"),
}
KEYS = {
    **dict.fromkeys(("space", "enter", "pagedown", "right"), "next"),
    **dict.fromkeys(("r", "up"), "repeat"),
    **dict.fromkeys(("b", "left", "pageup", "backspace"), "back"),
    **{"w": "where", "q": "leave", "-": "slower", "+": "faster", "t": "remaining"},
    **{"n": "needle", "s": "supplies", "c": "changes", "g": "row", "u": "unravel"},
    **{"i": "happened", "a": "yarn", "e": "bobbin", "f": "finish", "m": "mark", "p": "pause"},
    **{"o": "remark", "l": "listen", "y": "yes", "?": "help", "h": "help"},
}


@dataclass(frozen=True)
class Piece:
    """`portions` of each row, row 1 first; `hung` before row 1, 0 where all is told with row 1."""

    portions: tuple[int, ...]
    hung: int
    steps: int

    @property
    def rows(self) -> int:
        return len(self.portions)


def parts(count: int, most: int) -> list[int]:
    """Where the parts of a row begin, as numpy.array_split parts it, which is documented."""
    import numpy as np

    return [int(part[0]) for part in np.array_split(np.arange(count), -(-count // most))]


@dataclass(frozen=True)
class Question:
    """What waits for a yes: `command` to `row`, `count` rows back; `other` was heard as likely."""

    command: str
    row: int
    asked_s: float
    count: int = 0
    other: str = ""


@dataclass(frozen=True)
class Model:
    """Where the knitter is: `portion` of a row, a `step` of the finishing, or ends `hanging`.

    `by` is what was done last: after a yes, what was asked about.
    """

    piece: Piece
    row: int = 1
    portion: int = 0
    hanging: int | None = None
    step: int | None = None
    question: Question | None = None
    spelling: tuple[str, str] | None = None
    listening: bool = True
    remarks: Mapping[int, str] = field(default_factory=dict)
    entered_s: float = 0.0
    hurried: int = 0
    times_s: Sequence[float] = ()
    left: bool = False
    by: str = ""

    def begun(self, now_s: float) -> "Model":
        """A new session at the same place."""
        first = (self.row, self.portion) == (1, 0) and self.piece.hung
        return Model(
            self.piece,
            self.row,
            self.portion,
            0 if first else None,
            self.step,
            remarks=self.remarks,
            entered_s=now_s,
        )

    @property
    def finished(self) -> bool:
        return self.row > self.piece.rows

    def spoken(self, command: str, number: str, rival: str, close: bool, now_s: float) -> "Model":
        if not self.listening and command != "listen":
            return self
        if command == "yes" and not self._waits(now_s):
            return self
        return self._ordered(command, number, now_s, True, rival, close)

    def pedal(self, command: str, now_s: float) -> "Model":
        return self._ordered(command, "", now_s)

    def pressed(self, key: str, now_s: float) -> "Model":
        if self.spelling is not None:
            command, keys = self.spelling
            sides = ("l", "r") if command in NEEDLES else ()
            if command == "remark" and (len(key) == 1 or key == "space"):
                typed = keys + (" " if key == "space" else key)
                return replace(self, spelling=(command, typed), question=None, hurried=0)
            if key == "space":
                return replace(self, question=None, hurried=0)
            if key == "backspace":
                return replace(self, spelling=(command, keys[:-1]), question=None, hurried=0)
            if key == "enter":
                quiet = replace(self, spelling=None)
                return quiet._ordered(command if keys.strip() else "none", keys.strip(), now_s)
            if key.isdecimal() or key in sides:
                return replace(self, spelling=(command, keys + key), question=None, hurried=0)
        return self._ordered(KEYS[key], "", now_s) if key in KEYS else self

    def typed(self, line: str, now_s: float) -> "Model":
        word, _, rest = line.strip().partition(" ")
        command = word if word in NAMES else KEYS.get(word, "")
        if rest and command in (*NEEDLES, "row", "unravel", "mark", "remark"):
            return self._ordered(command, rest.strip(), now_s)
        if not line.strip() and self.spelling is not None:
            return self.pressed("enter", now_s)
        if not line.strip():
            return self._ordered("next", "", now_s)
        if rest or not command:
            if self.spelling is not None and not self.spelling[1]:
                return self._ordered(self.spelling[0], line.strip(), now_s)
            return self
        return self._ordered(command, "", now_s)

    def _waits(self, now_s: float) -> bool:
        return self.question is not None and now_s - self.question.asked_s <= WAITS_S

    def _ordered(
        self,
        command: str,
        number: str,
        now_s: float,
        spoken: bool = False,
        rival: str = "",
        close: bool = False,
    ) -> "Model":
        asked = self.question if self._waits(now_s) else None
        done = asked.command if asked is not None and command == "yes" else command
        now = replace(self, question=None, spelling=None, by=done)
        now = replace(now, hurried=self.hurried if spoken else 0)
        if asked is None:
            return now._obeyed(command, number, now_s, spoken, rival, close)
        if asked.other and number:
            close = False
        elif number and rival and (command, number) == (asked.command, _told(asked)):
            number, rival, close = rival, "", False
        if command == "back" and asked.other:
            return now._asked(asked.command, asked.other, now_s, "", False)
        if command == "yes" and asked.command == "leave":
            return replace(now, left=True)
        if command == "yes":
            return replace(
                now,
                **{"row": asked.row, "portion": 0, "hanging": None, "step": None},
                **{"entered_s": now_s, "hurried": 0},
            )
        if command == "repeat":
            return replace(now, question=replace(asked, asked_s=now_s))
        if command in ("next", "back"):
            return now
        if command == "leave" and spoken and asked.command == "leave":
            return replace(now, left=True)
        return now._obeyed(command, number, now_s, spoken and command == "leave", rival, close)

    def _obeyed(
        self, command: str, number: str, now_s: float, spoken: bool, rival: str, close: bool
    ) -> "Model":
        if number and command in ("mark", "remark"):
            return (
                self if self.finished else replace(self, remarks={**self.remarks, self.row: number})
            )
        if number:
            return self if command in NEEDLES else self._asked(command, number, now_s, rival, close)
        match command:
            case "leave" if spoken:
                return replace(self, question=Question("leave", self.row, now_s))
            case "leave":
                return replace(self, left=True)
            case "next" | "back":
                return self._moved(command, now_s, spoken)
            case "pause" | "listen":
                return replace(self, listening=command == "listen")
            case "finish" if self.finished:
                return replace(self, step=0)
            case "mark" if not self.finished:
                rest = {row: text for row, text in self.remarks.items() if row != self.row}
                marked = self.row in self.remarks
                return replace(self, remarks=rest if marked else {**rest, self.row: ""})
            case "row" | "unravel" | "happened":
                return replace(self, spelling=(command, ""))
            case "needle" | "bobbin" | "remark" if not self.finished:
                return replace(self, spelling=(command, ""))
        return self

    def _asked(self, command: str, number: str, now_s: float, rival: str, close: bool) -> "Model":
        asked = self._question(command, number, now_s)
        if asked is not None and close and self._question(command, rival, now_s) is not None:
            asked = replace(asked, other=rival)
        return replace(self, question=asked)

    def _question(self, command: str, number: str, now_s: float) -> Question | None:
        count = int(number) if number.isascii() and number.isdecimal() else 0
        if command == "row" and 1 <= count <= self.piece.rows:
            return Question(command, count, now_s)
        if command == "unravel" and 1 <= count < self.row:
            return Question(command, self.row - count, now_s, count)
        return None

    def _moved(self, command: str, now_s: float, spoken: bool) -> "Model":
        ahead = command == "next"
        if self.hanging is not None:
            if ahead and self.hanging + 1 == self.piece.hung:
                return replace(self, hanging=None, entered_s=now_s)
            if ahead:
                return replace(self, hanging=self.hanging + 1, entered_s=now_s)
            return replace(self, hanging=max(0, self.hanging - 1))
        if self.step is not None:
            if ahead:
                return replace(self, step=min(self.step + 1, self.piece.steps - 1))
            return replace(self, step=self.step - 1 if self.step else None)
        if ahead and self.finished:
            return replace(self, step=0)
        if not ahead and (self.row, self.portion) == (1, 0):
            return replace(self, hanging=self.piece.hung - 1) if self.piece.hung else self
        if ahead and self.portion + 1 < self.piece.portions[self.row - 1]:
            return replace(self, portion=self.portion + 1)
        if not ahead and self.portion:
            return replace(self, portion=self.portion - 1, entered_s=now_s)
        return self._to_another_row(ahead, now_s, spoken)

    def _to_another_row(self, ahead: bool, now_s: float, spoken: bool) -> "Model":
        row = self.row + 1 if ahead else self.row - 1
        portion = 0 if ahead else self.piece.portions[row - 1] - 1
        took_s = now_s - self.entered_s
        there = replace(self, row=row, portion=portion, entered_s=now_s)
        timed = replace(there, times_s=(*self.times_s, took_s)[-9:]) if ahead else there
        if not spoken or self.finished:
            return timed
        hurry_s = median(self.times_s) / 2 if len(self.times_s) >= 3 else HURRY_S
        if took_s >= hurry_s:
            return replace(timed, hurried=1)
        if self.hurried + 1 < HURRIED_MOST:
            return replace(there, hurried=self.hurried + 1)
        return replace(self, hurried=0)


def _told(asked: Question) -> str:
    return str(asked.count if asked.command == "unravel" else asked.row)
