"""Pictures as phones send them."""

import io
from typing import Any

import numpy as np
from PIL import Image

ORIENTATION, GPS = 0x0112, 0x8825


def picture(size: tuple[int, int] = (1200, 900), form: str = "JPEG", **more: Any) -> bytes:
    """A picture of noise, which packs as badly as any, with the place it was taken at.

    Its left half is dark, so that which way up it is can be seen.
    """
    width, height = size
    noise = np.random.default_rng(7).integers(0, 120, (height, width, 3), np.uint8)
    noise[:, width // 2 :] += 120
    out = io.BytesIO()
    exif = Image.Exif()
    exif[ORIENTATION] = more.pop("orientation", 1)
    exif.get_ifd(GPS).update({1: "N", 2: (51.0, 30.0, 12.0), 3: "W", 4: (0.0, 7.0, 39.0)})
    beside = {"exif": exif} if form != "PNG" else {}
    Image.fromarray(noise).save(out, form, **beside, **more)
    return out.getvalue()
