"""Averages the liquid of one tube into a Measurement, highlights and specks left out."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from colorcore._cv import cv2
from colorcore.color_spaces import Lab, lab_jacobian, rgb_to_lab
from colorcore.geometry import Box, Quad, box_of
from colorcore.grey_card import CardPatch
from colorcore.measurement import Measurement, OutlineKind, Triple
from colorcore.parts import OTHER, Parts
from colorcore.photo import Photo
from colorcore.places import sample
from colorcore.reasons import Reason
from colorcore.small_arrays import highest_channel, mean_of_channels, median
from colorcore.tube import Tube
from colorcore.white_balance import CAMERA_CHANNELS, balance, balance_gains

FloatArray = NDArray[np.float64]

BLOCKS = 6  # the region is cut into this many blocks a side to see its slow variation
ALONG, ACROSS = 9, 4  # blocks in which its change from top to bottom is followed
MOST_BURNT = 0.15  # share of a block's pixels
MOST_PIXELS = 6_000  # more add time and no accuracy
BURNT = 0.985  # share of the highest code


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Region:
    """Robust mean of a region's linear light.

    Parameters
    ----------
    mean : ndarray
        Linear RGB, shape (3,).
    covariance : ndarray
        Covariance of that mean, from blocks of the region, shape (3, 3).
    n_pixels : int
        Pixels averaged.
    kept_share : float
        Share of the region's pixels that were averaged.
    clipped_share : float
        Share with a burnt-out channel.
    hue_change : float
        Change from the upper to the lower third, log ratio of camera channels.
    light_change : float
        The same of light, natural log: below 0 it grows darker downwards.
    roughness : float
        Robust spread of single pixels, natural log of light.
    """

    mean: FloatArray
    covariance: FloatArray
    n_pixels: int
    kept_share: float
    clipped_share: float
    hue_change: float
    light_change: float
    roughness: float


def _middle_and_spread(values: FloatArray) -> tuple[float, float]:
    middle = median(values)
    return float(middle), float(1.4826 * median(np.abs(values - middle)))


def average_quad(photo: Photo, quad: Quad) -> Region:
    """Average what lies inside a quadrilateral, as `average_region` does.

    Raises
    ------
    ValueError
        If it holds no pixel of the photo.
    """
    box = box_of(quad)
    shape = photo.codes(box).shape[:2]
    corners = (np.array(quad) - (box.x, box.y)) / photo.reduction
    mask = np.zeros(shape, dtype=np.uint8)
    cv2.fillConvexPoly(mask, np.round(corners).astype(np.int32), 1)
    return average_region(photo, box, mask.astype(bool))


def average_region(photo: Photo, box: Box, mask: NDArray[np.bool_] | None = None) -> Region:
    """Average a region in linear light; with a mask of the box's pixels, only those in it.

    Left out are burnt-out pixels (highlights on the glass) and pixels whose light or color lies
    more than 3 robust standard deviations from the median (specks, graduation lines, reflections).

    Raises
    ------
    ValueError
        If the box holds no pixel of the photo.
    """
    codes = photo.codes(box)
    if not codes.size or (mask is not None and not mask.any()):
        raise ValueError(f"no pixel of the photo lies in {box}")
    stride = max(1, int(np.sqrt(codes.shape[0] * codes.shape[1] / MOST_PIXELS)))
    codes = codes[::stride, ::stride].copy()
    wanted = np.ones(codes.shape[:2], dtype=np.bool_) if mask is None else mask[::stride, ::stride]
    rgb = photo.profile.to_linear(codes).astype(np.float64)
    log_channels = np.log(np.maximum(rgb @ CAMERA_CHANNELS.T, 1e-4))
    burnt = highest_channel(codes) >= BURNT * photo.max_code
    light, (red, green, blue) = mean_of_channels(log_channels), np.moveaxis(log_channels, -1, 0)
    signals = np.stack([light, red - green, blue - green])
    kept = _steady(signals, wanted, burnt)
    mean = np.array(cv2.mean(rgb, kept.astype(np.uint8))[:3])
    hue_change, light_change = _change(signals, burnt)
    return Region(
        mean=mean,
        covariance=_block_covariance(rgb, kept, mean),
        n_pixels=int(kept.sum()),
        kept_share=float(kept.sum() / max(wanted.sum(), 1)),
        clipped_share=float(burnt[wanted].mean()),
        hue_change=hue_change,
        light_change=light_change,
        roughness=_middle_and_spread(light[kept])[1],
    )


def _steady(
    signals: FloatArray, wanted: NDArray[np.bool_], burnt: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Pixels that agree with most others in light and color, of signals (3, h, w); never none."""
    kept = wanted & ~burnt
    if kept.sum() < 0.3 * wanted.sum():
        kept = wanted
    for signal in signals:
        middle, width = _middle_and_spread(signal[kept])
        near = kept & (np.abs(signal - middle) <= 3 * max(width, 0.01))
        kept = near if near.any() else kept
    return kept


def _block_covariance(rgb: FloatArray, kept: NDArray[np.bool_], mean: FloatArray) -> FloatArray:
    """Covariance of the mean, from the means of blocks: neighboring pixels are not independent."""
    down, across = (min(BLOCKS, side) for side in kept.shape)
    rows, columns = (
        side // blocks for side, blocks in zip(kept.shape, (down, across), strict=True)
    )
    whole = np.s_[: down * rows, : across * columns]
    share, light = (
        np.asarray(cv2.resize(values[whole], (across, down), interpolation=cv2.INTER_AREA))
        for values in (kept.astype(np.float64), rgb * kept[..., None])
    )
    means = light[share > 0] / share[share > 0][:, None]
    if len(means) <= 3:
        return np.diag((0.03 * mean) ** 2)
    return np.asarray(np.cov(means.T) / len(means))


