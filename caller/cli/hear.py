"""What listens, by itself: which commands it hears, and how loud."""

import contextlib
import dataclasses
import sys
from pathlib import Path
from typing import Any

import click

from caller.cli.base import AS_JSON, FILE, LOUDSPEAKER, listening_options, main, voice_options
from caller.cli.screen import columns, progress, show, show_again, show_json, tell
from caller.settings import ListeningSettings, VoiceSettings


@main.command()
@click.argument("recording", metavar="[FILE.wav]", type=FILE, required=False)
@AS_JSON
@click.option("--level", is_flag=True, help="Show how loud the microphone hears, instead.")
@click.option("--aloud", is_flag=True, help="Say what was heard, too.")
@LOUDSPEAKER
@listening_options
@voice_options
def hear(
    recording: Path | None,
    as_json: bool,
    level: bool,
    aloud: bool,
    loudspeaker: str | None,
    listening: ListeningSettings,
    voice: VoiceSettings,
) -> None:
    """Show which commands are heard, in a sound file or by the microphone (Ctrl-C ends)."""
    from caller.wiring import hearing

    if level and recording is not None:
        raise click.UsageError("--level is for the microphone; leave the file away.")
    if level:
        with contextlib.suppress(KeyboardInterrupt):
            _show_levels(listening.microphone, as_json)
        return
    if recording is not None:
        with progress(1000, "Listening") as bar:
            heard = hearing.hear_file(
                recording, listening, lambda done, of: bar.update(done * 1000 // of - bar.pos)
            )
        if as_json:
            show_json([_heard(phrase) for phrase in heard])
        for phrase in () if as_json else heard:
            show(f"{phrase.at_s:8.2f} s  {_ordered(phrase)}  ({phrase.engine})")
        if not heard and not as_json:
            show("No command was heard.")
        if aloud:
            hearing.say_heard(heard, voice, loudspeaker, tell)
        return
    phrases = (
        hearing.hear_and_say(listening, voice, loudspeaker, tell)
        if aloud
        else hearing.hear_microphone(listening)
    )
    tell("Listening; Ctrl-C ends.")
    with contextlib.suppress(KeyboardInterrupt):
        for phrase in phrases:
            if as_json:
                show_json(_heard(phrase))
            else:
                show(_ordered(phrase))
            sys.stdout.flush()


def _ordered(phrase: Any) -> str:
    """The command and its number, as they are typed."""
    return f"{phrase.command.value} {phrase.number}".rstrip()


def _heard(phrase: Any) -> dict[str, Any]:
    return {
        "at_s": round(phrase.at_s, 2),
        "command": phrase.command.value,
        "number": phrase.number or None,
        "engine": phrase.engine,
    }


def _show_levels(microphone: str | None, as_json: bool) -> None:
    """A line four times a second; in a terminal always the same line."""
    from caller.calling.listening.level import bar
    from caller.wiring.check import levels

    for level in levels(microphone):
        if as_json:
            show_json(dataclasses.asdict(level))
        else:
            room = max(0, min(30, (columns(sys.stdout) or 80) - 21))
            clipped = "  too loud" if level.clipped_s else "          "
            show_again(bar(level.loudest_db, room) + clipped)
        sys.stdout.flush()
