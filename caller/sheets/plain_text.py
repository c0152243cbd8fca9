"""Titles and names as plain lines of text, and as names of files."""

import unicodedata

_LONGEST_STEM = 40  # letters of up to four bytes, with room for a number and an ending in 255 bytes


def plain(text: str) -> str:
    """The text on one line, without control characters or halves of letters."""
    kept = (" " if unicodedata.category(c) in ("Cc", "Cs") else c for c in text)
    return " ".join("".join(kept).split())


def stem(title: str) -> str:
    """A title as the beginning of a file name: "Sailing boat" is "sailing-boat"."""
    folded = unicodedata.normalize("NFC", plain(title)).lower()
    words = "".join(c if c.isalnum() else " " for c in folded).split()
    return "-".join(words)[:_LONGEST_STEM].strip("-") or "pattern"
