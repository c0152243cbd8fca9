"""A check of everything, part by part: told aloud where there is sound, and always shown."""

import os
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from queue import Empty

import numpy as np

from caller.calling import check_report
from caller.calling.check_report import Outcome, Report, Result
from caller.calling.commands import Command, phrase_for
from caller.calling.events import Events, Pressed, Trouble
from caller.calling.listening.blocks import RATE, Blocks
from caller.calling.listening.level import Level, bar, fault_of, measured
from caller.calling.listening.listener import HeardPhrase, Listener, NearlyHeard
from caller.calling.ports import Loudspeaker, Voice
from caller.calling.signals import Signal, sound
from caller.calling.speech import spoken
from caller.calling.words.keys import key_words
from caller.calling.words.utterance import Clause, Utterance, sentence, shown
from caller.devices.sound.silent import SilentLoudspeaker
from caller.devices.sound.stderr import stderr_silenced
from caller.devices.storage import settings_file
from caller.devices.storage.settings_file import KeptSettings
from caller.errors import CallerError, DeviceError, SoundError
from caller.settings import ListeningSettings, VoiceSettings
from caller.wiring import check_parts
from caller.wiring.closing import closed_in_time
from caller.wiring.recognisers import choose_recogniser, open_listener, open_microphone
from caller.wiring.voices import Tell, open_chosen, open_loudspeaker

ROOM_S = 1.5
CLICK_S = 0.2
"""Many microphones click when they are opened."""
SPEECH_S = 90.0
"""The longest that one sentence may take to be said."""


def check(
    voice: VoiceSettings,
    listening: ListeningSettings,
    loudspeaker_name: str | None,
    wait_s: float | None,
    show: Tell,
    aloud: bool = False,
) -> Report:
    """Try every part and show what was found; `wait_s` is how long a word and a press are waited
    for.

    What works is shown only, so that it takes half a minute by ear; `aloud` says all. Without
    `wait_s` what needs the knitter is left out. What is missing does not raise; it is a result.
    """
    with stderr_silenced(), closed_in_time() as stack:
        sitting = _Sitting(show, stack, aloud)
        sitting.speak(voice, loudspeaker_name)
        sitting.listen(listening, wait_s)
        sitting.feel(wait_s)
        for result in check_parts.needed():
            sitting.tell(result)
        sitting.say(sentence(check_report.summary(sitting.results)))
        for result in check_parts.to_be_added(listening):
            sitting.tell(result)
        if (left := check_report.not_there(sitting.results)) and not aloud:
            sitting.say(sentence(left))
    return Report(check_parts.versions(), check_parts.devices(), sitting.levels, sitting.results)


def levels(microphone_name: str | None, each_s: float = 0.25) -> Iterator[Level]:
    """The level of the microphone, again and again, until closed; SoundError without one."""
    blocks = Blocks(round(each_s * RATE))
    with closing(open_microphone(microphone_name)) as microphone:
        for samples in microphone.blocks():
            yield from map(measured, blocks.feed(samples))


