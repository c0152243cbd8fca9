"""Models for listening: list them, try one, fetch one."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from caller.cli.base import AS_JSON, FILE, engine_options, main
from caller.cli.screen import show, show_json, tell
from caller.settings import ListeningSettings

if TYPE_CHECKING:
    from caller.devices.recognisers.vosk_trial import Trial
    from caller.errors import ListeningError
    from caller.wiring.models import Engines

_ENGINES = {
    "english": "the English model",
    "pocketsphinx": "PocketSphinx",
    "own": "your own voice, once taught with row-caller teach",
}


@main.command()
@click.option("--check", "checked", metavar="FOLDER", type=FILE, help="Try a model folder.")
@click.option("--fetch", "fetched", metavar="NAME", help="Fetch a model and put it in place.")
@AS_JSON
@engine_options
def models(
    checked: Path | None, fetched: str | None, as_json: bool, listening: ListeningSettings
) -> None:
    """Tell what can listen here, and get a model that hears better.

    Nothing is fetched unless you ask for it with --fetch.
    """
    from caller.devices.storage import settings_file
    from caller.wiring import models

    for _, wrong in settings_file.load().troubles:
        tell(str(wrong))
    if checked is not None and fetched is not None:
        raise click.UsageError("Give --check or --fetch, not both.")
    if fetched is not None:
        checked = models.fetch(fetched, _Percents())
        tell(f"{fetched} is in {checked}.")
    if checked is not None:
        _tell_trial(checked, models.check(checked), as_json)
    elif as_json:
        show_json(_as_json(models.list_engines(listening)))
    else:
        _tell_engines(models.list_engines(listening))


class _Percents:
    """A line for every ten percent: it can be read in any terminal, and heard."""

    def __init__(self) -> None:
        self._told = -1

    def __call__(self, so_far: int, size: int) -> None:
        tenths = so_far * 10 // size
        if tenths > self._told:
            self._told = tenths
            tell(f"{tenths * 10} percent, {so_far / 1e6:.0f} of {size / 1e6:.0f} MB")


def _tell_trial(folder: Path, trial: "Trial", as_json: bool) -> None:
    if as_json:
        told = {
            "folder": str(folder),
            "load_s": trial.load_s,
            "recognise_s": trial.recognise_s,
            "memory_mb": trial.memory_mb,
        }
        show_json(told)
        return
    memory = "" if trial.memory_mb is None else f" and takes {trial.memory_mb} MB of memory"
    show(
        f"The model in {folder} works: it knows every word of the commands, loads in "
        f"{trial.load_s:.1f} seconds{memory}."
    )


def _tell_engines(engines: "Engines") -> None:
    from caller.devices.recognisers.model_download import DOWNLOADS

    show(engines.why)
    show()
    show("Vosk models, in the order in which they are looked for:")
    for place, found in engines.places:
        show(f"  {place.why}, {place.folder}:" + ("" if found else " none"))
        for model in found:
            show(f"    {model.folder.name}: {model.wrong or 'whole'}")
    show()
    show("Without a Vosk model:")
    for name, wrong in engines.others:
        show(f"  {_ENGINES[name]}: {wrong or 'works'}")
    show()
    show("To be had with row-caller models --fetch NAME:")
    for one in DOWNLOADS:
        show(f"  {one.name}, {one.size / 1e6:.0f} MB, {one.licence}")


def _text(error: "ListeningError | None") -> str | None:
    return None if error is None else str(error)


def _as_json(engines: "Engines") -> dict[str, object]:
    from caller.devices.recognisers.model_download import DOWNLOADS

    return {
        "recogniser": engines.recogniser,
        "model": None if engines.model is None else str(engines.model),
        "why": engines.why,
        "places": [
            {
                "place": place.why,
                "folder": str(place.folder),
                "models": [
                    {"name": one.folder.name, "folder": str(one.folder), "wrong": _text(one.wrong)}
                    for one in found
                ],
            }
            for place, found in engines.places
        ],
        "others": [{"name": name, "wrong": _text(wrong)} for name, wrong in engines.others],
        "downloads": [
            {
                "name": one.name,
                "address": one.address,
                "bytes": one.size,
                "sha256": one.sha256,
                "licence": one.licence,
            }
            for one in DOWNLOADS
        ],
    }
