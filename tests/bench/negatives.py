"""Other people's talk, none of it a command: what listening must let pass.

Human speech comes from Debian packages, fetched once with apt-get into the user's cache: the
dialogues of two adventures in English, played by actors (free to use and pass on), the prompts of a
telephone exchange in five languages (CC BY-SA), the dialogues of two games and the orders of a
third (GPL), the words of a children's game in many languages, and PocketSphinx's own test
sentences. Synthetic speakers read the licence of this project. No sound is used twice.
"""

import io
import re
import shutil
import struct
import subprocess
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import keeping
import numpy as np
import soundfile
import sounds
import speakers
from sounds import RATE, Sound

from caller.devices.sound.resample import resampled
from caller.devices.sound.sound_files import read_sound
from caller.errors import CallerError

COLOURS = "red orange yellow green blue purple pink brown black white grey cream".split()  # noqa: SIM905
NUMBERS = "two six eleven fourteen twenty thirty forty-one eighty ninety-nine".split()  # noqa: SIM905
UNTAUGHT = (
    *("red", "green", "blue", "yellow", "dark green", "white", "black", "thirty", "eighty eight"),
    *("twelve", "to the right", "to left thirty", "row twelve", "hello there", "thank you"),
    *("what is that", "give me the yarn", "put the kettle on", "yes please", "no", "oh dear"),
    *("good morning", "text", "neck", "bag", "peat", "beat", "pack", "there", "wear", "leaf"),
    *("live", "slow", "lower", "fast", "master", "rain", "needles", "noodle", "supplied"),
    *("changed", "change", "held", "yelp", "kettle", "coffee", "carriage", "wool", "ninety"),
    *("seventeen", "where is it", "sorry", "come in", "see you later", "nice", "one more"),
    *("the cat", "stop it"),
)
"""What a knitter also says."""
ALIKE = {
    *("text", "neck", "bag", "peat", "beat", "pack", "there", "wear", "leaf", "live", "slow"),
    *("lower", "fast", "master", "rain", "needles", "noodle", "supplied", "changed", "change"),
    *("held", "yelp"),
}
"""Those of it that nearly are a command's name."""
LICENCE = Path(__file__).parents[2] / "LICENSE"


@dataclass(frozen=True)
class Source:
    """Sound files of one package; people of one source are in no other.

    `part` is "choose" where thresholds may be chosen on it, else "report". `named` is what a file's
    name must match.
    """

    name: str
    package: str
    pattern: str
    people: str
    part: str
    named: str = ""


ADVENTURE = "flight-of-the-amazon-queen"
ORDERS = r"audio/(coltive|extra|memressp|nexus|proxmessages|taunts|trnsppil|tutorial|vtoltalk)/"
SOURCES = (
    # By the names of its files, the lines of the hero and of places against those of other people.
    Source("dialogue, English", ADVENTURE, "queen.1c", "about 30 actors", "report", r".{6}P"),
    Source("dialogue, English, hero", ADVENTURE, "queen.1c", "a few actors", "choose", r".{6}[^P]"),
    Source("dialogue, English, second", "beneath-a-steel-sky", "sky.dsk", "about 20", "report"),
    Source("prompts, English", "asterisk-core-sounds-en-g722", "*.g722", "1 woman", "report"),
    Source("prompts, French", "asterisk-core-sounds-fr-g722", "*.g722", "1 woman", "report"),
    Source("prompts, Russian", "asterisk-core-sounds-ru-g722", "*.g722", "1 woman", "report"),
    Source("orders, English", "warzone2100-data", "base.wz", "about 10 actors", "choose", ORDERS),
    Source("prompts, Italian", "asterisk-core-sounds-it-g722", "*.g722", "1 man", "choose"),
    Source("game talk, Dutch", "fillets-ng-data-nl", "*.ogg", "a few", "report"),
    Source("game talk, Czech", "fillets-ng-data-cs", "*.ogg", "a few", "choose"),
    Source("game calls, English", "hedgewars-data", "Sounds/voices/*/*.ogg", "about 10", "report"),
    Source("single words, 24 languages", "ktuberling-data", "*.[ow][ga][gv]", "about 24", "report"),
    Source("sentences, English", "pocketsphinx-testdata", "*.wav", "about 4", "report"),
)
MACHINES, MACHINES_NAMED = "lincity-ng-data", r"(Blacksmith|Industry|Textile|Mill|CoalMine)"
MUSIC = "asterisk-moh-opsound-g722"
BABBLE = "asterisk-core-sounds-es-g722"
STROKES = "bucklespring-data"
"""Played under the commands: five pieces of music, one woman's prompts in Spanish, and a keyboard
with steel springs."""

_QUEEN_HEADER, _QUEEN_ENTRY = 13, struct.Struct(">12sBII")
_SKY_SPEECH, _SKY_HEADER, _SKY_RATE = range(50_000, 55_000), 22, 11_025


def unpacked(package: str) -> Path:
    """The folder of a Debian package's content; CalledProcessError where it cannot be had."""
    folder = keeping.folder() / "packages" / package
    if not folder.exists():
        fetched = folder.with_suffix(".part")
        shutil.rmtree(fetched, ignore_errors=True)
        fetched.mkdir(parents=True)
        subprocess.run(
            ["apt-get", "download", "-qq", "-o", "APT::Sandbox::User=root", package],
            cwd=fetched,
            check=True,
        )
        [archive] = fetched.glob("*.deb")
        subprocess.run(["dpkg-deb", "-x", archive.name, "."], cwd=fetched, check=True)
        archive.unlink()
        fetched.replace(folder)
    return folder


