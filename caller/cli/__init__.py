"""The commands. The only package that prints."""

from caller.cli.base import main

__all__ = ["main"]
