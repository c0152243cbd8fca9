"""Comparisons that a busy machine does not bend: rounds, in each of which all ways are measured."""

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from statistics import median
from time import perf_counter
from typing import TypeVar

T = TypeVar("T")


def is_tiny(arguments: Sequence[str] | None = None) -> bool:
    """Whether --tiny was given: a load so small that it only shows that the bench runs."""
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument("--tiny", action="store_true")
    return bool(parser.parse_known_args(arguments)[0].tiny)


def tiny(small: T, usual: T) -> T:
    """The small load where --tiny was given, else the usual one."""
    return small if is_tiny() else usual


def told(what: str) -> None:
    """Say on standard error how far the bench is."""
    print(what, file=sys.stderr, flush=True)


def rounds(ways: Mapping[str, Callable[[], T]], times: int) -> list[dict[str, T]]:
    """What each way gives, round by round; the order turns from round to round."""
    found = []
    for number in range(times):
        told(f"round {number + 1} of {times}")
        names = list(ways)
        turn = number % len(names)
        found.append({name: ways[name]() for name in names[turn:] + names[:turn]})
    return found


def ratios(measured: Sequence[Mapping[str, float]], baseline: str) -> dict[str, float]:
    """Of each way, the median over the rounds of its figure to the baseline's in the same round."""
    return {
        name: median(found[name] / found[baseline] for found in measured) for name in measured[0]
    }


def seconds(work: Callable[[], object]) -> float:
    begun = perf_counter()
    work()
    return perf_counter() - begun
