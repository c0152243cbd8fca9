"""Recognisers: chosen by the settings and opened, with the microphone and what cancels the echo."""

from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace
from functools import partial
from typing import TYPE_CHECKING

from caller.calling.commands import BY_NAME, WORDS, Command, Words
from caller.calling.enrolment.takes import HeardAs, Sound
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
from caller.wiring.engines import (
    Takes,
    encoder_of,
    english_listening,
    english_words,
    missing_english,
    open_beside_takes,
    open_english,
    open_own_voice,
)

if TYPE_CHECKING:
    from caller.devices.recognisers.english.encoder import Encoder


@dataclass(frozen=True)
class RecogniserChoice:
    """An engine at hand: its name, what it listens for, and how it is opened, which takes time.

    `words` are what is said, against the commands, and `sentences` those with a number beside them.
    `taught` is what is answered where a command is known by the knitter's takes, whatever their
    words. `notes` are for the knitter: of takes that are kept but cannot be read, or of what would
    hear better.
    """

    engine: str
    words: Words
    open: Callable[[], Recogniser]
    notes: tuple[ListeningError, ...] = ()
    sentences: Sentences = no_sentences
    listening: ListenerSettings = field(default_factory=ListenerSettings)
    taught: Words = field(default_factory=dict)

    def open_apart(self, begun: Callable[[Recogniser], None] = lambda _one: None) -> Recogniser:
        """The same in a process of its own, so that nothing that its library does ends this one.

        `begun` is given it as soon as it can be closed, while it is still being opened.
        """
        from caller.devices.recognisers.process import RecogniserProcess

        return RecogniserProcess(self.open, begun=begun)

    @property
    def name(self) -> str:
        """The engine's, and "own" where takes are heard beside it."""
        return f"{self.engine} and own" if self.words and self.taught else self.engine

    @property
    def said(self) -> tuple[tuple[str, str], ...]:
        """What is said, against the names of the commands."""
        return tuple((words, command.value) for words, command in self.words.items())

    @property
    def taught_names(self) -> tuple[str, ...]:
        """The names of the commands that are known by takes."""
        return tuple(command.value for command in self.taught.values())


def choose_recogniser(
    settings: ListeningSettings,
    sentences: Sentences = no_sentences,
    pattern: Pattern | None = None,
) -> RecogniserChoice:
    """Which engine listens: the one asked for, else the best that is there.

    That is a Vosk model that is named, the English model, a Vosk model in one of its places,
    PocketSphinx. The words are those of the settings file where it has any; words of one's own and
    a Vosk model go together, for they may be of any language, and are refused where they sound like
    what the caller says, of the `pattern` too. `sentences` are those with a number, which the
    English model hears where a yes is among the words.

    Where no engine is asked for, by name or by a model's folder, what was taught is heard beside
    whichever of them listens. Takes are compared by the English model's states, so without it they
    are not heard, and a note says so.

    Raises ListeningError when what was asked for is not there, and SettingError for a settings file
    that is wrong.
    """
    auto = settings.engine == "auto" and settings.model_folder is None
    if not auto and settings.engine != "own":
        return _by_phrases(settings, sentences, pattern)
    from caller.devices.storage import take_store

    kept = take_store.kept()
    takes, troubles = kept.taught, kept.troubles
    if settings.engine == "own":
        if not takes:
            raise ListeningError(
                "No command has been taught in your own voice yet",
                "row-caller teach does that, or leave --recogniser away.",
            )
        return _takes_alone(takes, settings, troubles)
    if not takes:
        choice = _by_phrases(settings, sentences, pattern)
        return replace(choice, notes=(*troubles, *choice.notes))
    if no_english := missing_english():
        choice = _by_phrases(settings, sentences, pattern)
        return replace(choice, notes=(*troubles, _unheard_takes(no_english)))
    choice = _by_phrases(settings, sentences, pattern, taught=tuple(takes))
    notes = (*troubles, *choice.notes)
    if not choice.words:
        return _takes_alone(takes, settings, notes)
    return _beside_takes(replace(choice, notes=notes), takes, settings.strictness)


