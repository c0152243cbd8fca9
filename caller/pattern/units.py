"""Lengths and masses in the units of tapes, scales and labels, and numbers within a range."""

from caller.errors import BadInputError, SettingError

YARD_M = 0.9144
POUND_G = 453.59237  # both exact: international yard and pound agreement, 1959
MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "yd": 1000 * YARD_M}
GRAMS = {"g": 1.0, "kg": 1000.0, "oz": POUND_G / 16, "lb": POUND_G}


def mm(length: float, unit: str) -> float:
    """A length in millimetres; SettingError for a unit that is not in `MM`."""
    if unit not in MM:
        raise SettingError(f"A length in {unit!r} cannot be read", f"use one of {', '.join(MM)}.")
    return length * MM[unit]


def within(
    error: type[BadInputError], what: str, value: float, least: float, most: float, unit: str
) -> float:
    """The value, when it lies from `least` to `most`; otherwise, and for NaN, the error."""
    if isinstance(value, bool) or not least <= value <= most:
        raise error(
            f"{what} of {value:.10g} {unit} cannot be used; give a number from {least:g} to "
            f"{most:,g} {unit}."
        )
    return value
