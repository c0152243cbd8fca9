"""The commands."""

import click


@click.group()
def main() -> None:
    """Call the rows of a colour-block picture aloud."""
