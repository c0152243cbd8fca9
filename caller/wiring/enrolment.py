"""The own voice: taught by ear or from recordings, listed, forgotten."""

import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from caller.calling.commands import Command
from caller.calling.enrolment import lesson, runner, sentences
from caller.calling.enrolment.lesson import Taught
from caller.calling.enrolment.takes import (
    ENOUGH,
    MOST,
    Finding,
    HeardAs,
    Outlook,
    Sound,
    Take,
    alike,
    check,
    in_recording,
    like_another,
    phrase_of_another,
    unheard,
)
from caller.calling.events import Pressed, Typed
from caller.calling.listening.blocks import RATE
from caller.calling.ports import (
    Loudspeaker,
    Recogniser,
    SoundBlock,
    SpeechDetector,
    TakeLikeness,
    Voice,
)
from caller.calling.speech import last_words, signalled
from caller.calling.words.utterance import Utterance, shown
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.storage import take_store
from caller.errors import SettingError
from caller.settings import VoiceSettings
from caller.wiring.closing import closed_in_time
from caller.wiring.voices import Tell, loudspeaker_or_silence, open_voice


@dataclass(frozen=True)
class TakeReport:
    """How good a take is: how long the talk is, its level, how far it is above the noise, and what
    is wrong with it. No figures where no single piece of talk is in it.

    `like` is the other command that it sounds like or is heard as.
    """

    talk_s: float | None
    level_db: float | None
    above_noise_db: float | None
    finding: Finding | None
    like: Command | None = None

    @property
    def judged(self) -> str:
        """For the screen: good, or what is wrong and what to do."""
        if self.finding is None:
            return "good."
        other = "" if self.like is None else f" It is {self.like.value}."
        return f"{self.finding.sentence}{other} {self.finding.remedy}"

    def as_json(self) -> dict[str, object]:
        return {
            "talk_s": _rounded(self.talk_s, 2),
            "level_db": _rounded(self.level_db, 1),
            "above_noise_db": _rounded(self.above_noise_db, 1),
            "fault": None if self.finding is None else self.finding.fault,
            "like": None if self.like is None else self.like.value,
        }


def teach(
    asked: Sequence[Command],
    takes_each: int,
    anew: bool,
    voice_settings: VoiceSettings,
    microphone_name: str | None,
    loudspeaker_name: str | None,
    show: Tell,
) -> None:
    """Hold one lesson; SoundError at once when there is no microphone."""
    from caller.devices.keys.terminal import key_source
    from caller.devices.sound.resample import resampled
    from caller.wiring.recognisers import open_microphone

    opened = lesson.begin(asked, takes_each, _kept(show), anew)
    with stderr_silenced(), closed_in_time() as devices, ExitStack() as stack:
        microphone = open_microphone(microphone_name)
        devices.callback(microphone.close)
        voice = open_voice(voice_settings, show)
        devices.callback(voice.close)
        inbox = runner.Inbox()
        loudspeaker = loudspeaker_or_silence(voice.rate, loudspeaker_name, show, inbox.put)
        devices.callback(loudspeaker.close)
        desk = runner.EnrolmentDesk(
            voice,
            loudspeaker,
            microphone,
            _detector(),
            *open_ears(),
            _open_recogniser,
            _outlook,
            take_store.keep,
            lambda take: SoundBlock(resampled(take, RATE, voice.rate), voice.rate),
            show,
            inbox,
        )
        keys = key_source(inbox, sys.stdin.isatty)
        stack.callback(keys.close)
        keys.start()
        runner.run(opened, desk)


def teach_from(
    folder: Path, asked: Sequence[Command], takes_each: int, tell: Tell
) -> tuple[Command, ...]:
    """Keep the good takes of a folder with files like next-1.wav.

    The commands that have files there but too few good takes, and so stay as they were. Raises
    SettingError when the folder holds no take of what is asked for.
    """
    needed = lesson.checked_count(takes_each)
    found = {command: _numbered(folder, command) for command in asked}
    if not any(found.values()):
        names = ", ".join(f"{asked[0].value}-{number}.wav" for number in range(1, ENOUGH + 1))
        raise SettingError(f"There is no take in {folder}", f"name the files like {names}.")
    judge = _Judge(_detector(), *open_ears())
    taught = dict(_kept(tell))
    short = []
    for command, paths in found.items():
        good: list[Sound] = []
        for path in paths[:MOST]:
            take, report = judge.report(_sound(path), command, taught)
            tell(f"{path.name}: {report.judged}")
            if take is not None and report.finding is None:
                good.append(take.samples)
        if paths and len(good) < needed:
            short.append(command)
        elif paths:
            if not alike(good, judge.likeness):
                tell(f"{command.value}: {Finding.UNLIKE.sentence} {Finding.UNLIKE.remedy}")
            taught[command] = tuple(good)
            take_store.keep(command, good)
    return tuple(short)


def reports(tell: Tell) -> Iterator[tuple[Command, list[TakeReport], bool]]:
    """Of each command that has takes: how good they are, and whether they are alike."""
    taught = _kept(tell)
    if not taught:
        return
    judge = _Judge(_detector(), *open_ears())
    for command, takes in taught.items():
        judged = [judge.report(take, command, taught)[1] for take in takes]
        yield command, judged, alike(takes, judge.likeness)


