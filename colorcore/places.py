"""Reads single places of a photo."""

import numpy as np
from numpy.typing import NDArray

from colorcore.color_profile import Codes
from colorcore.geometry import Box
from colorcore.photo import Photo

FloatArray = NDArray[np.float64]


def sample_codes(photo: Photo, points: FloatArray) -> Codes:
    """BGR codes of single places of a photo, shape (..., 3); places outside give its edge."""
    low = np.clip(np.floor(points.reshape(-1, 2).min(axis=0)), 0, (photo.width, photo.height))
    high = np.clip(np.ceil(points.reshape(-1, 2).max(axis=0)), 0, (photo.width, photo.height))
    step = photo.reduction
    x, y = (float(v) for v in low)
    box = Box(x, y, max(float(high[0]) - x, step), max(float(high[1]) - y, step))
    codes = photo.codes(box)
    columns = np.clip((points[..., 0] - box.x) / step, 0, codes.shape[1] - 1).astype(np.intp)
    rows = np.clip((points[..., 1] - box.y) / step, 0, codes.shape[0] - 1).astype(np.intp)
    return codes[rows, columns]


def sample(photo: Photo, points: FloatArray) -> NDArray[np.float32]:
    """Linear RGB of single places of a photo, shape (..., 3)."""
    return photo.profile.to_linear(sample_codes(photo, points))
