"""Draws the outline of the grey area in, where it took in a border or a neighboring grey."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from colorcore.photo import Photo
from colorcore.places import sample, sample_codes
from colorcore.small_arrays import highest_channel, mean_of_channels, median

FloatArray = NDArray[np.float64]
Belief = Callable[[FloatArray], float]  # that an outline, shape (4, 2), holds the card: 0 to 1

GRID = (48, 64)  # points looked at inside the card, down and across
BLOCK = 4  # points of the grid per block, both ways
BORDER_TINT = 0.25  # log ratio of a channel to their mean by which a colored border differs
BORDER = 0.75  # natural log of light from which on a part of the card is its border
WIDEST_BORDER = 0.23  # of the card's side
SEAM = 0.06  # natural log of light between two greys of one card
ALONG = 0.8  # share of a seam's length along which the light must change so
SLANT = 8  # grid points by which a seam may be askew in the outline
ASIDE = 2  # grid points from a seam to where its two sides are compared
CARRIED_ON = 0.35  # share of a change at which it is also seen outside the card: it is a shadow's
BURNT = 0.985  # share of the highest code
MOST_BURNT = 0.05  # of the points
MOST_SEAMS = 3
MIRRORED = [0, 3, 2, 1]  # corners with rows and columns exchanged


def grid_points(corners: NDArray[np.float64], inset: float) -> NDArray[np.float64]:
    """Points of a regular grid inside a quadrilateral, shape (rows, columns, 2), bilinear."""
    down, across = (np.linspace(inset, 1 - inset, n) for n in GRID)
    v, u = down[:, None, None], across[None, :, None]
    a, b, c, d = corners
    return np.asarray((1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * d + u * c))


def block_medians(points: FloatArray) -> FloatArray:
    """Median of each 4 x 4 block of a grid, shape (12, 16, channels): print on the card goes."""
    rows, columns = GRID[0] // BLOCK, GRID[1] // BLOCK
    blocks = points.reshape(rows, BLOCK, columns, BLOCK, -1).swapaxes(1, 2)
    return np.asarray(median(blocks.reshape(rows, columns, BLOCK * BLOCK, -1), axis=2))


def log_light(rgb: NDArray[np.floating]) -> FloatArray:
    """Natural log of the light of linear RGB, mean over the channels, shape (...)."""
    return np.asarray(mean_of_channels(np.log(np.maximum(rgb.astype(np.float64), 1e-5))))


def part_of(
    corners: FloatArray, across: tuple[float, float], down: tuple[float, float]
) -> FloatArray:
    """Corners of a part of a quadrilateral, from shares of its width and height, bilinear."""
    a, b, c, d = corners
    (left, right), (top, bottom) = across, down
    u = np.array([left, right, right, left])[:, None]
    v = np.array([top, top, bottom, bottom])[:, None]
    return np.asarray((1 - v) * ((1 - u) * a + u * b) + v * ((1 - u) * d + u * c))


def without_border(photo: Photo, corners: FloatArray) -> FloatArray:
    """Shrink an outline to the grey area when it took in the card's border.

    From the middle of the card the rows and columns of blocks are followed outwards as long as
    they are about as bright and of one color; a shadow is no border, so the limits are wide.
    """
    rgb = sample(photo, grid_points(corners, 0.01)).astype(np.float64)
    blocks = block_medians(np.log(np.maximum(rgb, 1e-5)))
    rows, columns = blocks.shape[:2]
    inner = blocks[rows // 3 : -rows // 3, columns // 3 : -columns // 3].reshape(-1, 3)
    change = blocks - median(inner, axis=0)
    light = mean_of_channels(change)
    tint = highest_channel(np.abs(change - light[..., None]))
    alike = (np.abs(light) < BORDER) & (tint < BORDER_TINT)
    spans = []
    for wanted in (alike.mean(axis=1) > 0.6, alike.mean(axis=0) > 0.6):
        n = len(wanted)
        first, last = n // 2, n // 2
        while first > 0 and wanted[first - 1]:
            first -= 1
        while last < n - 1 and wanted[last + 1]:
            last += 1
        spans.append((first / n, (last + 1) / n))
    (top, bottom), (left, right) = spans
    if max(top, 1 - bottom, left, 1 - right) > WIDEST_BORDER:
        return corners
    return part_of(corners, (left, right), (top, bottom))


def without_neighbors(photo: Photo, corners: FloatArray, belief: Belief) -> FloatArray:
    """Cut an outline along seams between two greys of one card, and keep the likelier side.

    A seam is straight, runs from side to side, and ends with the card: a shadow that changes the
    light as much goes on beside the card, and is left for the judgement of the card. So is what is
    burnt out: it may be gloss as well as white.
    """
    for _ in range(MOST_SEAMS):
        codes = sample_codes(photo, grid_points(corners, 0.01))
        if (highest_channel(codes) >= BURNT * photo.max_code).mean() > MOST_BURNT:
            return corners
        light = log_light(photo.profile.to_linear(codes))
        upright = _cut(photo, corners, light, belief)
        turned = _cut(photo, corners[MIRRORED], light.T, belief)
        if upright is not None and (turned is None or upright[0] >= turned[0]):
            corners = upright[1]
        elif turned is not None:
            corners = turned[1][MIRRORED]
        else:
            return corners
    return corners


def _cut(
    photo: Photo, corners: FloatArray, light: FloatArray, belief: Belief
) -> tuple[float, FloatArray] | None:
    """Strength of the clearest seam that runs down an outline, and what is left beside it.

    What is left is the side that holds more of the belief, which grows with its width.
    """
    seam = _seam(light)
    if seam is None:
        return None
    strength, first, last = seam
    columns = light.shape[1]
    if _goes_on(photo, corners, (first / columns, last / columns), strength):
        return None
    margin = ASIDE / columns
    a, b, c, d = corners
    top, bottom = a + first / columns * (b - a), d + last / columns * (c - d)
    left = np.stack([a, top - margin * (b - a), bottom - margin * (c - d), d])
    right = np.stack([top + margin * (b - a), b, c, bottom + margin * (c - d)])
    share = (first + last) / 2 / columns
    kept = left if share * belief(left) >= (1 - share) * belief(right) else right
    return abs(strength), kept


def _seam(light: FloatArray) -> tuple[float, int, int] | None:
    """Change of light over the clearest seam, and its columns in the first and last row.

    `light` is the natural log of light on the grid. None where no seam runs all the way.
    """
    rows, columns = light.shape
    coarse = median(light[:, : columns // BLOCK * BLOCK].reshape(rows, -1, BLOCK), axis=2)
    if median(np.abs(coarse[:, 2:] - coarse[:, :-2]), axis=0).max() < SEAM / 2:
        return None
    smooth = light.copy()
    above, below = np.minimum(light[:-2], light[2:]), np.maximum(light[:-2], light[2:])
    smooth[1:-1] = np.minimum(np.maximum(light[1:-1], above), below)  # the median of three
    ends = np.arange(ASIDE + 1, columns - ASIDE - 1)
    starts, slants = np.meshgrid(ends, np.arange(-SLANT, SLANT + 1), indexing="ij")
    inside = (starts + slants > ASIDE) & (starts + slants < columns - ASIDE - 1)
    first, last = starts[inside], (starts + slants)[inside]
    share = (np.arange(rows) / (rows - 1))[None, :]
    place = np.rint(first[:, None] + share * (last - first)[:, None]).astype(np.intp)
    row = np.arange(rows)[None, :]
    change = smooth[row, place + ASIDE] - smooth[row, place - ASIDE]
    height = median(change, axis=1)
    alike = np.abs(change - height[:, None]) < np.maximum(0.35 * np.abs(height), 0.03)[:, None]
    usable = (np.abs(height) > SEAM) & (alike.mean(axis=1) > ALONG)
    if not usable.any():
        return None
    best = int(np.argmax(np.where(usable, np.abs(height) * alike.mean(axis=1), 0)))
    return float(height[best]), int(first[best]), int(last[best])


def _goes_on(photo: Photo, corners: FloatArray, seam: tuple[float, float], strength: float) -> bool:
    """Whether the light changes outside the card as it does at a seam, above or below it."""
    a, b, c, d = corners
    changes = []
    for start, end, place, away in (
        (a, b, seam[0], (a - d, b - c)),
        (d, c, seam[1], (d - a, c - b)),
    ):
        u = np.array([-0.22, -0.16, -0.1, 0.1, 0.16, 0.22]) + place
        out = np.linspace(0.06, 0.2, 6)[:, None, None]
        side = (1 - u)[None, :, None] * (start + out * away[0]) + u[None, :, None] * (
            end + out * away[1]
        )
        beyond = (side < 0) | (side > (photo.width - 1, photo.height - 1))
        if beyond.any(axis=-1).mean() > 0.3:
            continue
        light = median(log_light(sample(photo, side)), axis=0)
        changes.append(float(median(light[3:]) - median(light[:3])))
    return any(change / strength > CARRIED_ON for change in changes)
