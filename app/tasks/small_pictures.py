"""Small pictures of kept photos: the whole photo, and the tube of each reading."""

from collections.abc import Iterable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw

from app.survey.kept_reading import KeptReading
from colorcore._cv import cv2
from colorcore.errors import PhotoError
from colorcore.geometry import Box
from colorcore.photo import Photo, read_photo

PHOTO_PX = 320
TUBE_PX = 150
SHAPE = 3 / 4
"""Width by height of a tube's picture."""
AROUND = 1.7
"""How much wider and higher it is than what was read, at least."""
QUALITY = 82


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallPictures:
    """Pictures of one photo as JPEG.

    Parameters
    ----------
    photo : bytes
        The whole photo, regions outlined.
    tubes : dict of int to bytes
        The tube of each reading whose region is known, by the reading's number.
    """

    photo: bytes
    tubes: dict[int, bytes]


def small_pictures(path: Path, readings: Iterable[KeptReading]) -> SmallPictures | None:
    """Make the small pictures of one photo; None where it cannot be read.

    Nothing of what the photo's file says (place, time, camera) goes along.
    """
    try:
        photo = read_photo(path)
    except PhotoError:
        return None
    tubes: dict[int, bytes] = {}
    boxes: dict[int, Box] = {}
    for kept in readings:
        if kept.line.box is not None:
            tubes[kept.id] = _tube(photo, kept.line.box)
            boxes[kept.line.tube or 0] = kept.line.box
    whole = Box(0, 0, photo.width, photo.height)
    return SmallPictures(photo=_cut(photo, whole, tuple(boxes.values()), PHOTO_PX), tubes=tubes)


def _tube(photo: Photo, box: Box) -> bytes:
    """Cut out a tube with some of its surroundings, moved inside the photo."""
    w = min(AROUND * max(box.w, box.h * SHAPE), photo.width, photo.height * SHAPE)
    h = w / SHAPE
    x = min(max(box.center[0] - w / 2, 0.0), photo.width - w)
    y = min(max(box.center[1] - h / 2, 0.0), photo.height - h)
    return _cut(photo, Box(x, y, w, h), (box,), TUBE_PX)


def _cut(photo: Photo, part: Box, boxes: tuple[Box, ...], longest: int) -> bytes:
    """Cut a part out, make it small and outline boxes in it."""
    pixels = photo.pixels[photo.window(part)]
    codes = pixels if pixels.dtype == np.uint8 else (pixels >> 8).astype(np.uint8)
    factor = min(1.0, longest / max(part.w, part.h))
    size = (max(1, round(part.w * factor)), max(1, round(part.h * factor)))
    small = np.asarray(cv2.resize(codes, size, interpolation=cv2.INTER_AREA))
    picture = Image.fromarray(np.ascontiguousarray(small[..., ::-1]))
    draw = ImageDraw.Draw(picture)
    for box in boxes:
        x, y = (box.x - part.x) * factor, (box.y - part.y) * factor
        frame = (x, y, x + box.w * factor, y + box.h * factor)
        draw.rectangle(
            tuple(v + d for v, d in zip(frame, (-1, -1, 1, 1), strict=True)), None, (20,) * 3
        )
        draw.rectangle(frame, None, (255,) * 3)
    out = BytesIO()
    picture.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
