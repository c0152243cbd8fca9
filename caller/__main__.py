"""`python -m caller` is the same as `row-caller`."""

import sys


def main() -> None:
    """Start the program; stopped while it loads, it ends without a word."""
    try:
        from caller.cli import main as start
        from caller.installation import PROGRAM
    except KeyboardInterrupt:
        sys.exit(130)
    start(prog_name=PROGRAM)


if __name__ == "__main__":
    main()
