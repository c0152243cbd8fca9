"""`python -m caller` is the same as `row-caller`."""

import sys


def main() -> None:
    """Run the program, and end it even where a library hangs.

    Ctrl-C while the program still loads, from its first import on, ends it without a word.
    """
    code: object = 130
    try:
        from caller.cli import main as start
        from caller.installation import PROGRAM

        start(prog_name=PROGRAM)
    except KeyboardInterrupt:
        sys.exit(130)
    except SystemExit as ended:
        code = ended.code or 0
        raise
    finally:
        loaded = sys.modules.get("caller.leaving")
        if loaded is not None and loaded.any_hangs():
            loaded.end(code if isinstance(code, int) else 1)


if __name__ == "__main__":
    main()
