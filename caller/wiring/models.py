"""Models for listening: which are there, which one is used, and fetching another."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from caller.calling.commands import WORDS
from caller.devices.recognisers import model_download
from caller.devices.recognisers.model_download import DOWNLOADS, Progress
from caller.devices.recognisers.vosk_models import (
    ModelPlace,
    find_model,
    model_home,
    model_places,
    wrong_with,
)
from caller.devices.recognisers.vosk_trial import Trial, try_model
from caller.devices.storage import settings_file
from caller.errors import ListeningError, SettingError
from caller.settings import ListeningSettings
from caller.wiring.recognisers import choose_recogniser


@dataclass(frozen=True)
class FoundModel:
    """A model folder, and what is seen to be wrong with it without loading it."""

    folder: Path
    wrong: ListeningError | None


Places = tuple[tuple[ModelPlace, tuple[FoundModel, ...]], ...]


@dataclass(frozen=True)
class Engines:
    """What can listen here.

    `recogniser` is the engine that these settings choose, None when it cannot be had; `model` the
    Vosk model that it would load, and `why` says so in a sentence. `places` hold the models, the
    first place first. `others` are the engines that need no Vosk model, with what is wrong with
    each.
    """

    recogniser: str | None
    model: Path | None
    why: str
    places: Places
    others: tuple[tuple[str, ListeningError | None], ...]


def list_engines(settings: ListeningSettings) -> Engines:
    """Look into every place; SettingError for a settings file that is wrong."""
    places = tuple(
        (place, tuple(FoundModel(model, wrong_with(model)) for model in place.models))
        for place in model_places(settings.model_folder)
    )
    model = find_model(settings.model_folder)
    others = (
        ("english", _wrong(_try_english)),
        ("pocketsphinx", _wrong(_try_sphinx)),
        ("own", _wrong(_try_own_voice)),
    )
    try:
        recogniser = choose_recogniser(settings)
    except ListeningError as error:
        return Engines(None, None, str(error), places, others)
    alone = recogniser.words and not recogniser.taught
    if alone and (wrong := dict(others).get(recogniser.engine)):
        return Engines(None, None, f"Nothing would listen. {wrong}", places, others)
    taught = ", ".join(recogniser.taught_names)
    if recogniser.engine == "vosk" and model is not None:
        if wrong := wrong_with(model):
            return Engines(None, model, f"Nothing would listen. {wrong}", places, others)
        why = f"Vosk listens, with {model.name}, {_why(model, places)}."
    elif recogniser.engine == "own":
        why = f"Your own voice alone is heard, as taught: {taught}."
    elif recogniser.engine == "english":
        why = "The English model listens: it hears English phrases from anyone."
    elif settings.engine == "pocketsphinx":
        why = "PocketSphinx listens, as it was asked for."
    else:
        why = "PocketSphinx listens."
    if recogniser.words and settings_file.load().words:
        why += f" It listens for the words in {settings_file.settings_path()}."
    if recogniser.words and taught:
        why += f" Beside it your own voice is heard, as taught: {taught}."
    why = " ".join((why, *map(str, recogniser.notes)))
    chosen = model if recogniser.engine == "vosk" else None
    return Engines(recogniser.name, chosen, why, places, others)


def check(folder: Path) -> Trial:
    """Try a model with the words that are listened for; ListeningError says what is wrong."""
    return try_model(folder, tuple(settings_file.load().words or WORDS))


def fetch(name: str, progress: Progress) -> Path:
    """Fetch a model by its name into the user's data folder, unless it is there; its folder.

    SettingError for a name that is not known, ListeningError when it cannot be fetched.
    """
    known = {one.name: one for one in DOWNLOADS}
    if name not in known:
        raise SettingError(
            f"No model {name!r} is known here",
            f"the names are {', '.join(known)}. Any other model can be put in place by hand; "
            "row-caller models tells the places.",
        )
    folder = model_home() / name
    if folder.is_dir() and wrong_with(folder) is None:
        return folder
    return model_download.fetch(known[name], model_home(), progress)


def _why(model: Path, places: Places) -> str:
    place = next(place for place, _ in places if model in place.models)
    return place.why if place.named else f"the first whole one: it is in {place.why}"


def _try_english() -> None:
    from caller.devices.recognisers.english.recogniser import EnglishRecogniser

    EnglishRecogniser(tuple(settings_file.load().words or WORDS)).close()


def _try_sphinx() -> None:
    from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser

    PocketSphinxRecogniser(tuple(settings_file.load().words or WORDS)).close()


def _try_own_voice() -> None:
    from caller.devices.recognisers.own_voice.states import SpeechStates

    SpeechStates()


def _wrong(attempt: Callable[[], None]) -> ListeningError | None:
    try:
        attempt()
    except ListeningError as error:
        return error
    return None
