"""Recognisers: chosen by the settings and opened, with the microphone and what cancels the echo."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from caller.calling.commands import BY_NAME, WORDS, Command, Words
from caller.calling.listening.endpointing import EndpointSettings
from caller.calling.listening.grammar import Sentences, no_sentences
from caller.calling.listening.into_call import IntoCall
from caller.calling.listening.listener import (
    Listener,
    ListenerSettings,
    Noticing,
)
from caller.calling.ports import EchoRemover, Loudspeaker, Microphone, Recogniser
from caller.devices.storage import settings_file
from caller.errors import ListeningError
from caller.pattern.pattern import Pattern
from caller.settings import ListeningSettings

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


@dataclass(frozen=True)
class RecogniserChoice:
    """An engine at hand: its name, what it listens for, and how it is opened, which takes time.

    `notes` are for the knitter: of takes that are kept but cannot be read, or of what would hear
    better. `sentences` are those with a number that it hears beside the words.
    """

    name: str
    words: Words
    open: Callable[[], Recogniser]
    notes: tuple[ListeningError, ...] = ()
    sentences: Sentences = no_sentences
    listening: ListenerSettings = field(default_factory=ListenerSettings)

    def open_apart(self, begun: Callable[[Recogniser], None] = lambda _one: None) -> Recogniser:
        """The same in a process of its own, so that nothing that its library does ends this one.

        `begun` is given it as soon as it can be closed, while it is still being opened.
        """
        from caller.devices.recognisers.process import RecogniserProcess

        return RecogniserProcess(self.open, begun=begun)

    @property
    def said(self) -> tuple[tuple[str, str], ...]:
        """What is said, against the names of the commands."""
        return tuple((words, command.value) for words, command in self.words.items())


def choose_recogniser(
    settings: ListeningSettings,
    sentences: Sentences = no_sentences,
    pattern: Pattern | None = None,
) -> RecogniserChoice:
    """Which engine listens: the one asked for, else the best that is there.

    That is what was taught, a Vosk model that is named, the English model, a Vosk model in one of
    its places, PocketSphinx. The words are those of the settings file where it has any; words of
    one's own and a Vosk model go together, for they may be of any language, and are refused where
    they sound like what the caller says, of the `pattern` too. `sentences` are those with a number,
    which the English model hears where a yes is among the words.

    Raises ListeningError when what was asked for is not there, and SettingError for a settings file
    that is wrong.
    """
    from caller.devices.recognisers.vosk import VoskRecogniser
    from caller.devices.recognisers.vosk_models import find_model, is_named

    notes: tuple[ListeningError, ...] = ()
    if settings.engine in ("own", "auto") and settings.model_folder is None:
        from caller.devices.storage import take_store

        kept = take_store.kept()
        takes, notes = kept.taught, kept.troubles
        if takes:
            open_own = partial(_own_voice, takes, settings.strictness)
            return RecogniserChoice("own", _of_names(takes), open_own, notes)
        if settings.engine == "own":
            raise ListeningError(
                "No command has been taught in your own voice yet",
                "row-caller teach does that, or leave --recogniser away.",
            )
    if own_words := settings_file.load().words:
        from caller.wiring.phrase_check import refuse_alike

        refuse_alike(own_words, pattern)
    words = own_words or WORDS
    folder = None
    if settings.engine in ("auto", "vosk"):
        folder = find_model(settings.model_folder)
    no_english = None
    if settings.engine in ("auto", "english"):
        no_english = _missing_english()
    if settings.engine == "english" and no_english:
        raise no_english
    if settings.engine == "vosk" and folder is None:
        raise ListeningError(
            "There is no Vosk model here",
            "row-caller models tells how to get one, or leave --recogniser away.",
        )
    vosk_first = folder is not None and (own_words or is_named(settings.model_folder))
    if settings.engine in ("auto", "english") and not no_english and not vosk_first:
        heard = sentences if Command.YES in words.values() else no_sentences
        return RecogniserChoice(
            "english",
            words,
            partial(_english, words, heard),
            notes,
            heard,
            english_listening(
                words, heard is not no_sentences, alone=not settings.listen_while_speaking
            ),
        )
    if folder is not None:
        return RecogniserChoice("vosk", words, partial(VoskRecogniser, folder, tuple(words)), notes)
    from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser

    if no_english:
        notes = (*notes, no_english)
    return RecogniserChoice(
        "pocketsphinx", words, partial(PocketSphinxRecogniser, tuple(words)), notes
    )


def _missing_english() -> ListeningError | None:
    """Why the English model cannot listen here; None where it can."""
    from caller.devices.recognisers.english.model_files import model_folder

    try:
        model_folder()
    except ListeningError as error:
        return error
    return None


def english_listening(
    words: Iterable[str], numbers: bool = False, alone: bool = True
) -> ListenerSettings:
    """How the English model listens: it decides early, and hears a room's tail to its end; and
    `alone`, where its own call is not among the talk, only what is said by itself."""
    most = max(len(phrase.split()) for phrase in words)
    longest_s = max(2.4, 1.0 + 0.4 * most, LONGEST_SENTENCE_S * numbers)
    segment = EndpointSettings(longest_s=longest_s, early_s=0.1)
    return ListenerSettings(segment, alone_s=ALONE_S if alone else 0.0)


def _english(words: Words, sentences: Sentences) -> Recogniser:
    from caller.devices.recognisers.english.recogniser import EnglishRecogniser

    asking = [phrase for phrase, command in words.items() if command in _ASKING]
    return EnglishRecogniser(tuple(words), sentences=sentences(), asking=asking)


def _of_names(takes: Iterable[str]) -> Words:
    """A recogniser that was taught answers with the names of the commands."""
    return {name: BY_NAME[name] for name in takes}


def _own_voice(takes: Mapping[str, Sequence[NDArray[np.int16]]], strictness: int) -> Recogniser:
    from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser

    return OwnVoiceRecogniser(takes, strictness)


def open_listener(choice: RecogniserChoice, recogniser: Recogniser | None = None) -> Listener:
    """The whole way from sound to commands; ListeningError when the recogniser cannot be opened.

    `recogniser` is the chosen one where it has been opened already.
    """
    from caller.devices.recognisers.silero_vad import SileroDetector

    recogniser = recogniser or choice.open_apart()
    return Listener(SileroDetector(), recogniser, choice.listening, choice.words, choice.sentences)


def open_microphone(name: str | None) -> Microphone:
    """The microphone of this name, or the usual one; SoundError when there is none."""
    from caller.devices.sound.microphone import SoundCardMicrophone

    return SoundCardMicrophone(name)


def open_canceller(settings: ListeningSettings, loudspeaker: Loudspeaker) -> EchoRemover | None:
    """What takes the caller's own voice away, or None where it is not wanted or nothing sounds.

    Open it before the first sound, close it before the loudspeaker. Raises ListeningError, with the
    one command, when its library is missing.
    """
    return _canceller(loudspeaker) if settings.listen_while_speaking else None


def open_noticing(
    choice: RecogniserChoice, recogniser: Recogniser, loudspeaker: Loudspeaker
) -> tuple[Noticing, EchoRemover] | None:
    """What notices commands that are said into the call, and the canceller that it needs; None
    where its library is not there, or nothing sounds. `recogniser` is the chosen one, opened."""
    try:
        echo = _canceller(loudspeaker)
    except ListeningError:
        return None
    if echo is None:
        return None
    over_call = replace(choice, listening=replace(choice.listening, alone_s=0.0))
    return IntoCall(echo, open_listener(over_call, recogniser)).feed, echo


def _canceller(loudspeaker: Loudspeaker) -> EchoRemover | None:
    from caller.devices.sound.loudspeaker import SoundCardLoudspeaker

    if not isinstance(loudspeaker, SoundCardLoudspeaker):
        return None
    from caller.devices.sound.echo_canceller import LoudspeakerEcho

    return LoudspeakerEcho(loudspeaker)
