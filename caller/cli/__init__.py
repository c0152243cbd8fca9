"""The commands. The only package that prints."""

import caller.cli.calling
import caller.cli.check
import caller.cli.making
import caller.cli.models
import caller.cli.pedal
import caller.cli.planning
import caller.cli.taking_along
import caller.cli.teach  # noqa: F401 (their commands join the group)
from caller.cli.base import main

__all__ = ["main"]
