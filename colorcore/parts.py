"""Tells the parts of a photo apart: grey card, vessels, liquid, solids.

A small convolutional network, trained on drawn scenes only (tests/laboratory/train_parts.py), looks
at a picture of at most 512 pixels a side. It says what each place is, and where the core of each
vessel runs; everything that is measured afterwards is measured on the photo itself.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.network import run
from colorcore.photo import Photo
from colorcore.small_arrays import highest_channel

NETWORK = "parts.onnx"
LONG_SIDE = 512  # of the picture that the network sees, in its pixels
STRIDE = 2  # network pixels per label pixel
GRAIN = 32  # sides are padded to a multiple of this

OTHER, CARD, VESSEL, LIQUID, SOLID = range(5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parts:
    """What each place of a photo is, on a coarse grid.

    Parameters
    ----------
    probability : ndarray
        Shape (5, h, w): other, card, vessel without liquid, liquid, solid; they sum to 1.
    core : ndarray
        Shape (h, w): probability that the place lies in the middle half of a vessel's width.
    picture : ndarray
        The small picture that was looked at, BGR codes, `STRIDE` pixels a cell.
    scale : float
        Pixels of the full-size photo per grid cell.
    """

    picture: NDArray[np.uint8]
    probability: NDArray[np.float32]
    core: NDArray[np.float32]
    scale: float


def small_picture(pixels: NDArray[np.uint8] | NDArray[np.uint16]) -> NDArray[np.uint8]:
    """Shrink BGR codes to the size that the network sees, shape (h, w, 3), long side 512.

    Smaller pictures are enlarged, so that a tube looks as large as it was in training.
    """
    height, width = pixels.shape[:2]
    factor = LONG_SIDE / max(height, width)
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    way = cv2.INTER_AREA if factor < 1 else cv2.INTER_LINEAR
    small = np.asarray(cv2.resize(pixels, size, interpolation=way))
    return np.asarray(small if small.dtype == np.uint8 else small // 256, dtype=np.uint8)


def network_input(small: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Turn a small BGR picture into what the network takes, shape (1, 3, H, W), values 0 to 1.

    Codes are stretched so that the brightest hundredth of the picture is near 1: an underexposed
    photo then looks to the network like a well exposed one. Sides are padded with grey.
    """
    height, width = small.shape[:2]
    brightest = float(np.percentile(highest_channel(small[::4, ::4]), 99)) / 255
    codes = np.arange(256, dtype=np.float32)
    share = np.minimum(codes * np.float32(1 / (255 * max(brightest, 0.08))), 1)
    size = (-(-height // GRAIN) * GRAIN, -(-width // GRAIN) * GRAIN)
    planes = np.full((1, 3, *size), 0.5, np.float32)
    for channel, codes_of_one in enumerate(cv2.split(small)):
        planes[0, channel, :height, :width] = cv2.LUT(codes_of_one, share)
    return planes


def find_parts(photo: Photo) -> Parts:
    """Tell the parts of a photo apart."""
    small = small_picture(photo.pixels)
    out = run(NETWORK, network_input(small))[0]
    height, width = -(-small.shape[0] // STRIDE), -(-small.shape[1] // STRIDE)
    out = out[:, :height, :width]
    score = out[:5] - out[:5].max(axis=0)
    share = np.exp(score)
    share /= share.sum(axis=0)
    core = 1 / (1 + np.exp(-out[5]))
    for array in (share, core):
        array.setflags(write=False)
    scale = STRIDE * max(photo.width, photo.height) / LONG_SIDE
    return Parts(picture=small, probability=share, core=core, scale=scale)
