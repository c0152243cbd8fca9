"""How many stitches and rows a picture becomes."""

from caller.checks import within
from caller.errors import SettingError
from caller.pattern.gauge import Gauge

_LONGEST_CM = 5000


def sized(
    gauge: Gauge,
    height_to_width: float,
    *,
    stitches: int | None = None,
    rows: int | None = None,
    width_cm: float | None = None,
    height_cm: float | None = None,
) -> tuple[int, int]:
    """Stitches and rows of a picture whose height is `height_to_width` times its width.

    One measure settles the other by the gauge, so that the picture keeps its proportions (common
    practice of the trade); a width and a height together stretch it. Raises SettingError when no
    measure is given, one is given twice, or one makes no sense.
    """
    if stitches is not None and width_cm is not None:
        raise SettingError("The width is given twice", "give it in stitches or as a length.")
    if rows is not None and height_cm is not None:
        raise SettingError("The height is given twice", "give it in rows or as a length.")
    within(SettingError, "A height-to-width ratio", height_to_width, 1e-5, 1e5, "times")
    width = _length("A width", stitches, gauge.stitches_per_cm, width_cm, "stitches")
    height = _length("A height", rows, gauge.rows_per_cm, height_cm, "rows")
    if width is None and height is None:
        raise SettingError(
            "The picture has no size.", "Say how large it should be: its width or its height."
        )
    if width is None:
        assert height is not None
        width = height / height_to_width
    elif height is None:
        height = width * height_to_width
    assert height is not None
    return (
        max(1, round(width * gauge.stitches_per_cm)),
        max(1, round(height * gauge.rows_per_cm)),
    )


def _length(
    what: str, count: int | None, per_cm: float, length_cm: float | None, unit: str
) -> float | None:
    """A measure in cm, however it was given."""
    if count is not None:
        return within(SettingError, what, count, 1, 100_000, unit) / per_cm
    if length_cm is not None:
        return within(SettingError, what, length_cm, 0.1, _LONGEST_CM, "cm")
    return None
