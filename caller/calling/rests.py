"""Reminders by the clock: hands and shoulders rest every so many minutes, and what else is set."""

from dataclasses import replace

from caller.calling.state import Answer, State
from caller.calling.words.utterance import RUN_PAUSE_S, Clause, capital, clause
from caller.settings import CallSettings

_REST = "{minutes} minutes at the machine. Rest your hands and shoulders."


def reminded(settings: CallSettings, before: State, answer: Answer, now_s: float) -> Answer:
    """The answer to a move to another row, after what has fallen due since the row before."""
    told: list[Clause] = []
    periods = [(minutes, f"Remember: {say}.") for minutes, say in settings.every_minutes]
    if settings.rest_minutes:
        periods.insert(0, (settings.rest_minutes, ""))
    for minutes, say in periods:
        if _times(now_s - before.began_s, minutes) > _times(
            before.looked_s - before.began_s, minutes
        ):
            count = round((now_s - before.began_s) / 60)
            rest = capital(clause(_REST, "words", 2 * RUN_PAUSE_S, minutes=count))
            told.append(Clause(say, say, 2 * RUN_PAUSE_S) if say else rest)
    state = replace(answer.state, looked_s=max(now_s, before.looked_s))
    return replace(answer, state=state, say=(*told, *answer.say))


def _times(seconds: float, minutes: int) -> int:
    return int(max(0.0, seconds) // (60 * minutes))
