"""The check of everything."""

import click

from caller.cli.base import AS_JSON, LOUDSPEAKER, listening_options, main, voice_options
from caller.cli.screen import show, show_json
from caller.settings import ListeningSettings, VoiceSettings

SHORTEST_WAIT_S, LONGEST_WAIT_S = 1.0, 120.0


@main.command("check")
@click.option(
    "--wait",
    "wait_s",
    type=click.FloatRange(SHORTEST_WAIT_S, LONGEST_WAIT_S),
    default=6.0,
    show_default=True,
    help="Seconds to wait for your word and for your pedal.",
)
@click.option("--aloud", is_flag=True, help="Say what works, too, not only what fails.")
@click.option("--no-wait", is_flag=True, help="Leave out what needs you: the word and the pedal.")
@AS_JSON
@LOUDSPEAKER
@listening_options
@voice_options
@click.pass_context
def check_command(
    context: click.Context,
    wait_s: float,
    aloud: bool,
    no_wait: bool,
    as_json: bool,
    loudspeaker: str | None,
    listening: ListeningSettings,
    voice: VoiceSettings,
) -> None:
    """Try voice, loudspeaker, microphone, recogniser and pedal; say what fails, and show it all.

    What fails is told with what to do about it. Exit code 1 when something that is needed fails.
    --json prints one object for whoever helps you, and the rest on standard error.
    """
    from caller.wiring.check import check

    report = check(
        voice,
        listening,
        loudspeaker,
        None if no_wait else wait_s,
        lambda line: show(line, err=as_json),
        aloud,
    )
    if as_json:
        show_json(report.as_json())
    if not report.works:
        context.exit(1)