def files(package: str, pattern: str, named: str = "") -> list[Sound]:
    """Every sound file of a package whose name begins with `named`, a regular expression.

    At 16,000 samples a second, in the order of their names.
    """
    found, met = [], set()
    for path in sorted(unpacked(package).rglob(pattern)):
        if path.suffix in _IN_ONE_FILE:
            found += _IN_ONE_FILE[path.suffix](path, named)
            continue
        if not re.match(named, path.name):
            continue
        content = keeping.digest(path.read_bytes())
        if content in met:
            continue
        met.add(content)
        if path.suffix == ".g722":
            found.append(_g722(path))
            continue
        try:
            read = read_sound(path)
        except CallerError:
            continue
        found.append(resampled(read.samples, read.rate, RATE))
    return [sound for sound in found if len(sound)]


def talk(source: Source) -> list[Sound]:
    return files(source.package, source.pattern, source.named)


def licence_read(readers: list[speakers.Speaker]) -> list[Sound]:
    """The licence, paragraph by paragraph, each by the next reader."""
    text = LICENCE.read_text(encoding="utf-8").split("END OF TERMS")[0]
    paragraphs = [" ".join(part.split()) for part in re.split(r"\n\s*\n", text)]
    spoken = [re.sub(r"[^\w\s,.;:'-]", " ", part) for part in paragraphs if len(part) > 40]
    read = []
    for number, reader in enumerate(readers):
        share = tuple(spoken[number :: len(readers)])
        read += speakers.said(reader, share, 0)
    return read


def own_clauses() -> list[Sound]:
    """What the caller itself says in a call, clause by clause, in espeak's voice."""
    texts = [f"Row {number}, to the right." for number in NUMBERS]
    texts += [
        f"{colour}, to {('left', 'right')[place % 2]} {NUMBERS[place % len(NUMBERS)]}."
        for place, colour in enumerate(COLOURS)
    ]
    texts += ["Your place is kept.", "The picture is finished.", *COLOURS, *NUMBERS]
    texts += ["row", "to", "left", "right", "twelve", "hundred", "needle", "yarn"]
    voices = ("en-us", "en-gb-x-rp", "en-gb-scotland", "en-us+f2", "en-029")
    return [sound for voice in voices for sound in sounds.spoken(tuple(texts), voice, 160)]


def first_minutes(files_: list[Sound], most: float) -> list[Sound]:
    """As many whole files as fit."""
    ends = np.cumsum([len(sound) for sound in files_]) / RATE / 60
    return files_[: int(np.searchsorted(ends, most, side="right"))]


def stretches(files_: list[Sound], seconds: float = 60.0, gap_s: float = 0.5) -> Iterator[Sound]:
    """The files one after another, half a second of quiet between, a minute or so at a time."""
    waiting: list[Sound] = []
    for sound in files_:
        waiting.append(sound)
        if sum(map(len, waiting)) > seconds * RATE:
            yield sounds.apart(waiting, gap_s)
            waiting = []
    if waiting:
        yield sounds.apart(waiting, gap_s)


def _bundled(path: Path, named: str) -> list[Sound]:
    """The lines in an adventure's one file: a table of names, places and sizes, then MP3 sound."""
    content = path.read_bytes()
    (count,) = struct.unpack_from(">H", content, _QUEEN_HEADER)
    found = []
    for number in range(count):
        place = _QUEEN_HEADER + 2 + number * _QUEEN_ENTRY.size
        name, _, begin, size = _QUEEN_ENTRY.unpack_from(content, place)
        if b".SB" not in name or not re.match(named, name.decode("ascii", "replace")):
            continue
        try:
            samples, rate = soundfile.read(io.BytesIO(content[begin : begin + size]), dtype="int16")
        except soundfile.LibsndfileError:
            continue
        found.append(resampled(samples, rate, RATE))
    return found


def _zipped(path: Path, named: str) -> list[Sound]:
    found = []
    with zipfile.ZipFile(path) as archive:
        for name in sorted(archive.namelist()):
            if not (re.match(named, name) and name.endswith(".ogg")):
                continue
            samples, rate = soundfile.read(io.BytesIO(archive.read(name)), dtype="int16")
            found.append(resampled(samples.reshape(len(samples), -1)[:, 0], rate, RATE))
    return found


def _numbered(path: Path, _named: str) -> list[Sound]:
    """The lines in the other adventure's one file, 8-bit sound, by the table of numbers beside it:
    each entry a number, where it begins (three bytes), and how long it is (22 bits)."""
    content, table = path.read_bytes(), path.with_suffix(".dnr").read_bytes()
    found = []
    for at in range(4, len(table) - 7, 8):
        number = int.from_bytes(table[at : at + 2], "little")
        begin = int.from_bytes(table[at + 2 : at + 5], "little")
        size = int.from_bytes(table[at + 5 : at + 8], "little") & 0x3F_FFFF
        if number not in _SKY_SPEECH:
            continue
        if begin >> 23:
            begin = (begin & 0x7F_FFFF) << 4
        bytes_ = np.frombuffer(content[begin + _SKY_HEADER : begin + size], dtype=np.uint8)
        samples = ((bytes_.astype(np.int16) - 128) * 256).astype(np.int16)
        found.append(resampled(samples, _SKY_RATE, RATE))
    return found


_IN_ONE_FILE = {".1c": _bundled, ".dsk": _numbered, ".wz": _zipped}


def _g722(path: Path) -> Sound:
    import av

    with av.open(str(path), format="g722") as file:
        parts = [frame.to_ndarray().ravel() for frame in file.decode(audio=0)]
    return np.concatenate(parts).astype(np.int16) if parts else np.zeros(0, dtype=np.int16)