def heard_untaught(tell: Tell) -> Mapping[Command, tuple[Command, ...]]:
    """Of each command that is also heard where another one was taught: what was taught."""
    taught = _kept(tell)
    if not taught:
        return {}
    _, heard_as = open_ears()
    found: dict[Command, tuple[Command, ...]] = {}
    for command, takes in taught.items():
        others = {phrase_of_another(take, command, heard_as) for take in takes} - {None}
        found |= {other: (*found.get(other, ()), command) for other in others if other is not None}
    return found


def open_ears() -> tuple[TakeLikeness, HeardAs]:
    """How alike two takes are to the recogniser that will listen, and what is heard beside it
    without being taught.

    SettingError for words in the settings that no session would take, ListeningError without the
    English model.
    """
    from caller.devices.recognisers.own_voice.recogniser import OwnVoiceLikeness
    from caller.wiring.hearing import any_sentence
    from caller.wiring.recognisers import open_untaught

    heard_as, encoder = open_untaught(any_sentence)
    return OwnVoiceLikeness(encoder), heard_as


def _open_recogniser(taught: Taught) -> Recogniser:
    """The recogniser that will listen, for all that is taught."""
    from caller.devices.recognisers.own_voice.recogniser import OwnVoiceRecogniser

    return OwnVoiceRecogniser(_whole(taught))


def _outlook(taught: Taught) -> Outlook:
    """How well the recogniser would hear what is taught."""
    from caller.devices.recognisers.own_voice.outlook import outlook

    return outlook(_whole(taught))


def _whole(taught: Taught) -> dict[str, tuple[Sound, ...]]:
    return {command.value: takes for command, takes in taught.items() if len(takes) >= ENOUGH}


def forget(
    commands: Sequence[Command],
    voice_settings: VoiceSettings,
    loudspeaker_name: str | None,
    show: Tell,
) -> tuple[Command, ...]:
    """Ask twice, by ear and on the screen, then erase what is taught for these commands.

    Two times Y, or yes as a line, erases; anything else keeps all. The commands that were erased.
    """
    from caller.devices.keys.terminal import key_source

    with stderr_silenced(), closed_in_time() as devices, ExitStack() as stack:
        voice = open_voice(voice_settings, show)
        devices.callback(voice.close)
        inbox = runner.Inbox()
        loudspeaker = loudspeaker_or_silence(voice.rate, loudspeaker_name, show, inbox.put)
        devices.callback(loudspeaker.close)
        keys = key_source(inbox, sys.stdin.isatty)
        stack.callback(keys.close)
        keys.start()
        say = partial(_say, voice, loudspeaker, inbox, show)
        for question in sentences.forgetting(commands):
            say(question)
            if not _agreed(inbox):
                say(sentences.nothing_forgotten())
                last_words(loudspeaker, show)
                return ()
        forgotten = tuple(command for each in commands for command in take_store.forget(each))
        say(sentences.forgotten(forgotten))
        last_words(loudspeaker, show)
        return forgotten


def _say(
    voice: Voice, loudspeaker: Loudspeaker, inbox: runner.Inbox, show: Tell, say: Utterance
) -> None:
    show(shown(say))
    loudspeaker.play(signalled(voice, say, inbox.put))


def _agreed(inbox: runner.Inbox) -> bool:
    """Whether the next key or line is a yes; what else comes in is passed over."""
    while True:
        event = inbox.get()
        match event:
            case Pressed(key):
                return key.casefold() == "y"
            case Typed(line):
                return line.casefold().strip() in ("y", "yes")
            case Command.LEAVE:
                return False


def _detector() -> SpeechDetector:
    from caller.devices.recognisers.silero_vad import SileroDetector

    return SileroDetector()


def _kept(tell: Tell) -> Mapping[Command, tuple[Sound, ...]]:
    """Every take in the store; what is damaged is told."""
    kept = take_store.kept()
    for trouble in kept.troubles:
        tell(str(trouble))
    return {Command(name): tuple(takes) for name, takes in kept.takes.items()}


def _numbered(folder: Path, command: Command) -> list[Path]:
    """The files of a command in a folder, next-1.wav, next-2.wav and so on, by their numbers."""
    pattern = re.compile(rf"{command.value}-(\d+)\.wav", re.IGNORECASE)
    try:
        found = [
            (match, path) for path in folder.iterdir() if (match := pattern.fullmatch(path.name))
        ]
    except OSError as error:
        raise SettingError(
            f"The folder {folder} cannot be read: {error.strerror}", "check its name."
        ) from None
    return [path for _, path in sorted((int(match[1]), path) for match, path in found)]


def _sound(path: Path) -> Sound:
    from caller.devices.sound.resample import resampled
    from caller.devices.sound.sound_files import read_sound

    sound = read_sound(path)
    return resampled(sound.samples, sound.rate, RATE)


@dataclass(frozen=True)
class _Judge:
    """What takes in recordings are judged by."""

    detector: SpeechDetector
    likeness: TakeLikeness
    heard_as: HeardAs

    def report(
        self, sound: Sound, command: Command, taught: Taught
    ) -> tuple[Take | None, TakeReport]:
        take = in_recording(sound, self.detector)
        if isinstance(take, Finding):
            return None, TakeReport(None, None, None, take)
        finding, like = check(take) or unheard(take.samples, self.likeness), None
        if finding is None:
            like = like_another(take.samples, command, taught, self.likeness)
            finding = None if like is None else Finding.LIKE_ANOTHER
        if finding is None:
            like = phrase_of_another(take.samples, command, self.heard_as)
            finding = None if like is None else Finding.PHRASE_OF_ANOTHER
        return take, TakeReport(take.talk_s, take.level_db, take.above_noise_db, finding, like)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
