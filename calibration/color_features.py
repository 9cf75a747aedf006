"""A measurement as the logarithms that dose, path length and light act on in straight lines."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from colorcore.color_spaces import lab_jacobian
from colorcore.measurement import Measurement
from colorcore.white_balance import CAMERA_CHANNELS, DISPLAY_CHANNELS

FloatArray = NDArray[np.float64]

FLOOR = 0.006  # light that is never told from black: flare, clipping to the display's gamut


def log_channels(rgb: ArrayLike) -> FloatArray:
    """Natural log of the camera channels of balanced linear RGB, shape (..., 3).

    A floor keeps the log finite where a saturated color was cut to the display's gamut.

    Examples
    --------
    >>> [round(float(v), 3) for v in log_channels((1.0, 1.0, 1.0))]
    [0.006, 0.006, 0.006]
    """
    channels = np.asarray(rgb, dtype=np.float64) @ CAMERA_CHANNELS.T
    return np.asarray(np.log(np.maximum(channels, 0) + FLOOR))


def rgb_of_log(color: ArrayLike) -> FloatArray:
    """Balanced linear RGB of log camera channels, the inverse of `log_channels`."""
    channels = np.exp(np.asarray(color, dtype=np.float64)) - FLOOR
    return np.asarray(channels @ DISPLAY_CHANNELS.T)


def log_jacobian(rgb: ArrayLike) -> FloatArray:
    """Return the derivative of `log_channels` by linear RGB at one color, shape (3, 3)."""
    channels = np.maximum(CAMERA_CHANNELS @ np.asarray(rgb, dtype=np.float64), 0) + FLOOR
    return np.asarray(CAMERA_CHANNELS / channels[:, None])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Features:
    """What the error model sees of one tube.

    Parameters
    ----------
    color : ndarray
        Log camera channels of the balanced liquid, shape (3,).
    noise : ndarray
        Covariance of `color` from pixels and card, shape (3, 3).
    background : ndarray or None
        Log camera channels of the balanced background beside the tube.
    light : ndarray or None
        Log red-green and blue-green ratio of the card before the balance, shape (2,): it tells of
        light and camera.
    exposure : float or None
        Natural log of the card's light before the balance: how high on the camera's tone curve the
        photo lies.
    photo : str
        Fingerprint of the photo.
    """

    color: FloatArray
    noise: FloatArray
    background: FloatArray | None
    light: FloatArray | None
    exposure: float | None
    photo: str


def features_of(measurement: Measurement) -> Features:
    """Turn a measurement into what the error model sees."""
    rgb = np.array(measurement.rgb)
    to_log = log_jacobian(rgb) @ np.linalg.inv(lab_jacobian(rgb))
    noise = to_log @ np.array(measurement.covariance) @ to_log.T
    light, exposure = None, None
    if measurement.card_rgb is not None:
        card = np.log(CAMERA_CHANNELS @ np.array(measurement.card_rgb))
        light = np.array([card[0] - card[1], card[2] - card[1]])
        exposure = float(card.mean())
    background = measurement.background_rgb
    return Features(
        color=log_channels(rgb),
        noise=noise,
        background=None if background is None else log_channels(background),
        light=light,
        exposure=exposure,
        photo=measurement.sha256,
    )
