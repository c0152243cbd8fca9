"""The commands. The only package that prints."""

import caller.cli.knit
import caller.cli.check
import caller.cli.chart
import caller.cli.models
import caller.cli.pedal
import caller.cli.plan
import caller.cli.tracks
import caller.cli.teach  # noqa: F401 (their commands join the group)
from caller.cli.base import main

__all__ = ["main"]
