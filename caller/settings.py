"""Settings: frozen values, each with its unit in its name or docstring."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from caller.errors import SettingError

SLOWEST_WPM, FASTEST_WPM = 80, 350

VoiceKind = Literal["espeak", "system"]


@dataclass(frozen=True)
class VoiceSettings:
    """Which voice speaks and how fast, in words a minute.

    "espeak" comes with the program; "system" is the computer's own. People read aloud at 150 to
    160 words a minute (audiobook practice), hence the default. SettingError for a rate outside 80
    to 350.
    """

    kind: VoiceKind = "espeak"
    rate_wpm: int = 160

    def __post_init__(self) -> None:
        if not SLOWEST_WPM <= self.rate_wpm <= FASTEST_WPM:
            raise SettingError(
                f"A rate of {self.rate_wpm} words a minute cannot be used; choose one from "
                f"{SLOWEST_WPM} to {FASTEST_WPM}."
            )


@dataclass(frozen=True)
class EarSettings:
    """Whether to listen, and the folder of a Vosk model when the knitter names one."""

    listen: bool = True
    model_folder: Path | None = None
