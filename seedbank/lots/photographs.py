"""A photograph as it is sent made small: turned upright, and nothing left but the picture.

What a camera writes beside the picture (where and when it was taken, by what, a second small
picture) is not copied: a new file is made of the pixels alone. Only JPEG, PNG and WebP are read,
and never more pixels than a phone takes, so that a small file can't unpack into all the memory.
"""

import io
from dataclasses import dataclass
from typing import Final

import PIL.Image
import PIL.ImageOps

from seedbank.common.errors import Refused
from seedbank.lots.tables.photos import MOST_BYTES, MOST_EDGE_PX

LARGEST_SENT: Final = 15_000_000  # bytes; our choice: phones' photographs are mostly 2 to 8 MB
MOST_PIXELS: Final = 50_000_000  # 150 MB of memory; our choice
_FORMATS: Final = ("JPEG", "PNG", "WEBP")
_QUALITIES: Final = (82, 70, 58, 45)  # of JPEG, in its scale to 100; our choice
_SMALLER: Final = 0.75  # of the edge, where no quality will do
_FAULTS = (
    OSError,
    SyntaxError,  # Pillow's own for a broken PNG
    ValueError,
    EOFError,
    PIL.Image.DecompressionBombError,
    PIL.Image.DecompressionBombWarning,
)


@dataclass(frozen=True, slots=True)
class Photograph:
    """A JPEG that may be kept."""

    jpeg: bytes
    width_px: int
    height_px: int


def made_small(sent: bytes) -> Photograph:
    """The picture in ``sent`` as a JPEG of at most 200 kB and 1,600 pixels a side.

    Raises Refused: too large, no picture of those formats, damaged, or too many pixels.
    """
    if len(sent) > LARGEST_SENT:
        raise Refused("photo-too-large", "photo", None, most=LARGEST_SENT)
    try:
        picture = _pixels(sent)
    except _FAULTS as fault:
        raise Refused("photo-misread", "photo", None) from fault
    edge = MOST_EDGE_PX
    while True:
        small = picture.copy()
        small.thumbnail((edge, edge), PIL.Image.Resampling.LANCZOS)
        for quality in _QUALITIES:
            out = io.BytesIO()
            small.save(out, "JPEG", quality=quality, optimize=True)
            if out.tell() <= MOST_BYTES:
                return Photograph(out.getvalue(), *small.size)
        edge = int(edge * _SMALLER)


def is_kept_so(jpeg: bytes) -> tuple[int, int] | None:
    """Width and height of a JPEG as ``made_small`` makes them; None: it is none."""
    if len(jpeg) > MOST_BYTES:
        return None
    try:
        with PIL.Image.open(io.BytesIO(jpeg), formats=("JPEG",)) as picture:
            width, height = picture.size
            if max(width, height) > MOST_EDGE_PX or picture.getexif():
                return None
            picture.load()
    except _FAULTS:
        return None
    return width, height


def _pixels(sent: bytes) -> PIL.Image.Image:
    """The picture upright, in plain colours; what shines through is on white."""
    with PIL.Image.open(io.BytesIO(sent), formats=_FORMATS) as picture:
        width, height = picture.size
        if width * height > MOST_PIXELS:
            raise Refused("photo-too-many-pixels", "photo", None, most=MOST_PIXELS)
        picture.draft("RGB", (MOST_EDGE_PX, MOST_EDGE_PX))  # of JPEG: fewer pixels are unpacked
        upright = PIL.ImageOps.exif_transpose(picture)
        if not upright.has_transparency_data:
            return _bare(upright.convert("RGB"))
        see_through = upright.convert("RGBA")
        ground = PIL.Image.new("RGBA", see_through.size, "white")
        return _bare(PIL.Image.alpha_composite(ground, see_through).convert("RGB"))


def _bare(picture: PIL.Image.Image) -> PIL.Image.Image:
    """The pixels without what came beside them."""
    picture.info.clear()
    return picture
