"""What is said in a lesson in which the knitter teaches their own words for the commands."""

from collections.abc import Sequence

from caller.calling.commands import WAYS, Command
from caller.calling.enrolment.takes import Finding, Outlook
from caller.calling.listening.level import Fault
from caller.calling.words.utterance import RUN_PAUSE_S, Utterance, clause, sentence

PAUSE_S = 2 * RUN_PAUSE_S

_DOES = {way.command: way.does for way in WAYS}


def opening() -> Utterance:
    """Said when a lesson begins."""
    return (
        *sentence("Each time, wait for the tone, then say your words, by themselves.", 0.15),
        *sentence(
            "Choose two words or more for each command, the same each time, in any language.",
            PAUSE_S,
        ),
        *keys(),
    )


def keys() -> Utterance:
    """What can be pressed."""
    return sentence(
        "R asks once more, P plays your last take, B takes it away, the space bar leaves out a "
        "command, and Q ends the lesson.",
        PAUSE_S,
    )


def question(command: Command, number: int, count: int) -> Utterance:
    """The question for a take, by itself."""
    return (
        *sentence(f"Say your words for: {_DOES[command]}.", RUN_PAUSE_S),
        clause("Take {number} of {count}.", number=number, count=count),
    )


def another(number: int) -> Utterance:
    """The question for a take that follows another of the same command."""
    return (clause("Take {number}.", number=number),)


def once_more() -> Utterance:
    """Said when the takes of a command are all there but unlike one another."""
    finding = Finding.UNLIKE
    return sentence(f"{finding.sentence} {finding.remedy} One more take.")


def refused(finding: Finding) -> Utterance:
    return sentence(f"{finding.sentence} {finding.remedy}", PAUSE_S)


def like_another(other: Command) -> Utterance:
    remedy = Finding.LIKE_ANOTHER.remedy
    return sentence(f"That sounded like your words for: {_DOES[other]}. {remedy}", PAUSE_S)


def phrase_of_another(other: Command) -> Utterance:
    remedy = Finding.PHRASE_OF_ANOTHER.remedy
    return sentence(
        f"That is already understood, without teaching, as: {_DOES[other]}. {remedy}",
        PAUSE_S,
    )


def still_unlike() -> Utterance:
    """Said when a command is kept although its takes differ."""
    return sentence(
        "Your takes still differ, so this may not always be heard; you can teach it anew.", PAUSE_S
    )


def left_out() -> Utterance:
    return sentence("Left out.", PAUSE_S)


def taken_away() -> Utterance:
    return sentence("Taken away.", PAUSE_S)


def playing_back() -> Utterance:
    """Said before the last take is played."""
    return sentence("Your last take.", RUN_PAUSE_S)


def nothing_to_play() -> Utterance:
    return sentence("There is no take to play yet.", PAUSE_S)


def outlook(found: Outlook) -> Utterance:
    """Said at the end: how well what was taught would be heard."""
    return (
        clause(
            "Of your {takes} takes, tried against the others, {quiet} are heard in quiet, "
            "{noise} beside a noise, {room} across a room.",
            takes=found.takes,
            quiet=found.quiet,
            noise=found.noise,
            room=found.room,
        ),
    )


def first_take() -> Utterance:
    return sentence("This is the first take; there is none before it.", PAUSE_S)


def taught_already() -> Utterance:
    """Said when everything that was asked for is taught."""
    return sentence("All of this is taught already.", PAUSE_S)


def nothing_heard() -> Utterance:
    return sentence(f"{Finding.NO_WORDS.sentence} {Finding.NO_WORDS.remedy}", PAUSE_S)


def dead_microphone() -> Utterance:
    return sentence(f"{Fault.SILENT.finding} {Fault.SILENT.remedy}", PAUSE_S)


def trial() -> Utterance:
    """Said when all is taught, to try it out."""
    return sentence("Now say any of them; wait when you are done.")


def understood(command: Command) -> Utterance:
    return sentence(f"Understood: {_DOES[command]}.")


def not_understood() -> Utterance:
    return sentence("That was not understood. Say it again, or press Q to end.")


def all_understood() -> Utterance:
    return sentence("All of them were understood. Your words are kept.")


def silent_end() -> Utterance:
    return sentence(
        "No words were heard for a while, so the lesson ends. What you taught is kept; the same "
        "command goes on from here."
    )


def ending(taught: int, left: int) -> Utterance:
    """Said when the knitter ends the lesson; `left` commands are not taught yet."""
    if not left:
        return sentence("The lesson ends. Your words are kept.")
    kept = "The lesson ends. What you taught is kept." if taught else "The lesson ends."
    return (
        *sentence(kept, RUN_PAUSE_S),
        clause(
            "Taught: {taught}; not yet taught: {left}. The same command goes on from here.",
            taught=taught,
            left=left,
        ),
    )


def no_such_key() -> Utterance:
    return (*sentence("That was not understood.", RUN_PAUSE_S), *keys())


def forgetting(commands: Sequence[Command]) -> tuple[Utterance, Utterance]:
    """The two questions before takes are erased."""
    what = _listed([_DOES[command] for command in commands])
    return (
        sentence(f"Forget your words for: {what}? Press Y to forget them, another key to keep."),
        sentence("They cannot be brought back. Press Y once more to forget them."),
    )


def forgotten(commands: Sequence[Command]) -> Utterance:
    return sentence(f"Forgotten: {_listed([_DOES[command] for command in commands])}.")


def nothing_forgotten() -> Utterance:
    return sentence("Nothing was forgotten.")


def _listed(parts: Sequence[str]) -> str:
    return "; ".join(parts)
