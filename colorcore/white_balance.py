"""Makes the grey card neutral and applies the same gains to the liquid.

Gains are applied to channels about as broad as a camera's own, not to the display primaries of the
file: a cast that stays in the photo is nearly a scaling of the camera's channels, and scaling the
narrower display primaries instead turns a part of it into a false change of hue.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# Linear BT.709 to channels as broad as a typical camera's; rows sum to 1, so that neutral stays
# neutral. Rounded from the mean inverse color matrix of the cameras that the laboratory draws
# (tests/laboratory/fit_light_effects.py prints it) and of published phone cameras.
CAMERA_CHANNELS: FloatArray = np.array(
    [
        [0.60, 0.29, 0.11],
        [0.09, 0.74, 0.17],
        [0.01, 0.31, 0.68],
    ]
)
DISPLAY_CHANNELS: FloatArray = np.asarray(np.linalg.inv(CAMERA_CHANNELS))

# How much steeper than the scene a picture made for looking at is, as the exponent of its light:
# the reference camera curve of ITU-R BT.709 is about a power of 0.5, the screen of BT.1886 one of
# 2.4; ITU-R BT.2100-2, table 5, names the product, 1.2, for its reference.
PICTURE_CONTRAST = 1.2


def balance_gains(
    card_rgb: ArrayLike, card_reflectance: ArrayLike, *, channels: FloatArray = CAMERA_CHANNELS
) -> FloatArray:
    """Return the factors of the channels that give the card its reflectance, shape (3,).

    Parameters
    ----------
    card_rgb : array_like
        Mean linear RGB of the card, shape (3,), each > 0.
    card_reflectance : array_like
        Reflectance of the card, a fraction, or one for each of R, G and B.
    channels : ndarray
        The channels that are scaled, by linear RGB, shape (3, 3).

    Raises
    ------
    ValueError
        If the card has no light in a channel.

    Examples
    --------
    >>> [round(float(g), 6) for g in balance_gains((0.18, 0.18, 0.18), 0.18)]
    [1.0, 1.0, 1.0]
    """
    seen = channels @ np.asarray(card_rgb, dtype=np.float64)
    if not (seen > 0).all():
        raise ValueError(f"the card must be lit in every channel, got {seen.tolist()}")
    wanted = np.broadcast_to(np.asarray(card_reflectance, dtype=np.float64), (3,))
    return np.asarray(channels @ wanted / seen)


def balance(
    rgb: ArrayLike, gains: FloatArray, *, channels: FloatArray = CAMERA_CHANNELS
) -> FloatArray:
    """Apply balance gains to linear RGB, shape (..., 3), unclipped."""
    matrix = np.linalg.inv(channels) @ np.diag(gains) @ channels
    return np.asarray(np.asarray(rgb, dtype=np.float64) @ matrix.T)


def scene_light(rgb: ArrayLike) -> FloatArray:
    """Linear RGB of a camera's finished picture to light in proportion to the scene's, (..., 3).

    Only ratios between places of one picture mean something. What is read against a chart of the
    same camera does not need this: there the contrast is in both.

    Examples
    --------
    >>> [round(float(v), 4) for v in scene_light((1.0, 0.18, 0.02))]
    [1.0, 0.2395, 0.0384]
    """
    light = np.asarray(rgb, dtype=np.float64)
    return np.asarray(np.sign(light) * np.abs(light) ** (1 / PICTURE_CONTRAST))
