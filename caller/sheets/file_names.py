"""Names of files from titles, good on every system."""

import re

from caller.plain_text import plain

_LONGEST_STEM = 40  # letters of up to four bytes, with room for numbers and an ending in 255 bytes
_RESERVED = re.compile(r"con|prn|aux|nul|(com|lpt)[0-9¹²³]")
"""What Windows takes for a device whatever the ending ("Naming Files, Paths, and Namespaces",
learn.microsoft.com); a trailing dot or space, which it drops, is never in a stem."""


def stem(title: str) -> str:
    """A title as the beginning of a file name: "Sailing boat" is "sailing-boat"."""
    words = "".join(c if c.isalnum() else " " for c in plain(title).lower()).split()
    name = "-".join(words)[:_LONGEST_STEM].strip("-") or "pattern"
    return f"{name}-pattern" if _RESERVED.fullmatch(name) else name
