"""What can be added, and adding it."""

import click

from caller import installation
from caller.cli.base import AS_JSON, main
from caller.cli.screen import show, show_json
from caller.errors import InstallationError

PARTS = {
    "listen-while-speaking": "Hears commands while the caller speaks.",
    "page": "A page that shows the row, on this computer or in your home.",
    "pedal": "MIDI pedals.",
    "system-keys": "A pedal that sends keys while another window has the focus.",
    "english": "The English model that hears the spoken commands.",
    "voice": "The voice that is easiest to understand.",
}
_AGAIN = ("--force-reinstall", "--no-deps")


@main.command()
@click.argument("part", type=click.Choice(list(PARTS)), required=False)
@click.option("--again", is_flag=True, help="Also where it is there, but damaged.")
@AS_JSON
def add(part: str | None, again: bool, as_json: bool) -> None:
    """Install PART, which is missing or was left out; without PART, list what there is."""
    import subprocess

    if part is None:
        _list(as_json)
        return
    wanted = installation.requirements_of(part)
    if not wanted:
        raise InstallationError(
            f"What {part} needs is written neither in this installation nor beside it",
            "install the program again from its folder.",
        )
    _bring_pip()
    command = installation.pip_command(*_AGAIN * again, *wanted)
    show(installation.typed(command), err=True, whole=True)
    if subprocess.run(command, stdout=subprocess.DEVNULL if as_json else None).returncode:
        raise InstallationError(
            f"{part} was not installed, for the reason above",
            "connect to the internet and try again; everything else works as before.",
        )
    if as_json:
        show_json({"part": part, "installed": True})
    else:
        show(f"{part} is there.")


def _list(as_json: bool) -> None:
    found = {part: all(map(_installed, installation.requirements_of(part))) for part in PARTS}
    if as_json:
        listed = [{"part": part, "installed": there} for part, there in found.items()]
        show_json(listed)
        return
    for part, there in found.items():
        show(f"{part}: {'installed' if there else 'not installed'}. {PARTS[part]}")


def _installed(requirement: str) -> bool:
    from importlib import metadata

    try:
        metadata.version(installation.name_of(requirement))
    except metadata.PackageNotFoundError:
        return False
    return True


def _bring_pip() -> None:
    """Some environments are made without pip; Python itself can mostly bring it."""
    import subprocess

    bring = installation.pip_bringer()
    if bring and subprocess.run(bring, capture_output=True).returncode:
        raise InstallationError(
            "This Python has no pip, which installs packages",
            "on Debian and Ubuntu this command brings it: sudo apt install python3-pip",
        )
