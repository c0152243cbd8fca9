"""Calls the rows of a colour-block picture aloud to a knitter at a flat bed.

Importing this package loads no device library: see DEVELOPERS.md for the layers.
"""

import os

# Before numpy is loaded. Its products are small here, and each would leave a thread of every core
# waiting busily for the next one.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
