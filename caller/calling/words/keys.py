"""How keys and pedals are called aloud."""

KEY_WORDS = {
    "space": "the space bar",
    "pagedown": "page down",
    "pageup": "page up",
    "left": "the left arrow",
    "right": "the right arrow",
    "up": "the up arrow",
    "down": "the down arrow",
    "esc": "escape",
    "?": "the question mark",
    "+": "plus",
    "-": "minus",
    "=": "equals",
    ".": "the full stop",
    ",": "the comma",
    "/": "the slash",
    "#": "the hash",
    "*": "the asterisk",
}


def key_words(key: str) -> str:
    """What a key is called in a sentence, as it is named in `Edge.key`."""
    if key in KEY_WORDS:
        return KEY_WORDS[key]
    if len(key) == 1:
        return f"the {'letter' if key.isalpha() else 'key'} {key.upper()}"
    if key.startswith("#"):
        return "a key without a name" if key == "#0" else f"the key number {key[1:]}"
    if key[0] == "f" and key[1:].isdecimal():
        return f"F {key[1:]}"
    return key.replace("_", " ").replace("-", " ")
