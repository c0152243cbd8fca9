"""Models fetched from where they are published: whole, checked, and only then put in place.

What has come already is kept in a .part file, and the next run carries on from there.
"""

import errno
import hashlib
import shutil
import stat
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus
from http.client import HTTPException, HTTPResponse
from pathlib import Path, PurePosixPath
from typing import BinaryIO
from urllib.error import HTTPError
from urllib.parse import urlsplit
from urllib.request import Request, urlopen

from caller.devices.recognisers.vosk_models import wrong_with
from caller.errors import ListeningError

TIMEOUT_S = 30.0
CHUNK = 1 << 16
UNPACKED = 2
"""About how many times larger a model is when it is unpacked, so that space is asked for early."""
LARGEST_UNPACKED = 10
"""A zip file that unpacks to more times its own size is no model."""
CARRY_ON = "Nothing is lost; the same command carries on."

Progress = Callable[[int, int], None]
"""Is told how many bytes have come, from all runs together, and of how many."""


@dataclass(frozen=True)
class Download:
    """A zip file with one model, in a folder of the model's own `name`."""

    name: str
    address: str
    size: int
    sha256: str
    licence: str


_PUBLISHER = "https://alphacephei.com/vosk/models"

# Sizes and hashes are second-hand: the publisher's page gives neither, and could not be reached
# when this was written. They stand alike in many public programs and package recipes that are
# independent of one another (searched for on 25 November 2026).
DOWNLOADS = (
    Download(
        "vosk-model-small-en-us-0.15",
        f"{_PUBLISHER}/vosk-model-small-en-us-0.15.zip",
        41_205_931,
        "30f26242c4eb449f948e42cb302dd7a686cb29a3423a8367f99ff41780942498",
        "Apache-2.0",
    ),
    Download(
        "vosk-model-en-us-0.22-lgraph",
        f"{_PUBLISHER}/vosk-model-en-us-0.22-lgraph.zip",
        130_557_655,
        "d9838b4aaa82a75c4a17f5aca300eaca129aaab2a7cbf951bafbb500eb9c4334",
        "Apache-2.0",
    ),
)


def fetch(download: Download, home: Path, progress: Progress) -> Path:
    """Fetch a model into a folder of its own in `home`; give that folder.

    Raises ListeningError when it is there already, when there is no network, no space, or not the
    file that was expected; what has come is kept unless it is the wrong file.
    """
    folder = home / download.name
    if folder.exists():
        raise ListeningError(
            f"{folder} is there already.", "To fetch it anew, rename or delete that folder first."
        )
    part = home / f"{download.name}.zip.part"
    try:
        home.mkdir(parents=True, exist_ok=True)
        have = part.stat().st_size if part.exists() else 0
        if have > download.size:
            part.unlink()
            have = 0
        _ask_for_space(home, download.size - have + UNPACKED * download.size)
        if have < download.size:
            _load(download, part, have, progress)
        _check_hash(download, part)
        _unpack(download, part, folder)
        part.unlink()
    except OSError as error:
        if error.errno == errno.ENOSPC:
            raise ListeningError("The disk is full.", f"Make space in {home}. {CARRY_ON}") from None
        raise ListeningError(
            f"The model cannot be written to {home}: {error.strerror or error}.", CARRY_ON
        ) from None
    return folder


def _ask_for_space(home: Path, wanted: int) -> None:
    free = shutil.disk_usage(home).free
    if free < wanted:
        raise ListeningError(
            f"There is not enough space in {home}: {_mb(wanted)} are needed and {_mb(free)} are "
            "free.",
            "Make space, then give the same command again.",
        )


def _load(download: Download, part: Path, have: int, progress: Progress) -> None:
    """Append what is missing to the .part file."""
    with _asked(download, part, have) as answer:
        have = _begins_at(download, answer, have)
        with part.open("ab" if have else "wb") as file:
            have = _pour(answer, file, have, download.size, progress)
    if have < download.size:
        raise ListeningError(
            f"The network broke off after {_mb(have)} of {_mb(download.size)}.", CARRY_ON
        )
    if have > download.size:
        part.unlink()
        raise _another_file(download, "it is longer")


def _asked(download: Download, part: Path, have: int) -> HTTPResponse:
    """The server's answer to the request for all bytes from `have` on."""
    host = urlsplit(download.address).hostname
    # Without this a server may pack what it sends, and places in it could not be asked for.
    headers = {"User-Agent": "caller", "Accept-Encoding": "identity"}
    if have:
        headers["Range"] = f"bytes={have}-"
    try:
        answer: HTTPResponse = urlopen(
            Request(download.address, headers=headers), timeout=TIMEOUT_S
        )
    except HTTPError as error:
        if error.code == HTTPStatus.REQUESTED_RANGE_NOT_SATISFIABLE:
            part.unlink()
            raise _another_file(download, "it is shorter") from None
        raise ListeningError(
            f"{host} does not give the model: it answers {error.code} {error.reason}.",
            f"Try again later, or look at {_PUBLISHER}. {CARRY_ON}",
        ) from None
    except (HTTPException, ValueError) as error:
        raise ListeningError(f"{host} answers nonsense ({error}).", CARRY_ON) from None
    except OSError as error:
        raise ListeningError(
            f"There is no network, or {host} cannot be reached ({_reason(error)}).", CARRY_ON
        ) from None
    return answer


