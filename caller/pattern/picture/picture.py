"""Reading a picture as it looks."""

import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from caller.errors import PictureError

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


def read_picture(path: Path, background: tuple[int, int, int] | None = None) -> Picture:
    """Read the first frame of any kind of picture that Pillow knows, turned the way it is shown.

    Transparent parts show the `background`; where none is given they are `out` of the picture. A
    colour profile in the file is not applied, so that the colours of a chart stay as they were
    written. Raises PictureError for whatever cannot be read.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    try:
        if path.is_dir():
            raise PictureError(f"{path} is a folder", "name the picture in it.")
        if path.exists() and not path.is_file():
            raise PictureError(f"{path} is not a file", "name a picture file.")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # damaged notes in a readable picture
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(path) as image:
                return _picture(ImageOps.exif_transpose(image), background)
    except PictureError:
        raise
    except FileNotFoundError:
        raise PictureError(f"There is no picture {path}", "check the name.") from None
    except PermissionError:
        raise PictureError(f"The picture {path} may not be read", "check who owns it.") from None
    except UnidentifiedImageError:
        raise PictureError(
            f"{path} is not a picture that can be read", "use a PNG or JPEG file."
        ) from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning, MemoryError):
        raise PictureError(
            f"The picture {path} is too large",
            f"make it smaller than {(Image.MAX_IMAGE_PIXELS or 0) // 1_000_000} million pixels.",
        ) from None
    except Exception:  # Pillow's readers raise nearly anything on damaged files
        raise PictureError(
            f"The picture {path} is damaged or cut short", "copy it again, or save it as PNG."
        ) from None


def _picture(image: "Image", background: tuple[int, int, int] | None) -> Picture:
    if background is not None or not image.has_transparency_data or 0 in image.size:
        return Picture(_rgb(image, background or WHITE))
    rgba = np.asarray(image.convert("RGBA"))
    out = rgba[..., 3] < _OPAQUE
    if not out.any():
        return Picture(_rgb(image, WHITE))
    # What is half transparent along an edge has its own colour, not one paled by the background.
    return Picture(np.where(out[..., None], np.uint8(255), rgba[..., :3]), out)


def _rgb(image: "Image", background: tuple[int, int, int]) -> NDArray[np.uint8]:
    from PIL import Image

    if 0 in image.size:
        raise ValueError("no pixels")
    if image.mode in ("I", "F") or image.mode.startswith("I;16"):
        return np.repeat(_grey(np.asarray(image))[..., None], 3, axis=2)
    if image.has_transparency_data:
        below = Image.new("RGBA", image.size, background)
        image = Image.alpha_composite(below, image.convert("RGBA"))
    return np.asarray(image.convert("RGB"))


def _grey(values: NDArray[np.generic]) -> NDArray[np.uint8]:
    """Deep greys as 0 to 255.

    Whole numbers that fit 16 bits fill 0 to 65535, fractions that fit fill 0 to 1; anything else is
    stretched from its darkest to its lightest.
    """
    deep = np.nan_to_num(values.astype(np.float64), nan=0.0, posinf=0.0, neginf=0.0)
    lowest, highest = 0.0, 1.0 if values.dtype.kind == "f" else 65535.0
    if deep.min() < lowest or deep.max() > highest:
        lowest, highest = deep.min(), deep.max()
    return np.rint((deep - lowest) / max(highest - lowest, 1e-300) * 255).astype(np.uint8)
