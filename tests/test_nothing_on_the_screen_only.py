"""What a session shows it also says: who knits by ear misses nothing that matters.

What is shown alone, and why, stands in SHOWN_ONLY.
"""

import ast
import re
from pathlib import Path

import numpy as np
from num2words import num2words
from silent_voice import SilentVoice

import caller
from caller.calling import loop
from caller.calling.commands import WAYS, Command
from caller.calling.desk import Desk
from caller.calling.events import (
    Events,
    Following,
    Moved,
    News,
    NotQuiteHeard,
    Pressed,
    Spoken,
    Trouble,
    Typed,
    Unknown,
)
from caller.calling.place import Place
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.storage.journal import FileJournal
from caller.errors import SoundError
from caller.pattern.chart import Chart
from caller.pattern.pattern import Fabric, Pattern, SupplyRules
from caller.pattern.yarns import Yarn
from caller.settings import CallSettings

SHOWN_ONLY = {
    "calling/sitting.py: tell": "it is said in the next line",
    "calling/sitting.py: trouble": "a voice that fails cannot say that it does; the signal sounds",
    "calling/speech.py: last_words": "a loudspeaker that fails in the last words",
    "wiring/voices.py: loudspeaker_or_silence": "there is no loudspeaker",
    "wiring/page.py: with_page": "the page's address: the page is for whoever sees it, and that "
    "it is ready is said",
    "wiring/large.py: with_large": "the row drawn large: its words are said",
}
TOTALS = ("Stopping at row", "That was quick.")
"""Sentences that show of how many rows too; "where am I" says it."""
GRID = np.array([[0] * 8 + [1] * 8, [0] * 4 + [1] * 12] * 8, dtype=np.uint8)
PATTERN = Pattern(
    "Sails",
    Chart(GRID),
    (Yarn("navy", "#1b2a4a"), Yarn("ivory", "#f4efe0")),
    fabric=Fabric(10, tail_cm=10, allowance=0),
    supply_rules=SupplyRules(max_carry=0, bobbin_m=1.0),
)
NUMBERS = {
    **{Command.NEEDLE: ("L3", "R90"), Command.HAPPENED: ("L3", "L3"), Command.BOBBIN: ("L8",)},
    **{
        Command.ROW: ("12", "99"),
        Command.UNRAVEL: ("2", "50"),
        Command.MARK: ("loose edge",),
        Command.REMARK: ("good",),
    },
}
SESSION_FILES = (
    "calling/*.py",
    "calling/listening/*.py",
    "calling/pedals/reader.py",
    "wiring/*.py",
)
NO_SESSION = {
    *("check.py", "check_parts.py", "enrolment.py", "models.py", "next_steps.py"),
    *("phrase_check.py", "spoken_errors.py"),
}
"""Other commands than `knit`."""


def shows() -> set[str]:
    """Where anything is given to the screen: file and function."""
    package, found = Path(caller.__file__).parent, set()
    paths = [path for pattern in SESSION_FILES for path in package.glob(pattern)]
    for path in paths:
        if path.name in NO_SESSION:
            continue
        body = ast.parse(path.read_text(encoding="utf-8")).body
        methods = [one for each in body if isinstance(each, ast.ClassDef) for one in each.body]
        for function in (*body, *methods):
            if not isinstance(function, ast.FunctionDef):
                continue
            for call in ast.walk(function):
                if isinstance(call, ast.Call) and _name(call.func) in _TO_THE_SCREEN:
                    found.add(f"{path.relative_to(package).as_posix()}: {function.name}")
    return found


_TO_THE_SCREEN = ("show", "show_whole", "draw", "print", "echo")


def _name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return "" if ast.unparse(function.value) in ("server", "screen") else function.attr
    return function.id if isinstance(function, ast.Name) else ""


def test_each_place_that_shows_anything_is_known():
    assert shows() == set(SHOWN_ONLY)


class Ears:
    """A desk at which each line of the screen is kept with what was said for it."""

    def __init__(self, tmp_path) -> None:
        self.lines: list[tuple[str, int]] = []
        self.voice, self.events, self.now_s = SilentVoice(), Events(), 0.0
        self.journal = FileJournal(tmp_path / "a.place", PATTERN)
        loudspeaker = SilentLoudspeaker(keep=True)
        self.desk = Desk(
            self.voice, loudspeaker, self.journal, self._show, self.events, self._clock
        )

    def _show(self, line: str) -> None:
        self.lines.append((line, len(self.voice.said)))

    def _clock(self) -> float:
        self.now_s += 10
        return self.now_s

    def told(self):
        """Each line with the words that were said for it."""
        ends = [begun for _, begun in self.lines[1:]] + [len(self.voice.said)]
        for (line, begin), end in zip(self.lines, ends, strict=True):
            yield line, " ".join(self.voice.said[begin:end])


def words(text: str) -> list[str]:
    """In lower case; numbers, needles and lengths in words."""
    text = re.sub(r"\b(\d+)\.5 (c?m)\b", r"\1 and a half \2", text.casefold())
    text = re.sub(r"\b([lr])(\d+)\b", lambda at: f"{_SIDES[at[1]]} {at[2]}", text)
    text = re.sub(r"(\d) cm\b", r"\1 centimetres", text)
    text = re.sub(r"\d+", lambda at: num2words(int(at[0])), text)
    return re.findall("[a-z']+", text)


_SIDES = {"l": "left", "r": "right"}
_GLUE = {"to", "of", "m", "metres", "metre"}
"""Said with other words: "as far as"; "half a metre"."""


def test_every_command_and_event_is_answered_aloud(tmp_path):
    ears = Ears(tmp_path)
    for command in Command:
        if command is Command.LEAVE:
            continue
        ears.events.put(Typed(command.value))
        for number in NUMBERS.get(command, ()):
            ears.events.put(Typed(f"{command.value} {number}"))
        ears.events.put(Spoken(command))
    for way in WAYS:
        for key in way.keys if way.command is not Command.LEAVE else ():
            ears.events.put(Pressed(key))
        if way.command is Command.REMARK:
            for key in ("k", "enter"):
                ears.events.put(Pressed(key))
    for event in (
        *(News("The microphone is back."), Trouble(SoundError("It is gone", "plug it in."))),
        *(Unknown("F13"), Typed("sideways"), Pressed("z"), NotQuiteHeard(), Following()),
        *(Moved(Place(3)), Spoken(Command.ROW, "13", "30", close=True), Command.REPEAT),
        *(Spoken(Command.ROW, "16"), Spoken(Command.YES), *[Command.NEXT] * 4, Command.FINISH),
        *([Command.NEXT] * 12, Spoken(Command.LEAVE), Spoken(Command.YES)),
    ):
        for one in event if isinstance(event, list) else [event]:
            ears.events.put(one)
    loop.run(PATTERN, ears.desk, None, CallSettings(), told=())
    ears.journal.close()
    told = list(ears.told())
    assert len(told) > 90
    for line, said in told:
        missing = set(words(line)) - set(words(said)) - _GLUE
        if line.startswith(TOTALS):
            missing -= set(words(str(len(GRID))))
        assert not missing, (line, said)