def _by_phrases(
    settings: ListeningSettings,
    sentences: Sentences,
    pattern: Pattern | None,
    taught: Collection[str] = (),
) -> RecogniserChoice:
    """The engine that hears phrases. Where the English model does, and some commands are `taught`,
    words that it cannot hear are left out, perhaps all, and told of where they are for others."""
    from caller.devices.recognisers.vosk import VoskRecogniser
    from caller.devices.recognisers.vosk_models import find_model, is_named

    if own_words := settings_file.load().words:
        from caller.wiring.phrase_check import refuse_alike

        refuse_alike(own_words, pattern)
    words = own_words or WORDS
    folder = None
    if settings.engine in ("auto", "vosk"):
        folder = find_model(settings.model_folder)
    no_english = None
    if settings.engine in ("auto", "english"):
        no_english = missing_english()
    if settings.engine == "english" and no_english:
        raise no_english
    if settings.engine == "vosk" and folder is None:
        raise ListeningError(
            "There is no Vosk model here",
            "row-caller models tells how to get one, or leave --recogniser away.",
        )
    vosk_first = folder is not None and (own_words or is_named(settings.model_folder))
    if settings.engine in ("auto", "english") and not no_english and not vosk_first:
        notes: tuple[ListeningError, ...] = ()
        if taught:
            words, notes = english_words(words, taught)
        heard = sentences if Command.YES in words.values() else no_sentences
        return RecogniserChoice(
            "english",
            words,
            partial(open_english, words, heard),
            notes,
            heard,
            english_listening(
                words, heard is not no_sentences, alone=not settings.listen_while_speaking
            ),
        )
    if folder is not None:
        return RecogniserChoice("vosk", words, partial(VoskRecogniser, folder, tuple(words)))
    from caller.devices.recognisers.pocketsphinx import PocketSphinxRecogniser

    notes = (no_english,) if no_english else ()
    return RecogniserChoice(
        "pocketsphinx", words, partial(PocketSphinxRecogniser, tuple(words)), notes
    )


def _takes_alone(
    takes: Takes, settings: ListeningSettings, notes: tuple[ListeningError, ...]
) -> RecogniserChoice:
    return RecogniserChoice(
        "own",
        {},
        partial(open_own_voice, takes, settings.strictness),
        notes,
        taught={name: BY_NAME[name] for name in takes},
    )


def _beside_takes(choice: RecogniserChoice, takes: Takes, strictness: int) -> RecogniserChoice:
    """The choice with the takes heard beside its phrases."""
    from caller.devices.recognisers.beside_takes import as_taught

    taught = {as_taught(name): BY_NAME[name] for name in takes}
    return replace(
        choice,
        open=partial(open_beside_takes, choice.open, takes, strictness, {**choice.words, **taught}),
        taught=taught,
    )


def open_untaught(sentences: Sentences) -> "tuple[HeardAs, Encoder | None]":
    """The command that a sound is heard as beside takes, though it was not taught; and the English
    model's encoder, where that hears it.

    Raises ListeningError without the English model, and SettingError for words in the settings that
    no session would take.
    """
    if no_english := missing_english():
        raise no_english
    choice = _by_phrases(ListeningSettings(), sentences, None, taught=tuple(BY_NAME))
    if not choice.words:
        return lambda _sound: None, None
    recogniser = choice.open()

    def heard_as(sound: Sound) -> Command | None:
        phrase = recogniser.recognise(sound).phrase
        if phrase is None:
            return None
        return choice.words.get(phrase) or choice.sentences()[phrase].command

    return heard_as, encoder_of(recogniser)


def _unheard_takes(no_english: ListeningError) -> ListeningError:
    return ListeningError(f"What you taught is not heard. {no_english.finding}", no_english.remedy)


def open_listener(choice: RecogniserChoice, recogniser: Recogniser | None = None) -> Listener:
    """The whole way from sound to commands; ListeningError when the recogniser cannot be opened.

    `recogniser` is the chosen one where it has been opened already.
    """
    from caller.devices.recognisers.silero_vad import SileroDetector

    recogniser = recogniser or choice.open_apart()
    words = {**choice.words, **choice.taught}
    return Listener(SileroDetector(), recogniser, choice.listening, words, choice.sentences)


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
