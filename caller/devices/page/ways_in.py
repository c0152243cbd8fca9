"""Ways to the page besides typing its address: this computer's browser, and a code for a camera."""

import os
import sys
import threading
import webbrowser
from collections.abc import Sequence

from caller.errors import PageError

_QUIET = 4  # light modules around a QR code (ISO/IEC 18004)
_BLOCKS = " ▀▄█"


def open_browser(address: str) -> None:
    """Open the address in this computer's browser, on a thread; PageError where there is none.

    A browser of the terminal is none: it would take the terminal's keys away from the session.
    """
    windows = ("DISPLAY", "WAYLAND_DISPLAY")
    if sys.platform.startswith("linux") and not any(map(os.environ.get, windows)):
        raise PageError(
            "No browser can be opened here", "open the address on the screen elsewhere."
        )
    threading.Thread(target=webbrowser.open, args=(address,), name="browser", daemon=True).start()


def qr_code(address: str, columns: int, lines: int) -> Sequence[str]:
    """The address as a QR code in block letters, two modules in a character, one above the other.

    What is light is drawn, as most terminals are dark; cameras read either. Nothing where it does
    not fit, or its library is missing.
    """
    try:
        import segno
    except ImportError:
        return ()
    rows = [[*row] for row in segno.make_qr(address, error="l").matrix_iter(border=_QUIET)]
    rows += [[1] * len(rows[0])] * (len(rows) % 2)
    if len(rows[0]) > columns or len(rows) // 2 > lines:
        return ()
    pairs = zip(rows[::2], rows[1::2], strict=True)
    return [
        "".join(_BLOCKS[(not up) + 2 * (not down)] for up, down in zip(upper, lower, strict=True))
        for upper, lower in pairs
    ]