def _begins_at(download: Download, answer: HTTPResponse, asked: int) -> int:
    """Where in the file the answer begins; ListeningError when it belongs to another file.

    A server answers 206 to a request for a part, or 200 with all of it (RFC 9110, 14.2 and 15.3.7).
    """
    begins, size = 0, answer.headers.get("Content-Length")
    if answer.status == HTTPStatus.PARTIAL_CONTENT:
        span, _, size = (answer.headers.get("Content-Range") or "").partition("/")
        if span != f"bytes {asked}-{download.size - 1}":
            raise _another_file(download, f"the server sends {span or 'another part'}")
        begins = asked
    if size not in (None, "*", str(download.size)):
        raise _another_file(download, f"it has {size} bytes and not {download.size}")
    return begins


def _pour(answer: HTTPResponse, file: BinaryIO, have: int, size: int, progress: Progress) -> int:
    """Write the answer to the file until it ends or is too long; how much there is then."""
    progress(have, size)
    while have <= size:
        try:
            chunk = answer.read1(CHUNK)
        except (OSError, HTTPException):  # broken off, or silent for too long
            break
        if not chunk:
            break
        file.write(chunk)
        have += len(chunk)
        progress(have, size)
    return have


def _check_hash(download: Download, part: Path) -> None:
    with part.open("rb") as file:
        found = hashlib.file_digest(file, "sha256").hexdigest()
    if found != download.sha256:
        part.unlink()
        raise _another_file(download, f"its SHA-256 is {found} and not {download.sha256}")


def _another_file(download: Download, how: str) -> ListeningError:
    return ListeningError(
        f"What {urlsplit(download.address).hostname} gives is not the file that {download.name} "
        f"was known by: {how}. Nothing was unpacked.",
        "Try once more; if that does not help, put a model in place by hand; row-caller models "
        "tells the places.",
    )


def _unpack(download: Download, archive: Path, folder: Path) -> None:
    """Unpack beside the place where the model belongs, and move it there when it is whole."""
    with tempfile.TemporaryDirectory(prefix=".unpacking-", dir=folder.parent) as staged:
        try:
            with zipfile.ZipFile(archive) as packed:
                entries = packed.infolist()
                size = sum(entry.file_size for entry in entries)
                if size > LARGEST_UNPACKED * max(download.size, 1):
                    raise _unfit(download, "unpacks to far too much")
                for entry in entries:
                    if not _is_plain(entry, download.name):
                        raise _unfit(download, f"holds {entry.filename!r}")
                _ask_for_space(folder.parent, size)
                for entry in entries:
                    _unpack_one(packed, entry, Path(staged))
        except (
            zipfile.BadZipFile,
            zlib.error,
            EOFError,
            NotImplementedError,
            RuntimeError,
            ValueError,
        ):
            raise _unfit(download, "cannot be unpacked") from None
        if wrong := wrong_with(Path(staged, download.name)):
            raise _unfit(download, f"holds no usable model ({wrong})")
        Path(staged, download.name).rename(folder)


def _is_plain(entry: zipfile.ZipInfo, top: str) -> bool:
    """Whether an entry is a file or a folder inside the folder `top`, and no link or device."""
    path = PurePosixPath(entry.filename)
    kind = stat.S_IFMT(entry.external_attr >> 16)  # 0 where it was packed without
    return (
        path.parts[:1] == (top,)
        and ".." not in path.parts
        and not any(sign in entry.filename for sign in "\\:\0")
        and kind in (0, stat.S_IFDIR if entry.is_dir() else stat.S_IFREG)
    )


def _unpack_one(packed: zipfile.ZipFile, entry: zipfile.ZipInfo, staged: Path) -> None:
    path = staged / entry.filename
    if entry.is_dir():
        path.mkdir(parents=True, exist_ok=True)
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    with packed.open(entry) as source, path.open("xb") as file:
        shutil.copyfileobj(source, file)


def _unfit(download: Download, what: str) -> ListeningError:
    return ListeningError(
        f"The zip file of {download.name} {what}, so it was not put in place.",
        "Put a model in place by hand; row-caller models tells the places.",
    )


def _reason(error: OSError) -> str:
    cause = getattr(error, "reason", error)  # urllib wraps what it meets
    return str(getattr(cause, "strerror", None) or cause)


def _mb(size: int) -> str:
    return f"{size / 1e6:.0f} MB"
