"""Reads single places of a photo."""

import math

import numpy as np
from numpy.typing import NDArray

from colorcore.color_profile import Codes
from colorcore.geometry import Box
from colorcore.photo import Photo

FloatArray = NDArray[np.float64]


def sample_codes(photo: Photo, points: FloatArray) -> Codes:
    """BGR codes of single places of a photo, shape (..., 3); places outside give its edge."""
    x, y, step = points[..., 0], points[..., 1], photo.reduction
    left, right = _reach(x, photo.width)
    top, bottom = _reach(y, photo.height)
    codes = photo.codes(Box(left, top, max(right - left, step), max(bottom - top, step)))
    columns = np.clip((x - left) / step, 0, codes.shape[1] - 1).astype(np.intp)
    rows = np.clip((y - top) / step, 0, codes.shape[0] - 1).astype(np.intp)
    return codes[rows, columns]


def _reach(places: FloatArray, end: int) -> tuple[int, int]:
    """Whole pixels between which places lie, no farther than the photo's sides, 0 and `end`."""
    low, high = math.floor(places.min()), math.ceil(places.max())
    return min(max(low, 0), end), min(max(high, 0), end)


def sample(photo: Photo, points: FloatArray) -> NDArray[np.float32]:
    """Linear RGB of single places of a photo, shape (..., 3)."""
    return photo.profile.to_linear(sample_codes(photo, points))
