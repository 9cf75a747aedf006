"""How sharp a photo is, from the edges of its card."""

import numpy as np
from numpy.typing import NDArray

from colorcore.grey_card import CardPatch
from colorcore.photo import Photo
from colorcore.places import sample
from colorcore.small_arrays import mean_of_channels, median

PROFILES = 7  # places along each side of the card
FEWEST = 4  # of them that must show a clear edge


def edge_width(photo: Photo, card: CardPatch) -> float | None:
    """Width of the card's blurriest edge, as a share of the photo's long side.

    Along each side of the card, brightness is followed across the edge; the width is the distance
    in which it goes from 20 to 80 % of its largest change. None where no edge is clear.
    """
    long_side = max(photo.width, photo.height)
    reach = 0.03 * long_side
    offsets = np.linspace(-reach, reach, 121)
    corners = np.array(card.outline_px)
    middle = corners.mean(axis=0)
    widths = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        along = b - a
        length = float(np.hypot(*along))
        if length < 4:
            continue
        normal = np.array([along[1], -along[0]]) / length
        if normal @ (a - middle) < 0:
            normal = -normal
        starts = a + np.linspace(0.2, 0.8, PROFILES)[:, None] * along
        places = starts[:, None, :] + offsets[None, :, None] * normal
        inside = (places >= 0) & (places < (photo.width, photo.height))
        rows = inside.all(axis=(1, 2))
        if rows.sum() < FEWEST:
            continue
        rgb = sample(photo, places[rows])
        light = np.cbrt(np.maximum(mean_of_channels(rgb), 0))
        smooth = (light[:, :-2] + light[:, 1:-1] + light[:, 2:]) / 3
        found = [_rise(*pair) for pair in zip(smooth, np.diff(smooth), strict=True)]
        clear = [width for width in found if width is not None]
        if len(clear) >= FEWEST:
            usual = float(median(np.array(clear)))
            widths.append(usual * float(offsets[1] - offsets[0]) / long_side)
    return max(widths) if widths else None


def _rise(profile: NDArray[np.float32], steps: NDArray[np.float32]) -> float | None:
    """Return the samples between 20 and 80 % of the largest step, None where there is none."""
    at = int(np.argmax(np.abs(steps)))
    if abs(steps[at]) < 0.004:
        return None
    ends = np.flatnonzero(steps / steps[at] <= 0.08)  # where the step has run out, both ways
    cut = int(np.searchsorted(ends, at))
    low = int(ends[cut - 1]) + 1 if cut else 0
    high = int(ends[cut]) if cut < len(ends) else len(steps)
    height = abs(float(profile[high] - profile[low]))
    if height < 0.03:
        return None
    share = np.abs(profile[low : high + 1] - profile[low]) / height
    first, last = np.interp((0.2, 0.8), share, np.arange(len(share)))
    return float(last - first)
