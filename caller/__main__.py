"""`python -m caller` is the same as `row-caller`."""

from caller.cli import main
from caller.installation import PROGRAM

main(prog_name=PROGRAM)
