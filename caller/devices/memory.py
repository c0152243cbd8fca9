"""Memory that libraries have freed and the C library keeps for itself."""

import ctypes


def give_back() -> None:
    """Give it to the system: after a model was loaded or has run, tens of megabytes.

    Takes some milliseconds; does nothing where the C library is not glibc, which Linux has.
    """
    try:
        ctypes.CDLL(None).malloc_trim(0)
    except (AttributeError, OSError, TypeError):  # TypeError: Windows opens no library None
        return
