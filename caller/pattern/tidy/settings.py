"""What the knitter asks of tidying."""

from dataclasses import dataclass

from caller.checks import whole
from caller.errors import SettingError


@dataclass(frozen=True)
class TidySettings:
    """What the knitter asks for.

    No run shorter than `shortest_run` stitches; no block of colour of `specks` stitches or fewer
    (4-connected); at most `at_once` supplies hanging in a row and `in_all` in the whole work, None
    for as many as it takes. A supply less is worth a colour error of `price` in any case; a price
    of 0 changes only what the other settings demand. With `keep_thin_lines` no stitch of a thin
    line changes, and its runs stay as short as they are.

    Raises SettingError for what makes no sense.
    """

    shortest_run: int = 1
    specks: int = 0
    at_once: int | None = None
    in_all: int | None = None
    price: float = 0.0
    keep_thin_lines: bool = False

    def __post_init__(self) -> None:
        whole(SettingError, "A shortest run", self.shortest_run, 1)
        whole(SettingError, "A largest speck", self.specks, 0)
        if self.at_once is not None:
            whole(SettingError, "A number of supplies at once", self.at_once, 1)
        if self.in_all is not None:
            whole(SettingError, "A number of supplies in all", self.in_all, 1)
        if not 0 <= self.price < float("inf"):  # written so that NaN fails too
            raise SettingError(
                f"A price of {self.price} for a supply cannot be used", "give 0 or a colour error."
            )

    @property
    def asks_for_nothing(self) -> bool:
        """Whether nothing would change; keeping thin lines is no wish by itself."""
        return self == TidySettings(keep_thin_lines=self.keep_thin_lines)
