"""Teaching the caller the knitter's own words."""

from pathlib import Path

import click

from caller.calling.commands import BY_NAME, TAUGHT_FIRST, Command
from caller.cli.base import AS_JSON, FILE, LOUDSPEAKER, main, voice_options
from caller.cli.screen import show, show_json, tell
from caller.errors import SettingError
from caller.settings import VoiceSettings

_ALL = "all"


@main.command()
@click.option(
    "--commands",
    "names",
    help="Teach these, like next,back, anew; else the main ones that are not taught yet.",
)
@click.option("--all", "every", is_flag=True, help="Teach every command that is not taught yet.")
@click.option(
    "--takes", "takes_each", type=int, default=3, show_default=True, help="Takes a command, 3 to 9."
)
@click.option(
    "--from",
    "folder",
    type=FILE,
    help="Take recordings from this folder, named next-1.wav, next-2.wav and so on.",
)
@click.option("--list", "listing", is_flag=True, help="Tell what is taught, and how good it is.")
@click.option(
    "--forget",
    is_flag=False,
    flag_value=_ALL,
    metavar="[COMMAND]",
    help="Erase what is taught for a command, or for all; asks twice.",
)
@click.option("--yes", is_flag=True, help="Erase without asking.")
@AS_JSON
@click.option("--microphone", help="The microphone by its name, or a part of it.")
@LOUDSPEAKER
@voice_options
def teach(
    names: str | None,
    every: bool,
    takes_each: int,
    folder: Path | None,
    listing: bool,
    forget: str | None,
    yes: bool,
    as_json: bool,
    microphone: str | None,
    loudspeaker: str | None,
    voice: VoiceSettings,
) -> None:
    """Teach your own words for the commands, in any language, by ear.

    The caller asks for three takes of each command; afterwards it hears these in your words, too.
    """
    from caller.wiring import enrolment

    if names is not None and every:
        raise SettingError(
            "--commands and --all are both given.", "Give --commands or --all, not both."
        )
    asked = tuple(Command) if every else TAUGHT_FIRST if names is None else _commands(names)
    if forget is not None:
        _forget(forget, yes, voice, loudspeaker)
    elif folder is not None:
        files_of = tuple(Command) if names is None else asked
        short = enrolment.teach_from(folder, files_of, takes_each, tell)
        if short:
            raise SettingError(
                f"Too few good takes of {', '.join(command.value for command in short)}, so "
                f"nothing was kept of {'it' if len(short) == 1 else 'them'}",
                f"{takes_each} are needed.",
            )
    elif not listing:
        told = tell if as_json else show
        enrolment.teach(asked, takes_each, names is not None, voice, microphone, loudspeaker, told)
    if listing or as_json:
        _list(as_json)


def _commands(names: str) -> tuple[Command, ...]:
    """The commands of a list like "next,back", each once."""
    chosen = [name.strip().casefold() for name in names.split(",")]
    for name in chosen:
        if name not in BY_NAME:
            raise SettingError(
                f"There is no command {name!r} to teach", f"they are {', '.join(BY_NAME)}."
            )
    return tuple(dict.fromkeys(BY_NAME[name] for name in chosen))


def _forget(name: str, yes: bool, voice: VoiceSettings, loudspeaker: str | None) -> None:
    from caller.devices.storage import take_store
    from caller.wiring import enrolment

    chosen = tuple(Command) if name == _ALL else _commands(name)
    chosen = tuple(command for command in chosen if command in take_store.commands_kept())
    if not chosen:
        tell("Nothing was taught.")
    elif yes:
        forgotten = [one.value for each in chosen for one in take_store.forget(each)]
        tell(f"Forgotten: {', '.join(forgotten)}.")
    else:
        enrolment.forget(chosen, voice, loudspeaker, tell)


def _list(as_json: bool) -> None:
    from caller.calling.enrolment.takes import ENOUGH
    from caller.devices.storage.take_store import store_folder
    from caller.wiring import enrolment

    found = list(enrolment.reports(tell))
    if as_json:
        kept = {
            command.value: {
                "taught": len(takes) >= ENOUGH,
                "alike": agree,
                "takes": [take.as_json() for take in takes],
            }
            for command, takes, agree in found
        }
        show_json({"folder": str(store_folder()), "commands": kept})
        return
    if not found:
        show("Nothing is taught yet; row-caller teach begins.")
    for command, takes, agree in found:
        enough = "taught" if len(takes) >= ENOUGH else "not taught yet"
        show(f"{command.value}: {len(takes)} takes, {enough}{'' if agree else '; unlike'}")
        for number, take in enumerate(takes, 1):
            show(f"  take {number}: {take.judged}")
