"""Spoken names for colours that nobody has named yet."""

from collections.abc import Collection, Sequence
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from caller.pattern.picture.colour import RGB, Numbers, differences, lab

# For every spoken name, the colours that people gave the names behind it to on their screens: XKCD
# colour survey 2010, CC0, second-hand from the list that matplotlib carries. Common words that
# knitters use as well, and of the modifiers only those that do not rhyme with "right" as "light"
# and "bright" do. "gold", "tan", "rose", "lime" and "wine" are left out because they sound like
# "go", "ten", "rows" and "nine"; "navy", "plum", "mint", "mauve", "taupe", "lilac", "slate",
# "rust", "brick", "heather", "khaki", "cream", "pale pink", "beige", "denim", "aqua" and
# "terracotta" because open recognisers took them for other words ("maybe", "plan", "men", "move",
# "top", "like", "play", "rest", "break", "either", "Kackie", "green", "helping", "base", "Denon",
# "Aqual", "Terka").
_SURVEY = {
    "black": "000000 070d0d",  # black, almost black
    "white": "ffffff fdfdfe",  # white, pale grey
    "ivory": "ffffcb ffffc2 ffffd4 fff9d0 ffffe4",  # ivory, cream, eggshell, pale, off white
    "sand": "e2ca76 e6daa6 fbeeac",  # sand, beige, light tan
    "grey": "929591 7d7f7c 95a3a6 a8a495",  # grey, medium grey, cool grey, greyish
    "dark grey": "363737 3c4142 516572 59656d",  # dark grey, charcoal grey, slate, slate grey
    "silver": "c5c9c7 d8dcd6",  # silver, light grey
    "red": "e50000 c0022f bb3f3f c44240 ef4026",  # red, lipstick red, dull red, reddish, tomato
    "dark red": "840000 980002 8c000f a03623 8f1402",  # dark red, blood red, crimson, brick
    "cherry": "cf0234 f7022a",  # cherry, cherry red
    "raspberry": "b00149 9e003a",  # raspberry, cranberry
    "burgundy": "610023 650021",  # burgundy, maroon
    "coral": "fc5a50 ff6163",  # coral, coral pink
    "salmon": "ff796c ff9a8a",  # salmon, peachy pink
    "clay": "b66a50 ca6641",  # clay, terracotta
    "orange": "f97306 ff5b00 fd8d49",  # orange, bright orange, orangeish
    "dark orange": "c65102 c04e01",  # dark orange, burnt orange
    "pale orange": "ffa756 ff964f",  # pale orange, pastel orange
    "peach": "ffb07c ffd8b1",  # peach, light peach
    "amber": "feb308 f2ab15",  # amber, squash
    "mustard": "ceb301 bf9005",  # mustard, ochre
    "yellow": "ffff14 fec615",  # yellow, golden yellow
    "pale yellow": "ffff84 eedc5b",  # pale yellow, dull yellow
    "camel": "c69f59 d1b26f",  # camel, tan
    "brown": "653700 7f5112",  # brown, medium brown
    "dark brown": "341c02 3d1c02",  # dark brown, chocolate
    "pale brown": "b1916e 9d7651",  # pale brown, mocha
    "cinnamon": "ac4f06 a9561e",  # cinnamon, sienna
    "chestnut": "742802 7f2b0a",  # chestnut, reddish brown
    "green": "15b01a 39ad48 3f9b0b",  # green, medium green, grass green
    "dark green": "033500 0a481e 2b5d34",  # dark green, pine green, pine
    "pale green": "c7fdb5 b0ff9d b7e1a1 9ffeb0 b6ffbb",  # pale green, pastel green, mint
    "moss": "769958 658b38",  # moss, moss green
    "sage": "87ae73 82a67d",  # sage, greyish green
    "olive": "6e750e 373e02",  # olive, dark olive
    "emerald": "01a049 028f1e",  # emerald, emerald green
    "jade": "1fa774 2baf6a",  # jade, jade green
    "teal": "029386 4c9085",  # teal, dusty teal
    "dark teal": "014d4e 005f6a",  # dark teal, petrol
    "turquoise": "06c2ac 04d8b2 13eac9 8cffdb",  # turquoise, aquamarine, aqua, light aqua
    "blue": "0343df 276ab3 0485d1",  # blue, mid blue, cerulean
    "dark blue": "00035b 014182 01153e 01386a 29465b",  # dark blue, darkish blue, navy
    "pale blue": "d0fefe 95d0fc 9dbcd4",  # pale blue, light blue, light grey blue
    "sky blue": "75bbfd 82cafc",  # sky blue, sky
    "dusty blue": "5a86ad 6b8ba4 3b638c 475f94",  # dusty blue, grey blue, denim, dusky blue
    "cobalt": "1e488f 2138ab",  # cobalt, sapphire
    "purple": "7e1e9c 9e43a2",  # purple, medium purple
    "dark purple": "35063e 34013f 580f41 5d1451 6c3461",  # dark purple, dark violet, plum
    "pale purple": "b790d4 9b5fc0 cea2fd c79fef",  # pale purple, amethyst, lilac, lavender
    "violet": "9a0eea 5729ce",  # violet, blue purple
    "pink": "ff81c0 f36196 d5869d ffcfdc ffb7ce",  # pink, medium pink, dull pink, pale pink
    "deep pink": "cb0162 ff028d cb416b",  # deep pink, hot pink, dark pink
    "magenta": "c20078 ce5dae",  # magenta, purplish pink
}
NAMES = tuple(_SURVEY)


