"""The commands. The only package that prints."""

import caller.cli.calling
import caller.cli.making  # noqa: F401 (its commands join the group)
from caller.cli.base import main

__all__ = ["main"]
