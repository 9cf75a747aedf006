"""Reads single places of a photo."""

import numpy as np
from numpy.typing import NDArray

from colorcore.color_profile import Codes
from colorcore.photo import Photo

FloatArray = NDArray[np.float64]


def sample_codes(photo: Photo, points: FloatArray) -> Codes:
    """BGR codes of single places of a photo, shape (..., 3); places outside give its edge."""
    high, wide = photo.pixels.shape[:2]
    columns = np.clip(points[..., 0] / photo.reduction, 0, wide - 1).astype(np.intp)
    rows = np.clip(points[..., 1] / photo.reduction, 0, high - 1).astype(np.intp)
    return photo.pixels[rows, columns]


def sample(photo: Photo, points: FloatArray) -> NDArray[np.float32]:
    """Linear RGB of single places of a photo, shape (..., 3)."""
    return photo.profile.to_linear(sample_codes(photo, points))