@dataclass
class _Sitting:
    """A check at work: what speaks in it, and what was found so far."""

    show: Tell
    stack: ExitStack
    aloud: bool
    voice: Voice | None = None
    loudspeaker: Loudspeaker = field(default_factory=SilentLoudspeaker)
    results: list[Result] = field(default_factory=list)
    levels: dict[str, Level] = field(default_factory=dict)

    def tell(self, result: Result) -> None:
        home = f"{Path.home()}{os.sep}"
        result = replace(
            result,
            finding=result.finding.replace(home, f"~{os.sep}"),
            remedy=result.remedy.replace(home, f"~{os.sep}"),
        )
        self.results.append(result)
        said = result.said if self.aloud or result.is_news else ""
        self.say((Clause(said, result.shown),))

    def say(
        self, utterance: Utterance, phrases: Sequence[str] = (), signal: Signal | None = None
    ) -> None:
        """Show it, say it with the phrases parted word by word, and wait for its end."""
        self.show(shown(utterance))
        if self.voice is None or not any(clause.said for clause in utterance):
            return
        self.loudspeaker.play(spoken(self.voice, utterance, phrases))
        if signal is not None:
            self.loudspeaker.add([sound(signal, self.voice.rate)])
        try:
            if self.loudspeaker.wait(SPEECH_S):
                return
            trouble: DeviceError = SoundError(
                "The loudspeaker takes no sound", "choose another with --loudspeaker."
            )
        except DeviceError as error:
            trouble = error
        self.voice = None  # the rest is shown
        self.tell(check_report.failed("sound", trouble))

    def speak(self, settings: VoiceSettings, name: str | None) -> None:
        """The sound library, the voice, and the loudspeaker's left and right."""
        library, voice = check_parts.sound_library(), self._voice(settings)
        trouble = Result("loudspeaker", Outcome.SKIPPED, "It needs the sound library.")
        if library.state is Outcome.WORKS:
            rate = 22_050 if self.voice is None else self.voice.rate
            try:
                self.loudspeaker = open_loudspeaker(rate, name, stereo=True)
                self.stack.callback(self.loudspeaker.close)
            except DeviceError as error:
                trouble = check_report.failed("loudspeaker", error)
        opened = not isinstance(self.loudspeaker, SilentLoudspeaker)
        if not opened:
            self.voice = None
        self.tell(library)
        self.tell(voice)
        if not opened:
            self.tell(trouble)
            return
        if self.voice is not None:
            self.say((Clause("Left.", "Left.", 0.3, -1.0), Clause("Right.", "Right.", 0.3, 1.0)))
        finding = "The loudspeaker opened, and nothing was said."
        if self.voice is not None:
            finding = "Left was said on the left, and right on the right."
        self.tell(Result("loudspeaker", Outcome.WORKS, finding, essential=True))

    def _voice(self, settings: VoiceSettings) -> Result:
        troubles: list[str] = []
        try:
            voice, choice = open_chosen(settings, troubles.append)
            self.stack.callback(voice.close)
            seconds = sum(block.seconds for block in voice.render("This is the voice."))
        except DeviceError as error:
            return check_report.failed("voice", error)
        kind = choice.settings.kind
        if not seconds:
            finding = f"The {kind} voice says nothing."
            remedy = "Choose another with --voice or --voice-name."
            return Result("voice", Outcome.FAILS, finding, remedy, essential=True)
        self.voice = voice
        finding = f"The voice is {kind}, at {settings.rate_wpm} words a minute: {choice.why}."
        return Result("voice", Outcome.WORKS, finding, " ".join(troubles), essential=True)

    def listen(self, settings: ListeningSettings, wait_s: float | None) -> None:
        """The microphone in a quiet room, the recogniser, and a command for both."""
        library = self.results[0]
        if library.state is not Outcome.WORKS:
            self.tell(Result("microphone", Outcome.SKIPPED, "It needs the sound library."))
            room = None
        else:
            room = self._room(settings.microphone, wait_s is not None)
        if room is not None and (wait_s is None or not room.silent):
            self.tell(check_report.microphone_result(settings.microphone, room))
        try:
            choice = choose_recogniser(settings)
            listener = open_listener(choice)
        except DeviceError as error:
            self.tell(check_report.failed("recogniser", error))
            return
        self.stack.callback(listener.close)
        counted = ((len(choice.words), "phrases"), (len(choice.taught), "taught commands"))
        listens = " and ".join(f"{count} {what}" for count, what in counted if count)
        finding = f"The recogniser is {choice.name}, for {listens}."
        self.tell(Result("recogniser", Outcome.WORKS, finding, essential=True))
        if room is None or wait_s is None:
            why = "There is no microphone." if room is None else "Nobody was waited for."
            self.tell(Result("spoken command", Outcome.SKIPPED, why))
            return
        words = phrase_for(Command.NEXT, choice.words) or next(iter(choice.words), None)
        words = words or f"what you taught for {choice.taught_names[0]}"
        ask = partial(
            self.say,
            sentence(f"After the tone, say: {words}."),
            (*choice.words, *choice.taught_names),
            Signal.HEARD,
        )
        self._command(settings.microphone, listener, room, ask, wait_s)

    def _room(self, name: str | None, ask: bool) -> Level | None:
        """The level of the room; None, and told, where the microphone fails."""
        if ask:
            self.say(sentence("Please be quiet for a moment."))
        heard = [np.zeros(0, dtype=np.int16)]
        try:
            with closing(open_microphone(name)) as microphone:
                for samples in microphone.blocks():
                    heard.append(samples)
                    if sum(map(len, heard)) >= (CLICK_S + ROOM_S) * RATE:
                        break
        except DeviceError as error:
            self.tell(check_report.failed("microphone", error))
            return None
        self.levels["room"] = measured(np.concatenate(heard)[round(CLICK_S * RATE) :])
        return self.levels["room"]

    def _command(
        self,
        name: str | None,
        listener: Listener,
        room: Level,
        ask: Callable[[], None],
        wait_s: float,
    ) -> None:
        """A spoken command, and the level at which it came.

        The microphone is open before it is asked for, so that a quick answer is heard whole.
        """
        heard = [np.zeros(0, dtype=np.int16)]
        phrases: list[HeardPhrase | NearlyHeard] = []
        found: HeardPhrase | None = None
        try:
            with closing(open_microphone(name)) as microphone:
                begun_s = time.monotonic()
                ask()
                asking = round((time.monotonic() - begun_s) * RATE)
                for samples in microphone.blocks():
                    asking -= len(samples)
                    if asking > 0:
                        continue
                    heard.append(samples)
                    phrases += listener.feed(samples)
                    found = next((one for one in phrases if isinstance(one, HeardPhrase)), None)
                    if found or sum(map(len, heard)) >= wait_s * RATE:
                        break
        except DeviceError as error:
            self.tell(check_report.failed("spoken command", error))
            return
        voice = self.levels["voice"] = measured(np.concatenate(heard))
        self.show(bar(voice.loudest_db))
        if room.silent:
            self.tell(check_report.microphone_result(name, room, voice))
        if found is not None:
            self.tell(check_report.heard_result(found.phrase, found.command, found.engine))
        else:
            fault = fault_of(room, voice)
            self.tell(check_report.unheard_result(wait_s, bool(phrases), fault))
        if not voice.silent:
            self.tell(check_report.level_result(room, voice))

    def feel(self, wait_s: float | None) -> None:
        """A pedal or any key: of the terminal, or of a pedal that is kept."""
        if wait_s is None:
            self.tell(Result("pedal", Outcome.SKIPPED, "Nobody was waited for."))
            return
        try:
            kept = settings_file.load()
            if not sys.stdin.isatty() and not kept.pedals:
                why = "There is no terminal here, and no pedal is kept."
                self.tell(Result("pedal", Outcome.SKIPPED, why))
                return
            self.say(sentence("Press your pedal, or any key."))
            self.tell(_press(kept, wait_s))
        except CallerError as error:
            self.tell(check_report.failed("pedal", error, essential=False))


def _press(kept: KeptSettings, wait_s: float) -> Result:
    """What the first press within this time is."""
    from caller.devices.keys.terminal import Keyboard
    from caller.wiring.pedals import PedalInputs

    events = Events()
    troubles: list[CallerError] = []
    with ExitStack() as stack:
        pedals = PedalInputs(kept.pedals, kept.presses, events)
        stack.callback(pedals.close)
        if sys.stdin.isatty():
            keys = Keyboard(events, pedals.takes)
            stack.callback(keys.close)
            keys.start()
        until = time.monotonic() + wait_s
        while (left := until - time.monotonic()) > 0:
            try:
                event = events.get(timeout=left)
            except Empty:
                break
            match event:
                case Trouble(error):
                    troubles.append(error)
                case Pressed("control-c"):
                    raise KeyboardInterrupt
                case Pressed(key):
                    return check_report.key_result(key, key_words(key))
                case Command():
                    return check_report.pedal_result(event)
    return check_report.unpressed_result(wait_s, troubles)
