"""Teaching the caller a pedal."""

from collections.abc import Iterable
from dataclasses import asdict
from typing import get_args

import click

from caller.calling.commands import Command
from caller.calling.words.keys import key_words
from caller.cli.base import AS_JSON, LOUDSPEAKER, main, voice_options
from caller.cli.screen import show, show_json
from caller.settings import PedalKey, PedalKind, VoiceSettings

_NOTHING = "nothing"
_COMMANDS = click.Choice([*(command.value for command in Command), _NOTHING])
_SOURCES = click.Choice(["keys", *get_args(PedalKind)])


@main.command()
@click.option(
    "--from",
    "source",
    type=_SOURCES,
    help="keys: this terminal; system: any window; device: a pedal or keyboard by itself, on "
    "Linux; midi: a MIDI pedal. Otherwise every one that can be listened to.",
)
@click.option("--device", help="The pedal by its name, a part of it, or its path; see --list.")
@click.option("--short", type=_COMMANDS, default="next", show_default=True, help="A short press.")
@click.option("--long", type=_COMMANDS, default="back", show_default=True, help="A long press.")
@click.option(
    "--double", type=_COMMANDS, default="repeat", show_default=True, help="Two quick presses."
)
@click.option("--list", "listing", is_flag=True, help="Tell what is kept and what is plugged in.")
@click.option("--forget", is_flag=True, help="Forget the pedals, or those of --from and --device.")
@AS_JSON
@LOUDSPEAKER
@voice_options
def pedal(
    source: str | None,
    device: str | None,
    listing: bool,
    forget: bool,
    as_json: bool,
    loudspeaker: str | None,
    voice: VoiceSettings,
    **presses: str,
) -> None:
    """Teach a foot pedal, by ear: press it, and it is kept for every evening.

    A pedal that sends keys to this terminal needs no teaching.
    """
    from caller.calling.pedals.lesson import Bound
    from caller.wiring import pedals

    if forget:
        _tell_kept("Forgotten", pedals.forget(source, device), as_json)
    elif listing:
        _list(as_json)
    else:
        bound = Bound(**{kind: "" if name == _NOTHING else name for kind, name in presses.items()})
        tell = _show_json if as_json else show
        kept = pedals.learn(source, device, bound, voice, loudspeaker, tell)
        if as_json:
            show_json({"kept": None if kept is None else asdict(kept)})


def _show_json(said: str) -> None:
    show_json({"said": said})


def _list(as_json: bool) -> None:
    from caller.devices.storage import settings_file
    from caller.wiring import pedals

    kept, found = settings_file.load().whole().pedals, pedals.list_pedals()
    if as_json:
        there = [{"from": kind, "device": name, "path": path} for kind, name, path in found.there]
        troubles = [{"from": kind, "why": str(why)} for kind, why in found.troubles]
        show_json(
            {
                "file": str(settings_file.settings_path()),
                "pedals": [asdict(one) for one in kept],
                "there": there,
                "not_there": troubles,
            }
        )
        return
    _tell_kept("Kept", kept, as_json)
    for kind, name, path in found.there:
        show(f"--from {kind}" + (f' --device "{name}"' if name else "") + f"  {path}".rstrip())
    for kind, why in found.troubles:
        show(f"--from {kind}: {why}")


def _tell_kept(what: str, pedals: Iterable[PedalKey], as_json: bool) -> None:
    from caller.calling.pedals.presses import KINDS

    pedals = list(pedals)
    if as_json:
        show_json({what.casefold(): [asdict(one) for one in pedals]})
        return
    for one in pedals:
        where = one.device or {"system": "the keyboard", "midi": "any MIDI device"}.get(
            one.source, ""
        )
        gives = ", ".join(f"{kind} {getattr(one, kind)}" for kind in KINDS if getattr(one, kind))
        show(f"{what}: {key_words(one.key)}, from {where}: {gives}.")
    if not pedals:
        none = "No pedal is kept; row-caller pedal begins."
        show("Nothing was forgotten." if what == "Forgotten" else none)
