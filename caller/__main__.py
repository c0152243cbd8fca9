"""`python -m caller` is the same as `caller`."""

from caller.cli import main

main(prog_name="caller")
