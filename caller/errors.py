"""What can go wrong, as sentences a knitter understands.

    CallerError
    +-- BadInputError              the knitter gave something that cannot be used
    |   +-- PictureError           the picture cannot be read or is not a picture
    |   +-- ChartError             the chart cannot be knitted as it is
    |   +-- GaugeError             a gauge that makes no sense
    |   +-- BedError               the work does not lie on the bed
    |   +-- PatternFileError       the pattern file is damaged or disagrees with its chart
    |   +-- YarnError              a yarn that is unknown, or a name that cannot be spoken
    |   +-- SettingError           a setting out of its range
    +-- DeviceError                something outside the program is missing or has failed
        +-- SoundError             loudspeaker or microphone
        |   +-- SoundLibraryError  the library under both
        |   +-- NoAnswerError      the computer's sound does not answer
        +-- VoiceError             a voice that is missing or failed
        +-- ListeningError         a recogniser or its model is missing or failed
        |   +-- RecogniserLostErrorit failed in a way that it does not foresee; a new one may not
        +-- PedalError             a pedal, or its library, is missing or was taken away
        +-- PlaceError             the place in the work cannot be kept or read
        +-- PageError              the page at the machine cannot be had
        +-- ScreenError            lines cannot be shown, or keys not read
        +-- InstallationError      a part that cannot be added to the program

Every error says what is wrong and where, and what to do next. The command line prints both and ends
with exit code 2; no traceback.
"""

from typing import Self


class CallerError(Exception):
    """Anything the program says plainly instead of failing.

    `finding` says what is wrong and where; `remedy` what to do, and is empty only where nothing
    can be done. Both read as one text, `str(error)`: a finding that ends a sentence stands before
    its remedy as it is, any other is joined to it by a semicolon. Errors that say the same are
    equal.
    """

    def __init__(self, finding: str, remedy: str = "") -> None:
        super().__init__(finding, remedy)
        self.finding = finding
        self.remedy = remedy

    def __str__(self) -> str:
        if not self.remedy:
            return self.finding
        joint = " " if self.finding.endswith((".", "?")) else "; "
        return f"{self.finding}{joint}{self.remedy}"

    def __eq__(self, other: object) -> bool:
        return type(self) is type(other) and self.args == getattr(other, "args", None)

    def __hash__(self) -> int:
        return hash((type(self), self.args))

    def at(self, where: str) -> Self:
        """The same error, with where it was found in front."""
        return type(self)(f"{where}: {self.finding}", self.remedy)


class BadInputError(CallerError):
    """The knitter gave something that cannot be used."""


class PictureError(BadInputError):
    """A picture that cannot be read."""


class ChartError(BadInputError):
    """A chart that cannot be knitted as it is."""


class GaugeError(BadInputError):
    """A gauge that makes no sense."""


class BedError(BadInputError):
    """Work that does not lie on the bed."""


class PatternFileError(BadInputError):
    """A pattern file that is damaged, or that disagrees with its chart."""


class YarnError(BadInputError):
    """A yarn that is unknown, or a name that cannot be spoken."""


class SettingError(BadInputError):
    """A setting out of its range."""


class DeviceError(CallerError):
    """Something outside the program is missing or has failed."""


class SoundError(DeviceError):
    """No loudspeaker or microphone, or one that failed."""


class SoundLibraryError(SoundError):
    """The library through which all sound goes is missing or does not start."""


class NoAnswerError(SoundError):
    """The computer's sound has not answered in time; it may do so later."""


class VoiceError(DeviceError):
    """A voice that is missing or failed."""


class ListeningError(DeviceError):
    """A recogniser, or its model, that is missing or failed."""


class RecogniserLostError(ListeningError):
    """A recogniser that hangs, has ended, or raised what it does not say it raises."""


class PedalError(DeviceError):
    """A pedal, or what reads it, that is missing or was taken away."""


class PlaceError(DeviceError):
    """The place in the work cannot be kept or read."""


class PageError(DeviceError):
    """The page at the machine cannot be had."""


class ScreenError(DeviceError):
    """The screen takes no lines, or the keys of the terminal cannot be read."""


class InstallationError(DeviceError):
    """A part of the program that cannot be added."""
