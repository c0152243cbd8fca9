"""Reading a picture as it looks."""

import warnings
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from caller.errors import BadInputError, PictureError

if TYPE_CHECKING:
    from PIL.Image import Image

WHITE = (255, 255, 255)
_OPAQUE = 128  # of 255: what is more transparent than this is not in the picture


@dataclass(frozen=True, eq=False)
class Picture:
    """A picture as it looks: `rgb` uint8 of shape (height, width, 3), sRGB, the top line first.

    `out` (height, width) tells which pixels are transparent, None where none is; these are white.
    """

    rgb: NDArray[np.uint8]
    out: NDArray[np.bool_] | None = None


MOST_PIXELS = 50_000_000
"""Nearly every camera takes fewer; so many are read in less than half a gigabyte."""
_AT_ONCE = 1 << 20  # pixels


def read_picture(
    path: Path,
    background: tuple[int, int, int] | None = None,
    check: Callable[[int, int], None] = lambda _width, _height: None,
) -> Picture:
    """Read the first frame of any kind of picture that Pillow knows, turned the way it is shown.

    Transparent parts show the `background`; where none is given they are `out` of the picture. A
    colour profile in the file is not applied, so that the colours of a chart stay as they were
    written. Raises PictureError for whatever cannot be read.

    `check` is given width and height as soon as they are known, and may raise a BadInputError.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        if path.is_dir():
            raise PictureError(f"{path} is a folder", "name the picture in it.")
        if path.exists() and not path.is_file():
            raise PictureError(f"{path} is not a file", "name a picture file.")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # damaged notes in a readable picture
            with Image.open(path) as image:
                if image.width * image.height > MOST_PIXELS:
                    raise PictureError(
                        f"The picture {path} is too large, {image.width} x {image.height} pixels",
                        f"make it smaller than {MOST_PIXELS // 1_000_000} million pixels.",
                    )
                check(image.width, image.height)
                ImageOps.exif_transpose(image, in_place=True)
                return _picture(image, background)
    except BadInputError:
        raise
    except FileNotFoundError:
        raise PictureError(f"There is no picture {path}", "check the name.") from None
    except PermissionError:
        raise PictureError(f"The picture {path} may not be read", "check who owns it.") from None
    except UnidentifiedImageError:
        raise PictureError(
            f"{path} is not a picture that can be read", "use a PNG or JPEG file."
        ) from None
    except (Image.DecompressionBombError, MemoryError):
        raise PictureError(
            f"The picture {path} is too large",
            f"make it smaller than {MOST_PIXELS // 1_000_000} million pixels.",
        ) from None
    except Exception:  # Pillow's readers raise nearly anything on damaged files
        raise PictureError(
            f"The picture {path} is damaged or cut short", "copy it again, or save it as PNG."
        ) from None


def _picture(image: "Image", background: tuple[int, int, int] | None) -> Picture:
    """Band by band, since every kind of picture takes more bytes while it is turned into pixels."""
    if 0 in image.size:
        raise ValueError("no pixels")
    width, height = image.size
    rgb = np.empty((height, width, 3), dtype=np.uint8)
    shade = _shade(image) if _is_deep(image) else None
    clear = background is None and image.has_transparency_data
    out = np.zeros((height, width), dtype=bool) if clear else None
    for here, part in zip(_rows(image), _bands(image), strict=True):
        if shade is not None:
            rgb[here] = shade(np.asarray(part))[..., None]
        elif out is None:
            rgb[here] = _rgb(part, background or WHITE)
        else:
            rgba = np.asarray(part.convert("RGBA"))
            rgb[here], out[here] = rgba[..., :3], rgba[..., 3] < _OPAQUE
    if out is None:
        return Picture(rgb)
    if not out.any():
        del rgb, out  # they are large
        return _picture(image, WHITE)
    # What is half transparent along an edge has its own colour, not one paled by the background.
    rgb[out] = 255
    return Picture(rgb, out)


def _rgb(image: "Image", background: tuple[int, int, int]) -> NDArray[np.uint8]:
    from PIL import Image

    if image.has_transparency_data:
        below = Image.new("RGBA", image.size, background)
        image = Image.alpha_composite(below, image.convert("RGBA"))
    return np.asarray(image.convert("RGB"))


def _rows(image: "Image") -> Iterator[slice]:
    band = max(1, _AT_ONCE // image.width)
    return (slice(top, top + band) for top in range(0, image.height, band))


def _bands(image: "Image") -> Iterator["Image"]:
    for rows in _rows(image):
        yield image.crop((0, rows.start, image.width, min(rows.stop, image.height)))


def _is_deep(image: "Image") -> bool:
    return image.mode in ("I", "F") or image.mode.startswith("I;16")


def _shade(image: "Image") -> Callable[[NDArray[np.generic]], NDArray[np.uint8]]:
    """What makes 0 to 255 of the deep greys of this picture.

    Whole numbers that fit 16 bits fill 0 to 65535, fractions that fit fill 0 to 1; anything else is
    stretched from its darkest to its lightest.
    """
    lowest, highest = 0.0, 1.0 if image.mode == "F" else 65535.0
    ends = [(deep.min(), deep.max()) for deep in map(_deep, map(np.asarray, _bands(image)))]
    darkest, lightest = min(low for low, _ in ends), max(high for _, high in ends)
    if darkest < lowest or lightest > highest:
        lowest, highest = darkest, lightest

    def shade(values: NDArray[np.generic]) -> NDArray[np.uint8]:
        share = (_deep(values) - lowest) / max(highest - lowest, 1e-300)
        return np.rint(share * 255).astype(np.uint8)

    return shade


def _deep(values: NDArray[np.generic]) -> NDArray[np.float64]:
    deep: NDArray[np.float64] = values.astype(np.float64)
    return np.nan_to_num(deep, nan=0.0, posinf=0.0, neginf=0.0)
