"""Pieces that can be read at a glance."""

import numpy as np

from caller.pattern.chart import Chart
from caller.pattern.pattern import Fabric, Pattern, SupplyRules
from caller.pattern.yarns import Yarn

YARNS = (Yarn("navy", "#1b2a4a"), Yarn("cream", "#f4efe0"), Yarn("rust", "#a0522d"))

# Ten rows of forty stitches, navy at the left and cream at the right; 10 mm in a stitch, no
# allowance and tails of 10 cm, so that a row takes 0.2 m of either yarn.
HALVES = Pattern(
    "Halves",
    Chart(np.repeat([[0, 1]], 20, axis=1).repeat(10, axis=0).astype(np.uint8)),
    YARNS[:2],
    fabric=Fabric(10, tail_cm=10, allowance=0),
    supply_rules=SupplyRules(max_carry=0, bobbin_m=1.0),
)

_STEPS = [  # row 1 first: needles L4 to R4; odd rows go right
    "00000000",
    "00000000",
    "00111000",
    "00111000",
    "00112200",
    "00002200",
    "00002200",
    "00000000",
]
STEPS = Pattern(
    "Steps",
    Chart(np.array([[int(one) for one in row] for row in _STEPS], dtype=np.uint8)),
    YARNS,
    supply_rules=SupplyRules(max_carry=2),
)
