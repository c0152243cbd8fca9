"""Text from outside, made harmless: titles, names, reminders, settings and names of files.

What a terminal, a page, a file's tags or a voice are given has passed through `plain`.
"""

import re
import unicodedata

LONGEST_TITLE = 80
"""Characters: two lines of a terminal, and about six seconds to say."""
LONGEST_REMINDER = 200
"""Characters: about fifteen seconds to say, at a row that is waited for."""

# The code points that Unicode calls Default_Ignorable and that are not of the category Cf
# (DerivedCoreProperties.txt of Unicode 15): fillers, selectors and the like, which nobody sees.
_UNSEEN = re.compile(
    "[\u034f\u115f\u1160\u17b4\u17b5\u180b-\u180f\u2065\u3164\ufe00-\ufe0f\uffa0\ufff0-\ufff8"
    "\U000e0000-\U000e0fff]"
)
_PARTING = ("Cc", "Cs", "Zl", "Zp")  # control characters, halves of letters, ends of lines


def plain(text: str) -> str:
    """The text on one line, of characters that can be seen.

    Control characters, escapes among them, and ends of lines become a space; marks that turn the
    direction of writing, and others that have no width, are dropped. Letters of every script stay,
    composed (Unicode NFC), so that what looks alike is alike.
    """
    kinds = ((c, unicodedata.category(c)) for c in _UNSEEN.sub("", text))
    kept = "".join(" " if kind in _PARTING else c for c, kind in kinds if kind != "Cf")
    return unicodedata.normalize("NFC", " ".join(kept.split()))


def capitalised(text: str) -> str:
    """The text with a capital letter at its beginning; all other letters stay as they are."""
    return text[:1].upper() + text[1:]


def shortened(text: str, longest: int) -> str:
    """The plain text in at most so many characters; an ellipsis stands for what is left out."""
    whole = plain(text)
    return whole if len(whole) <= longest else whole[: longest - 1].rstrip() + "…"


def folded(text: str, columns: int, whole_words: bool = True) -> list[str]:
    """The plain text in lines of at most so many terminal columns, broken between words only.

    Spaces at the beginning stay before every line, and two more from the second line on. A word
    that is longer than a line, like a file's path, is left whole in a line of its own, unless
    `whole_words` is false.
    """
    from wcwidth import wrap

    lead = " " * (len(text) - len(text.lstrip(" ")))
    return wrap(
        plain(text),
        columns,
        initial_indent=lead,
        subsequent_indent=f"{lead}  ",
        break_long_words=not whole_words,
        break_on_hyphens=False,
    )
