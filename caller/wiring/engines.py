"""The engines that hear by the English model, and what each needs; chosen in `recognisers`.

What opens an engine is sent to the process that runs it, so it is a function with plain values.
"""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import Command, Words
from caller.calling.listening.blocks import BLOCK_S
from caller.calling.listening.endpointing import EndpointSettings
from caller.calling.listening.grammar import Sentences
from caller.calling.listening.listener import ListenerSettings
from caller.calling.ports import Recogniser
from caller.errors import ListeningError

if TYPE_CHECKING:
    from caller.devices.recognisers.english.encoder import Encoder

Takes = Mapping[str, Sequence[NDArray[np.int16]]]
"""Of each command by its name: int16, mono, 16,000 samples a second."""

LONGEST_SENTENCE_S = 3.2
"""A sentence with a number in the hundreds takes longer than a phrase."""
ALONE_S = 1.0
"""Pauses in talk are mostly shorter."""
_ASKING = frozenset(
    (
        *(Command.REPEAT, Command.WHERE, Command.REMAINING, Command.SUPPLIES, Command.CHANGES),
        *(Command.YARN, Command.FINISH, Command.HELP, Command.SLOWER, Command.FASTER),
        *(Command.PAUSE, Command.LISTEN, Command.YES),
    )
)
"""Set off by mistake, these cost a moment's listening and no place; "yes" only answers."""


def missing_english() -> ListeningError | None:
    """Why the English model cannot listen here; None where it can."""
    from caller.devices.recognisers.english.model_files import model_folder

    try:
        model_folder()
    except ListeningError as error:
        return error
    return None


def english_words(
    words: Words, taught: Collection[str]
) -> tuple[Words, tuple[ListeningError, ...]]:
    """Those that the English model can hear, and a note on others whose commands are not taught."""
    from caller.devices.recognisers.english.spellings import is_english

    heard = {
        phrase: command for phrase, command in words.items() if all(map(is_english, phrase.split()))
    }
    lost = [
        phrase
        for phrase, command in words.items()
        if phrase not in heard and command.value not in taught
    ]
    if not lost:
        return heard, ()
    note = ListeningError(
        f"These words of the settings are not English and not heard: {', '.join(lost)}",
        "teach them with row-caller teach, or use a Vosk model of your language.",
    )
    return heard, (note,)


def english_listening(
    words: Iterable[str], numbers: bool = False, alone: bool = True
) -> ListenerSettings:
    """How the English model listens: it decides early, and hears a room's tail to its end; and
    `alone`, where its own call is not among the talk, only what is said by itself."""
    most = max((len(phrase.split()) for phrase in words), default=0)
    longest_s = max(2.4, 1.0 + 0.4 * most, LONGEST_SENTENCE_S * numbers)
    segment = EndpointSettings(longest_s=longest_s, early_s=BLOCK_S)
    return ListenerSettings(segment, alone_s=ALONE_S if alone else 0.0)


def open_english(words: Words, sentences: Sentences) -> Recogniser:
    from caller.devices.recognisers.english.recogniser import EnglishRecogniser

    asking = [phrase for phrase, command in words.items() if command in _ASKING]
    return EnglishRecogniser(tuple(words), sentences=sentences(), asking=asking)


def open_own_voice(takes: Takes, strictness: int) -> Recogniser:
    from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser

    return OwnVoiceRecogniser(takes, strictness)


def open_beside_takes(
    open_phrases: Callable[[], Recogniser], takes: Takes, strictness: int, words: Words
) -> Recogniser:
    from caller.devices.recognisers.beside_takes import BesideTakes
    from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser

    phrases = open_phrases()
    takes_alone = OwnVoiceRecogniser(takes, strictness, encoder_of(phrases))
    return BesideTakes(phrases, takes_alone, words)


def encoder_of(recogniser: Recogniser) -> "Encoder | None":
    """The English model's, where that is what hears, so that it is not loaded twice."""
    from caller.devices.recognisers.english.recogniser import EnglishRecogniser

    return recogniser.encoder if isinstance(recogniser, EnglishRecogniser) else None
