"""Lengths and masses in the units of tapes, scales and labels."""

from caller.errors import SettingError

YARD_M = 0.9144
POUND_G = 453.59237  # both exact: international yard and pound agreement, 1959
MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4, "yd": 1000 * YARD_M}
"""The millimetres in one of each unit of length."""
GRAMS = {"g": 1.0, "kg": 1000.0, "oz": POUND_G / 16, "lb": POUND_G}
"""The grams in one of each unit of mass."""


def mm(length: float, unit: str) -> float:
    """A length in millimetres; SettingError for a unit that is not in `MM`."""
    if unit not in MM:
        raise SettingError(f"A length in {unit!r} cannot be read", f"use one of {', '.join(MM)}.")
    return length * MM[unit]
