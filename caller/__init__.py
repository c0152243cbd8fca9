"""Calls the rows of a colour-block picture aloud to a knitter at a flat bed.

Importing this package loads no device library: see DEVELOPERS.md for the layers.
"""

__version__ = "0.1.0"
