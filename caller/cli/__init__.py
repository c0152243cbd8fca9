"""The commands. The only package that prints."""

import caller.cli.chart
import caller.cli.check
import caller.cli.knit
import caller.cli.models
import caller.cli.pedal
import caller.cli.plan
import caller.cli.teach
import caller.cli.tracks  # noqa: F401 (their commands join the group)
from caller.cli.base import main

__all__ = ["main"]
