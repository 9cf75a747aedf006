"""A photo made ready for the screen: in several sizes, with what lies under the pointer."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from app.tube_reading import PhotoLook
from colorcore._cv import cv2
from colorcore.color_profile import SRGB, Codes
from colorcore.color_spaces import Lab, rgb_to_lab
from colorcore.geometry import Box
from colorcore.measurement import Triple
from colorcore.photo import Photo, read_photo
from colorcore.white_balance import balance, balance_gains

SMALLEST_LEVEL = 480  # pixels of the longer side
PROBED = 5  # pixels of the photo, wide and high, that the probe averages: one alone is noise

Picture = NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ScreenPicture:
    """A photo with its pictures for the screen.

    Parameters
    ----------
    photo : Photo
        As it is read, for the probe.
    levels : tuple of ndarray
        The same picture in sRGB, BGR order, shape (H, W, 3), each half as wide as the one before.
    """

    photo: Photo
    levels: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Probed:
    """The color under the pointer.

    Parameters
    ----------
    x, y : float
        Full-size upright pixels.
    codes : tuple of int
        Red, green and blue as the photo has them, 0 to 255.
    lab : Lab
        CIELAB under D65.
    balanced : bool
        Whether the grey card was made neutral first.
    """

    x: float
    y: float
    codes: tuple[int, int, int]
    lab: Lab
    balanced: bool


def read_screen_picture(path: Path) -> ScreenPicture:
    """Read a photo, with all its pixels, and make its pictures.

    Raises
    ------
    PhotoError
        If the file cannot be used.
    """
    photo = read_photo(path, detail="full")
    rgb_to_lab((0.5, 0.5, 0.5))  # loads what the probe needs here, not under the user's pointer
    levels = [_for_screen(photo, photo.pixels)]
    while max(levels[-1].shape[:2]) > 2 * SMALLEST_LEVEL:
        height, width = levels[-1].shape[:2]
        half = (max(1, width // 2), max(1, height // 2))
        levels.append(np.asarray(_shrunk(levels[-1], half), dtype=np.uint8))
    return ScreenPicture(photo=photo, levels=tuple(levels))


def read_thumbnail(path: Path, longest: int) -> Picture:
    """Return a small picture of a photo, upright, sRGB, BGR order.

    Parameters
    ----------
    path : Path
        The photo.
    longest : int
        Pixels of its longer side.

    Raises
    ------
    PhotoError
        If the file cannot be used.
    """
    photo = read_photo(path)
    height, width = photo.pixels.shape[:2]
    factor = min(1.0, longest / max(height, width))
    size = (max(1, round(width * factor)), max(1, round(height * factor)))
    return _for_screen(photo, _shrunk(photo.pixels, size))


def probe(
    photo: Photo, x: float, y: float, card_rgb: Triple | None, reflectance: Triple
) -> Probed | None:
    """Return the mean color round a place of a photo; None outside it.

    Parameters
    ----------
    photo : Photo
        The photo.
    x, y : float
        Full-size upright pixels.
    card_rgb : tuple or None
        Linear RGB of the card in this photo; None: nothing is balanced.
    reflectance : tuple
        Of the card.
    """
    if not (0 <= x < photo.width and 0 <= y < photo.height):
        return None
    half = PROBED * photo.reduction / 2
    box = Box(x - half, y - half, 2 * half, 2 * half)
    codes = photo.codes(box).reshape(-1, 3).astype(np.float64).mean(axis=0) / photo.max_code
    rgb = photo.linear(box).reshape(-1, 3).astype(np.float64).mean(axis=0)
    if card_rgb is not None:
        rgb = balance(rgb, balance_gains(card_rgb, reflectance))
    lightness, a, b = (float(value) for value in rgb_to_lab(rgb))
    blue, green, red = (round(255 * float(code)) for code in codes)
    return Probed(
        x=x,
        y=y,
        codes=(red, green, blue),
        lab=Lab(lightness, a, b),
        balanced=card_rgb is not None,
    )


def card_light(look: PhotoLook | None) -> Triple | None:
    """Return the linear RGB of the card in a photo, None where it was not measured."""
    measured = () if look is None else look.measurements
    return next((item.card_rgb for item in measured if item is not None), None)


def _shrunk(pixels: Codes, size: tuple[int, int]) -> Codes:
    small = cv2.resize(pixels, size, interpolation=cv2.INTER_AREA)
    if pixels.dtype == np.uint8:
        return np.asarray(small, dtype=np.uint8)
    return np.asarray(small, dtype=np.uint16)


def _for_screen(photo: Photo, pixels: Codes) -> Picture:
    """Turn codes of any profile into 8-bit sRGB codes."""
    if photo.profile == SRGB:
        if pixels.dtype == np.uint8:
            return np.ascontiguousarray(pixels)
        return np.ascontiguousarray((pixels >> 8).astype(np.uint8))
    light = np.clip(photo.profile.to_linear(pixels), 0, 1)
    steps = np.round(light * 4095).astype(np.uint16)
    return np.ascontiguousarray(_srgb_codes()[steps][..., ::-1])


def _srgb_codes() -> Picture:
    """Codes of 4096 even steps of linear light (IEC 61966-2-1)."""
    light = np.arange(4096) / 4095
    codes = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.round(255 * codes).astype(np.uint8)
