"""Photos as they are stored: decoded and written anew, so that nothing but the picture is left.

Place, device and comments that a camera writes into a file never reach the store. Colours of a
wide-gamut camera come out a little duller, since its colour profile is left out too.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from functools import cached_property
from io import BytesIO

from PIL import Image, ImageOps

from panelwright.errors import PhotoError

MOST_BYTES = 25_000_000
MOST_PIXELS = 40_000_000
LONGEST_SIDE = 4000
QUALITY = 85
MEDIA = "image/jpeg"

_READ = ("JPEG", "PNG", "WEBP")
"""JPEG with several pictures in one file, as many phones write it, gives the first."""
_PLAIN = frozenset({"APP0"})
"""Marker segments that a file of ours has: the plain header of a JPEG file."""
_END = b"\xff\xd9"
"""Marker of the end of a picture; nothing comes behind it (ITU-T T.81, B.1.1.3)."""


@dataclass(frozen=True)
class Picture:
    """A JPEG file with nothing in it but the picture, and its size in pixels."""

    data: bytes
    width: int
    height: int

    @cached_property
    def sha256(self) -> str:
        """Give the hash of the file, by which it is stored."""
        return hashlib.sha256(self.data).hexdigest()


def prepared(data: bytes) -> Picture:
    """Decode an uploaded picture and write it anew.

    Parameters
    ----------
    data : bytes
        A JPEG, PNG or WebP file.

    Raises
    ------
    PhotoError
        Where it is too large, no picture, broken, or made to fill the memory.
    """
    _weigh(data)
    try:
        with Image.open(BytesIO(data), formats=_READ) as image:
            _measure(image.size)
            image.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is decoded smaller at once
            upright = ImageOps.exif_transpose(image)
            return _anew(upright)
    except PhotoError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        raise PhotoError(_too_many_pixels(None)) from error
    except Exception as error:  # a decoder fed with hostile bytes may raise anything
        raise PhotoError(
            "this is no JPEG, PNG or WebP picture that can be read; take the photo again, or save "
            "it as JPEG"
        ) from error


def as_stored(data: bytes) -> Picture:
    """Take a picture that another store wrote, whose bytes must stay as they are.

    Raises
    ------
    PhotoError
        Where `prepared` would not have written it: another format, too large, something hidden.
    """
    _weigh(data)
    try:
        with Image.open(BytesIO(data), formats=("JPEG",)) as image:
            _measure(image.size)
            _refuse_hidden(image, data)
            image.load()
            return Picture(data, *image.size)
    except PhotoError:
        raise
    except Exception as error:  # as above
        raise PhotoError("it is no JPEG picture that can be read") from error


def _refuse_hidden(image: Image.Image, data: bytes) -> None:
    segments = {name for name, _ in getattr(image, "applist", ())}
    behind = data.find(_END) != len(data) - len(_END)
    if segments - _PLAIN or behind or max(image.size) > LONGEST_SIDE:
        raise PhotoError("it holds more than a picture of ours; it was not written here")


def _weigh(data: bytes) -> None:
    if len(data) > MOST_BYTES:
        raise PhotoError(
            f"this file has {len(data) / 1e6:.0f} MB; a photo may have {MOST_BYTES / 1e6:.0f} MB "
            "at most: set the camera to a smaller size"
        )
    if not data:
        raise PhotoError("this file is empty; take the photo again")


def _measure(size: tuple[int, int]) -> None:
    width, height = size
    if width * height > MOST_PIXELS:
        raise PhotoError(_too_many_pixels(size))


def _too_many_pixels(size: tuple[int, int] | None) -> str:
    has = "too many pixels" if size is None else f"{size[0]} × {size[1]} pixels"
    return (
        f"this picture has {has}; at most {MOST_PIXELS // 1_000_000} million can be taken: "
        "set the camera to a smaller size"
    )


def _anew(image: Image.Image) -> Picture:
    image.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    fresh = Image.new("RGB", image.size, "white")
    if image.mode.startswith("I"):  # 16 bits of grey: a plain conversion would cut, not scale
        image = image.convert("I").point(lambda grey: grey / 256).convert("L")
    if image.has_transparency_data:
        clear = image.convert("RGBA")
        fresh.paste(clear, mask=clear.getchannel("A"))
    else:
        fresh.paste(image.convert("RGB"))
    file = BytesIO()
    fresh.save(file, "JPEG", quality=QUALITY)
    return Picture(file.getvalue(), *fresh.size)
