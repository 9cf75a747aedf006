"""Whether card and tube stand in one light: what the background beside each of them says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.geometry import Box
from colorcore.parts import OTHER, Parts
from colorcore.photo import Photo
from colorcore.white_balance import CAMERA_CHANNELS

FloatArray = NDArray[np.float64]

SURE_BACKGROUND = 0.9
SAME_TINT = 0.25  # log ratio of channels within which two places may be one material
SAME_LEVEL = 0.9  # log ratio of light within which they may be
LEVEL_WEIGHT = 0.3  # of light against tint, in looking for the likest places
RING = 0.35  # of the box's larger side: how far round it its background is looked at
FEWEST = 12  # cells


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Backdrop:
    """The background of a photo on the coarse grid.

    Parameters
    ----------
    log_channels : ndarray
        Natural log of the camera channels of linear light, shape (h, w, 3).
    free : ndarray
        True where there is background, shape (h, w).
    scale : float
        Pixels of the full photo per cell.
    """

    log_channels: FloatArray
    free: NDArray[np.bool_]
    scale: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LightGap:
    """The light at a tube against the light at the card.

    Parameters
    ----------
    level : float or None
        Log of the background's light beside the tube over the same material elsewhere in the
        photo, less that of the card's surroundings: below 0 the tube stands darker than the card.
        None where the two share no material.
    tint : float or None
        How far apart the two backgrounds lie in the log ratios of their channels.
    """

    level: float | None
    tint: float | None


def backdrop_of(photo: Photo, parts: Parts) -> Backdrop:
    """Shrink a photo to the coarse grid and keep where it shows background."""
    height, width = parts.core.shape
    shrunk = cv2.resize(parts.picture, (width, height), interpolation=cv2.INTER_AREA)
    small = np.asarray(shrunk, dtype=np.uint8)
    linear = photo.profile.to_linear(small).astype(np.float64)
    channels = np.maximum(linear @ CAMERA_CHANNELS.T, 1e-4)
    free = parts.probability[OTHER] > SURE_BACKGROUND
    free = cv2.erode(free.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    burnt = small.max(axis=2) >= 0.985 * 255
    return Backdrop(log_channels=np.log(channels), free=free & ~burnt, scale=parts.scale)


def around(backdrop: Backdrop, box: Box) -> NDArray[np.bool_]:
    """Background cells in a ring round a box."""
    reach = RING * max(box.w, box.h)
    x0, x1 = (box.x - reach) / backdrop.scale, (box.x + box.w + reach) / backdrop.scale
    y0, y1 = (box.y - reach) / backdrop.scale, (box.y + box.h + reach) / backdrop.scale
    ring = np.zeros(backdrop.free.shape, dtype=bool)
    ring[max(0, int(y0)) : max(0, int(np.ceil(y1))), max(0, int(x0)) : max(0, int(np.ceil(x1)))] = (
        True
    )
    return ring & backdrop.free


def _tints(log_channels: FloatArray) -> FloatArray:
    return np.stack(
        [
            log_channels[..., 0] - log_channels[..., 1],
            log_channels[..., 2] - log_channels[..., 1],
        ],
        axis=-1,
    )


def light_gap(backdrop: Backdrop, tube: Box, card: Box) -> LightGap:
    """Compare the light at a tube with the light at the card by the background they share.

    Of the background round the tube the median is taken; round the card the third of the cells
    that is most like it, so that a table or a sheet of paper there does no harm. Where nothing
    round the card can be the same material, nothing is said.
    """
    by_tube, by_card = around(backdrop, tube), around(backdrop, card)
    if by_tube.sum() < FEWEST or by_card.sum() < FEWEST:
        return LightGap(level=None, tint=None)
    tube_log = np.median(backdrop.log_channels[by_tube], axis=0)
    card_logs = backdrop.log_channels[by_card]
    apart = np.abs(_tints(card_logs) - _tints(tube_log)).max(axis=1)
    level_apart = np.abs(card_logs.mean(axis=1) - tube_log.mean())
    likely = np.flatnonzero((apart < SAME_TINT) & (level_apart < SAME_LEVEL))
    if likely.size < FEWEST:
        return LightGap(level=None, tint=None)
    likeness = apart[likely] + LEVEL_WEIGHT * level_apart[likely]
    alike = likely[np.argsort(likeness)[: max(FEWEST, likely.size // 3)]]
    shared = np.median(card_logs[alike], axis=0)
    return LightGap(
        level=float(tube_log.mean() - shared.mean()),
        tint=float(np.abs(_tints(tube_log) - _tints(shared)).max()),
    )
