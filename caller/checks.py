"""Checks of single values: within a range, whole, one of a few."""

from collections.abc import Sequence
from typing import get_args

from caller.errors import BadInputError


def within(
    error: type[BadInputError],
    what: str,
    value: float,
    least: float,
    most: float,
    unit: str = "",
) -> float:
    """The value, when it lies from `least` to `most`; otherwise, and for NaN, the error."""
    if isinstance(value, bool) or not least <= value <= most:
        raise error(
            f"{what} of {_with_unit(f'{value:.10g}', unit)} cannot be used",
            f"give a number from {least:g} to {_with_unit(f'{most:,g}', unit)}.",
        )
    return value


def whole(
    error: type[BadInputError],
    what: str,
    value: int,
    least: int = 0,
    most: int | None = None,
    unit: str = "",
) -> int:
    """The value, when it is a whole number from `least` to `most`, or any above; else the error."""
    fits = isinstance(value, int) and not isinstance(value, bool) and least <= value
    if not fits or (most is not None and value > most):
        to = "on" if most is None else f"to {most}"
        raise error(
            f"{what} of {_with_unit(str(value), unit)} cannot be used",
            f"give a whole number from {least} {to}.",
        )
    return value


def one_of(error: type[BadInputError], what: str, value: str, choices: object) -> None:
    """Nothing, when the value is one of the choices, texts or a Literal; otherwise the error."""
    known = choices if isinstance(choices, Sequence) else get_args(choices)
    if value not in known:
        raise error(f"The {what} {value!r} is not known", f"it is one of {', '.join(known)}.")


def _with_unit(value: str, unit: str) -> str:
    return f"{value} {unit}".rstrip()
