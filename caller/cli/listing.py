"""The commands: in which file each one is, and how they are listed."""

FILES = {
    "chart": ("chart",),
    "plan": ("plan", "preview", "swatch"),
    "tidy": ("tidy",),
    "shape": ("shape",),
    "piece": ("finish", "join", "print"),
    "hear": ("hear",),
    "log": ("log",),
    "knit": ("knit", "rows", "say"),
    "tracks": ("tracks",),
    "teach": ("teach",),
    "pedal": ("pedal",),
    "check": ("check",),
    "models": ("models",),
    "add": ("add",),
    "words": ("words",),
}
"""The files in this package, and the commands in each."""
IN_ORDER = {
    "Your picture": ("chart", "tidy", "shape", "join", "swatch"),
    "The plan": ("plan", "preview", "print", "rows", "say", "tracks"),
    "At the machine": ("knit", "log", "finish"),
    "Voice and pedals": ("check", "hear", "words", "teach", "pedal", "models", "add"),
}
"""The commands as they are listed: under what the knitter is doing, in the order of the work."""
