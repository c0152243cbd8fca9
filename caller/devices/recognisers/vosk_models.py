"""Folders of Vosk models: where they are looked for, and what is wrong with one.

Everything is checked before it reaches the library, which ends the process when it is given a
broken model.
"""

import os
import struct
from dataclasses import dataclass
from pathlib import Path

from caller.errors import ListeningError

ENVIRONMENT = "CALLER_VOSK_MODEL"
ACOUSTICS = Path("am", "final.mdl")
"""Every model folder holds this file."""


@dataclass(frozen=True)
class ModelPlace:
    """A place where models are looked for: `why` it is one, and the model folders in it.

    `named` places are the folder of one model, which may be missing; others hold any number.
    """

    why: str
    folder: Path
    models: tuple[Path, ...]
    named: bool


def model_home() -> Path:
    """The folder for models in the user's own data folder."""
    import platformdirs

    return platformdirs.user_data_path("caller") / "models"


def model_places(given: Path | None) -> tuple[ModelPlace, ...]:
    """Every place where a model is looked for, the first one first."""
    places = []
    if given is not None:
        places.append(ModelPlace("named by --model", given, (given,), True))
    if named := os.environ.get(ENVIRONMENT):
        folder = Path(named)
        places.append(ModelPlace(f"named by {ENVIRONMENT}", folder, (folder,), True))
    for why, home in (
        ("the folder models where caller was started", Path("models")),
        ("your data folder", model_home()),
    ):
        # Unpacking may put the model's folder into another of the same name.
        found = sorted([*home.glob(f"*/{ACOUSTICS}"), *home.glob(f"*/*/{ACOUSTICS}")])
        places.append(ModelPlace(why, home, tuple(file.parent.parent for file in found), False))
    return tuple(places)


def find_model(given: Path | None) -> Path | None:
    """The model folder to use: the one given, else the one named by CALLER_VOSK_MODEL, else the
    first by name in ./models or in the user's data folder; None when there is none.

    Models that are seen to be broken are passed over for one that is whole. A folder that was named
    is not looked into here; VoskRecogniser says what is wrong with it.
    """
    places = model_places(given)
    if places[0].named:
        return places[0].folder
    found = [model for place in places for model in place.models]
    return next((model for model in found if wrong_with(model) is None), next(iter(found), None))


def is_named(given: Path | None) -> bool:
    """Whether the model to use was named, on the command line or in the environment."""
    return model_places(given)[0].named


def wrong_with(folder: Path) -> ListeningError | None:
    """What is seen to be wrong with a model folder, without loading it."""
    try:
        check_folder(folder)
    except ListeningError as error:
        return error
    return None


def check_folder(folder: Path) -> None:
    """ListeningError for a folder that holds no usable model."""
    try:
        if not folder.is_dir():
            raise broken(folder, "is a file" if folder.is_file() else "is not there")
        if not (folder / ACOUSTICS).is_file():
            raise broken(folder, f"holds no {ACOUSTICS.as_posix()}")
        graph = folder / "graph" / "HCLr.fst"
        if not graph.is_file() and (folder / "graph" / "HCLG.fst").is_file():
            raise ListeningError(
                f"The Vosk model in {folder} has a fixed graph, so it cannot be told which "
                "commands to expect.",
                "Use a small or an lgraph model; row-caller models names two.",
            )
        if not graph.is_file():
            raise broken(folder, "holds no graph/HCLr.fst")
        if _cut_short(graph) or not (folder / "graph" / "Gr.fst").is_file():
            raise broken(folder, "was not unpacked whole")
    except OSError as error:
        raise broken(folder, f"cannot be read ({error.strerror})") from None


def _cut_short(graph: Path) -> bool:
    """Whether a graph is no graph or shorter than its header says; the library would end the
    process.

    OpenFst's header (FstHeader::Read in its source): a magic number, then type and kind of arc,
    each with its length before it, int32 version and flags, uint64 properties, int64 first state,
    number of states and of arcs. A state takes 20 bytes and an arc 16 (as in the model tried).
    """
    with graph.open("rb") as file:
        head = file.read(400)
    if len(head) < 400 or not head.startswith(b"\xd6\xfd\xb2\x7e"):
        return True
    _, found, rest = head.partition(b"const\x08\0\0\0standard")
    if not found or len(rest) < 40:
        return False  # laid out in a way not met yet: let the library try
    *_, states, arcs = struct.unpack_from("<iiQqqq", rest)
    return graph.stat().st_size < int(states) * 20 + int(arcs) * 16


def broken(folder: Path, what: str) -> ListeningError:
    """The error for a model folder of which `what` is true."""
    return ListeningError(
        f"The Vosk model folder {folder} {what}.",
        "row-caller models tells where models are looked for and how to get one; without one, "
        "PocketSphinx listens.",
    )
