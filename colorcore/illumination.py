"""Whether card and tube stand in one light: what the background round each of them says."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.geometry import Box, Quad
from colorcore.parts import OTHER, Parts
from colorcore.photo import Photo
from colorcore.small_arrays import highest_channel, mean_of_channels, median
from colorcore.white_balance import CAMERA_CHANNELS

FloatArray = NDArray[np.float64]

SURE_BACKGROUND = 0.9
SAME_TINT = 0.25  # log ratio of channels within which two places may be one material
SAME_LEVEL = 0.9  # log ratio of light within which they may be
LEVEL_WEIGHT = 0.3  # of light against tint, in looking for the likest places
RING = 0.35  # of the box's larger side: how far round it its background is looked at
FEWEST = 12  # cells
DEEPEST = 1.2  # natural log of the light that a shadow takes in a room: what is darker is a thing
FEWEST_BESIDE = 6  # cells of each place that is compared for a shadow


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

    log_channels: NDArray[np.float32]
    free: NDArray[np.bool_]
    scale: float


def backdrop_of(photo: Photo, parts: Parts) -> Backdrop:
    """Shrink a photo to the coarse grid and keep where it shows background."""
    height, width = parts.core.shape
    shrunk = cv2.resize(parts.picture, (width, height), interpolation=cv2.INTER_AREA)
    small = np.asarray(shrunk, dtype=np.uint8)
    linear = photo.profile.to_linear(small)
    channels = np.maximum(cv2.transform(linear, CAMERA_CHANNELS), np.float32(1e-4))
    free = parts.probability[OTHER] > SURE_BACKGROUND
    free = cv2.erode(free.astype(np.uint8), np.ones((3, 3), np.uint8)).astype(bool)
    burnt = highest_channel(small) >= 0.985 * 255
    return Backdrop(log_channels=np.log(channels), free=free & ~burnt, scale=parts.scale)


def around(backdrop: Backdrop, box: Box) -> NDArray[np.float32] | None:
    """Log channels of the background cells in a ring round a box, (n, 3); None for too few."""
    reach = RING * max(box.w, box.h)
    x0, x1 = (box.x - reach) / backdrop.scale, (box.x + box.w + reach) / backdrop.scale
    y0, y1 = (box.y - reach) / backdrop.scale, (box.y + box.h + reach) / backdrop.scale
    rows = slice(max(0, int(y0)), max(0, int(np.ceil(y1))))
    columns = slice(max(0, int(x0)), max(0, int(np.ceil(x1))))
    logs = backdrop.log_channels[rows, columns][backdrop.free[rows, columns]]
    return logs if len(logs) >= FEWEST else None


def usual_background(backdrop: Backdrop) -> FloatArray | None:
    """Median log channels of all that is background in a photo, shape (3,); None for too few."""
    logs = backdrop.log_channels[::3, ::3][backdrop.free[::3, ::3]]
    return np.asarray(median(logs, axis=0), np.float64) if len(logs) >= FEWEST else None


def _tints(log_channels: NDArray[np.floating]) -> NDArray[np.floating]:
    return log_channels[..., ::2] - log_channels[..., 1:2]


def light_gap(
    by_tube: NDArray[np.float32] | None, by_card: NDArray[np.float32] | None
) -> float | None:
    """Difference in color between the light at a tube and at the card, by their shared background.

    Log ratio of channels, >= 0.

    Of the background round the tube the median is taken; round the card the third of the cells
    that is most like it, so that a table or a sheet of paper there does no harm. None where
    nothing round the card can be the same material. Both are what `around` gives.
    """
    if by_tube is None or by_card is None:
        return None
    tube_log = median(by_tube, axis=0)
    tint_apart = np.abs(_tints(by_card) - _tints(tube_log))
    apart = np.maximum(tint_apart[:, 0], tint_apart[:, 1])
    level_apart = np.abs(mean_of_channels(by_card) - tube_log.mean())
    likely = np.flatnonzero((apart < SAME_TINT) & (level_apart < SAME_LEVEL))
    if likely.size < FEWEST:
        return None
    likeness = apart[likely] + LEVEL_WEIGHT * level_apart[likely]
    nearest = max(FEWEST, likely.size // 3)
    alike = likely[np.argpartition(likeness, nearest - 1)[:nearest]]
    shared = median(by_card[alike], axis=0)
    return float(np.abs(_tints(tube_log) - _tints(shared)).max())


def _beside(
    backdrop: Backdrop, y: tuple[float, float], x: tuple[float, float]
) -> FloatArray | None:
    """Median log channels of the free cells between two heights and two sides, grid units."""
    height, width = backdrop.free.shape
    rows = slice(max(0, int(min(y))), min(height, int(np.ceil(max(y)))))
    columns = slice(max(0, int(min(x))), min(width, int(np.ceil(max(x)))))
    logs, wanted = backdrop.log_channels[rows, columns], backdrop.free[rows, columns]
    count = np.count_nonzero(wanted)
    if count < max(FEWEST_BESIDE, 0.4 * wanted.size):
        return None
    return np.asarray(median(logs[wanted], axis=0))


def shade(backdrop: Backdrop, outline: Quad) -> float | None:
    """How much darker the background is right above or below a thing than to both sides there.

    A shadow that falls on a thing hardly ever ends with it: where above and below are both to be
    seen, the lighter counts, for the cap of a tube may look like a shadow above it. Natural log,
    below 0 where there is a shadow. None where no background is to be seen there, or nothing but
    another material, or the thing does not stand upright.
    """
    found = []
    for changes in _changes_beside(backdrop, outline, (0.75, 1.5)):
        seen = [light for light in map(_light_change, changes) if light is not None]
        if seen:
            found.append(max(seen))
    return max(found) if found else None


def shade_beside(backdrop: Backdrop, outline: Quad) -> float:
    """How much darker the background is right beside a thing, both above and below it.

    Natural log, 0 or above: a shadow that passes there may fall on a part of the thing which then
    does not look like one with the rest.
    """
    ends = _changes_beside(backdrop, outline, (0.55, 0.8))
    darker = [[_light_change(change) or 0.0 for change in end] for end in ends]
    return max(0.0, *np.min(darker, axis=0)) if darker else 0.0


def _changes_beside(
    backdrop: Backdrop, outline: Quad, reach: tuple[float, float]
) -> list[list[FloatArray | None]]:
    """Log channels right above and below a thing against those to its left and right, each time.

    Sides are looked at from and to a distance from its middle, in widths. Empty where the thing
    does not stand upright.
    """
    a, b, c, d = np.array(outline) / backdrop.scale
    top, bottom = (a + b) / 2, (c + d) / 2
    wide, tall = float(np.hypot(*(b - a))), float(np.hypot(*(bottom - top)))
    if abs(bottom[1] - top[1]) < 0.9 * tall:
        return []
    near, far = reach
    lower, upper = 0.15 * min(wide, tall), 1.2 * min(wide, tall)
    ends = []
    for end, sign in ((top, -1), (bottom, 1)):
        x, y = float(end[0]), (end[1] + sign * lower, end[1] + sign * upper)
        middle = _beside(backdrop, y, (x - 0.35 * wide, x + 0.35 * wide))
        left = _beside(backdrop, y, (x - far * wide, x - near * wide))
        right = _beside(backdrop, y, (x + near * wide, x + far * wide))
        ends.append(
            [None if middle is None or side is None else middle - side for side in (left, right)]
        )
    return ends


def _light_change(change: FloatArray | None) -> float | None:
    """Change of light alone; None where the color changes with it, or more than a shadow takes."""
    if change is None:
        return None
    light = float(change.mean())
    tinted = float(np.abs(change - light).max())
    return light if tinted < max(0.06, 0.1 * abs(light)) and abs(light) < DEEPEST else None
