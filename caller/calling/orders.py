"""What an event orders: a word, a key, a typed line or a pedal, as the session stands."""

from caller.calling import spelling
from caller.calling.commands import BY_NUMBER, BY_TEXT, Command, from_key, from_line
from caller.calling.events import Following, NotQuiteHeard, Ordering, Pressed, Spoken, Typed
from caller.calling.listening.grammar import typed_number, typed_sentence
from caller.calling.spelling import Asked, Spelled
from caller.calling.state import Order, State
from caller.pattern.bed import Bed


def overheard(state: State, event: object, now_s: float) -> bool:
    """Whether something was said that is passed over without a sound: while listening is paused all
    but what ends that, and a yes where nothing was asked."""
    if not isinstance(event, Spoken | NotQuiteHeard):
        return False
    command = event.command if isinstance(event, Spoken) else None
    if not state.listening:
        return command is not Command.LISTEN
    return command is Command.YES and not (state.question and state.question.is_open(now_s))


def understood(bed: Bed, state: State, event: Ordering) -> Order | None:
    """The order that an event gives, None when it is none."""
    spelled = state.spelling
    if isinstance(event, Spoken):
        if not event.number:
            return event.command
        return Asked(event.command, event.number, event.rival, event.close)
    if isinstance(event, Following):
        return Command.NEXT
    if isinstance(event, Pressed):
        if spelled is not None and spelling.takes(bed, spelled, event.key):
            return Spelled(event.key)
        return from_key(event.key)
    if isinstance(event, Typed):
        if sentence := typed_sentence(event.line, bed):
            return Asked(*sentence)
        word, _, number = event.line.strip().partition(" ")
        command = from_line(word)
        if number.strip() and command in BY_NUMBER:
            return Asked(command, typed_number(command, number, bed) or number.strip())
        if number.strip() and command in BY_TEXT:
            return Asked(command, number.strip())
        if spelled is not None and not event.line.strip():
            return Spelled("enter")  # which is what it was told to press for none
        order = from_line(event.line)
        if order is None and spelled is not None and not spelled.keys:
            number = event.line.strip()
            return Asked(spelled.command, typed_number(spelled.command, number, bed) or number)
        return order
    return event if isinstance(event, Command) else None


def is_note(order: Order | None) -> bool:
    """Whether an order keeps something about its row, and moves nowhere."""
    if isinstance(order, Asked):
        return order.command in BY_TEXT or order.command is Command.BOBBIN
    return order in (Command.MARK, Command.BOBBIN)
