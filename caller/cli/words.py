"""What is said for the commands, and how well it serves."""

import click

from caller.cli.base import AS_JSON, engine_options, main
from caller.cli.screen import progress, show, show_json, tell
from caller.settings import ListeningSettings


@main.command()
@AS_JSON
@engine_options
@click.pass_context
def words(context: click.Context, as_json: bool, listening: ListeningSettings) -> None:
    """Try what is said for each command: whether it is heard, and what sets it off.

    The program's own voices say every phrase, the words of a call, and everyday sentences to its
    recogniser. Words of your own stand under [words] in the settings file. Exit code 1 when one of
    them should be changed.
    """
    from dataclasses import asdict, replace

    from caller.wiring.enrolment import heard_untaught
    from caller.wiring.phrase_check import check_phrases
    from caller.wiring.recognisers import choose_recogniser

    choice = choose_recogniser(listening)
    if not choice.words:
        raise click.UsageError("What you taught is known by its sound; row-caller teach tries it.")
    recogniser = choice.open()
    try:
        with progress(100, "Trying") as bar:
            found = check_phrases(
                choice.words,
                recogniser,
                lambda done, of: bar.update(done * 100 // of - bar.pos),
            )
    finally:
        recogniser.close()
    taught = heard_untaught(tell) if choice.taught else {}
    found = [
        replace(
            one, by_taught=tuple(other.value for other in taught.get(choice.words[one.phrase], ()))
        )
        for one in found
    ]
    if as_json:
        show_json([asdict(one) | {"trouble": one.trouble} for one in found])
    else:
        for one in found:
            show(
                f'"{one.phrase}", for {one.command}: heard from {one.heard} of {one.voices} voices.'
            )
            if one.by_talk and not one.trouble:
                show(f"  Talk that sets it off: {', '.join(one.by_talk)}")
            if one.trouble:
                show(f"  {one.trouble}")
    if any(one.trouble for one in found):
        context.exit(1)