def _change(signals: FloatArray, burnt: NDArray[np.bool_]) -> tuple[float, float]:
    """Change of color and of light from the upper to the lower third, (light and 2 tints, h, w).

    Medians of blocks, then across, then along, so that graduation lines do not count; blocks with
    many burnt-out pixels are left out. Zeros where too little is left.
    """
    rows, columns = burnt.shape[0] // ALONG, burnt.shape[1] // ACROSS
    if not rows or not columns:
        return 0.0, 0.0
    whole = np.s_[..., : ALONG * rows, : ACROSS * columns]
    blocks = signals[whole].reshape(-1, ALONG, rows, ACROSS, columns).transpose(1, 3, 0, 2, 4)
    medians = median(blocks.reshape(ALONG, ACROSS, -1, rows * columns), axis=3)
    clear = burnt[whole].reshape(ALONG, rows, ACROSS, columns).mean(axis=(1, 3)) < MOST_BURNT
    along = np.array(
        [median(row[keep], axis=0) for row, keep in zip(medians, clear, strict=True) if keep.any()]
    )
    third = len(along) // 3
    if third < 2:
        return 0.0, 0.0
    change = median(along[-third:], axis=0) - median(along[:third], axis=0)
    return float(np.abs(change[1:]).max()), float(change[0])


def background_beside(photo: Photo, parts: Parts, tube: Tube) -> FloatArray | None:
    """Linear RGB of the background beside a tube at the height of its window, shape (3,).

    Both sides are looked at; where they differ by more than a quarter the brighter is taken, since
    the other is in a shadow or is something else. None where neither side is background.
    """
    if tube.window is None:
        return None
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = tube.outline_px
    left = np.array([[ax, ay], [dx, dy]])
    right = np.array([[bx, by], [cx, cy]])
    middle_y = tube.window.center[1]
    half = tube.window.h / 2
    height = max(left[1, 1] - left[0, 1], 1.0)
    across = (right - left).mean(axis=0)
    found = []
    for start, sign in ((left, -1.0), (right, 1.0)):
        share = (np.linspace(middle_y - half, middle_y + half, 16) - start[0, 1]) / height
        edge = start[0] + np.clip(share, 0, 1)[:, None] * (start[1] - start[0])
        out = sign * np.linspace(0.12, 0.55, 9)[None, :, None] * across
        places = edge[:, None, :] + out
        cells = np.floor(places / parts.scale).astype(int)
        rows, columns = cells[..., 1], cells[..., 0]
        shape = parts.core.shape
        inside = (rows >= 0) & (columns >= 0) & (rows < shape[0]) & (columns < shape[1])
        free = np.zeros(inside.shape, dtype=bool)
        free[inside] = parts.probability[OTHER][rows[inside], columns[inside]] > 0.9
        if free.sum() < 20:
            continue
        rgb = sample(photo, places[free][:, None, :])
        found.append(median(rgb.reshape(-1, 3).astype(np.float64), axis=0))
    if not found:
        return None
    light = [float(rgb.sum()) for rgb in found]
    if len(found) == 2 and max(light) > 1.25 * min(light):
        return np.asarray(found[int(np.argmax(light))])
    return np.asarray(np.mean(found, axis=0))


def triple(values: ArrayLike) -> Triple:
    """Return three numbers as plain floats."""
    r, g, b = (float(v) for v in np.asarray(values))
    return r, g, b


def measure_liquid(
    photo: Photo,
    box: Box,
    region: Region,
    card: CardPatch,
    reflectance: Triple,
    *,
    background: FloatArray | None = None,
    outline: OutlineKind = "found",
    reasons: tuple[Reason, ...] = (),
) -> Measurement:
    """Measure one region of a photo beside its card.

    Parameters
    ----------
    photo : Photo
        The photo.
    box : Box
        The box that was averaged.
    region : Region
        Its average.
    card : CardPatch
        The grey card of the same photo.
    reflectance : tuple
        Reflectance of the card for R, G and B, fractions.
    background : ndarray, optional
        Linear RGB of the background beside the tube, as the camera gave it.
    outline : {"found", "by_hand"}
        Who drew the region.
    reasons : tuple of Reason
        What is already known to be doubtful.

    Notes
    -----
    Covariance in CIELAB = J (blocks of the region + card) J', J the derivative of CIELAB by linear
    RGB (law of propagation of uncertainty, JCGM 100:2008, 5.2).
    """
    gains = balance_gains(card.mean_rgb, reflectance)
    rgb = balance(region.mean, gains)
    step = np.eye(3)
    matrix = balance(step, gains).T
    spread = matrix @ region.covariance @ matrix.T
    spread += np.outer(rgb, rgb) * np.array(card.log_covariance)
    jacobian = lab_jacobian(rgb)
    covariance = jacobian @ spread @ jacobian.T
    behind = None if background is None else balance(background, gains)
    return Measurement(
        lab=Lab(*triple(rgb_to_lab(rgb))),
        covariance=(triple(covariance[0]), triple(covariance[1]), triple(covariance[2])),
        n_pixels=region.n_pixels,
        white="D65",
        rgb=triple(rgb),
        background_rgb=None if behind is None or not (behind > 0).all() else triple(behind),
        card_rgb=card.mean_rgb,
        clipped_share=region.clipped_share,
        outline=outline,
        box=box,
        card_box=card.box,
        sha256=photo.sha256,
        camera=photo.camera,
        taken_at=photo.taken_at,
        reasons=reasons,
    )