_PALE_FROM, _DARK_TO = 50.0, 50.0  # CIELAB L*
_NEUTRAL = ("black", "white", "grey", "dark grey", "silver", "slate")
_COLOURED = 15.0  # CIELAB C*; what has less may be called grey
_DIM, _BRIGHT = 10.0, 95.0  # L* of what is black or white, whatever its hue
_CONTRARY = 1000.0


def colour_names(colours: Sequence[RGB], taken: Collection[str] = ()) -> tuple[str, ...]:
    """A spoken name for each colour, no two alike and none of those that are taken.

    The nearest names, at the least total of squared distances, so that none is far off for the
    others' sake: Hungarian assignment over CIEDE2000. A name is not given that says the contrary of
    what is seen: "pale" to a dark colour, "dark" to a light one, grey to a coloured one. Takes at
    most as many colours as there are NAMES that are free.
    """
    free = [name for name in NAMES if name not in {name.casefold() for name in taken}]
    cost = distances(colours, free) ** 2 + _CONTRARY**2 * _contrary(colours, free)
    chosen = cost.argmin(axis=1)
    if len(set(chosen)) < len(colours):  # scipy takes half a second to load: only where two compete
        from scipy.optimize import linear_sum_assignment

        _, chosen = linear_sum_assignment(cost.round(3))
    return tuple(free[index] for index in chosen)


def distances(colours: Sequence[RGB], names: Sequence[str]) -> Numbers:
    """CIEDE2000 from each colour to the nearest of each name's colours, (colours, names)."""
    surveyed = [[tuple(bytes.fromhex(text)) for text in _SURVEY[name].split()] for name in names]
    apart = differences(colours, list(chain.from_iterable(surveyed)))
    firsts = np.cumsum([0, *map(len, surveyed[:-1])])
    nearest: Numbers = np.minimum.reduceat(apart, firsts, axis=1)
    return nearest


def _contrary(colours: Sequence[RGB], names: Sequence[str]) -> NDArray[np.bool_]:
    """Which names say the contrary of which colours, (colours, names)."""
    lightness, a, b = lab(colours).T[:, :, None]
    pale = np.array([name.startswith("pale ") for name in names])
    dark = np.array([name.startswith("dark ") for name in names])
    neutral = np.array([name in _NEUTRAL for name in names])
    coloured = (np.hypot(a, b) > _COLOURED) & (lightness > _DIM) & (lightness < _BRIGHT)
    contrary: NDArray[np.bool_] = (
        (pale & (lightness < _PALE_FROM)) | (dark & (lightness > _DARK_TO)) | (neutral & coloured)
    )
    return contrary
