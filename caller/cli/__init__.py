"""The commands. The only package that prints."""

from caller.cli import calling, making
from caller.cli.base import main

__all__ = ["calling", "main", "making"]
