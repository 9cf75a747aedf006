"""How sharp a photo is, from the edges of its card."""

import numpy as np
from numpy.typing import NDArray

from colorcore.grey_card import CardPatch
from colorcore.photo import Photo
from colorcore.places import sample
from colorcore.small_arrays import mean_of_channels, median

REACH = 0.03  # of the photo's long side: how far inside and outside an edge is followed
SAMPLES = 121
SMOOTHINGS = ((3, 0.004), (25, 0.0015))  # samples, and the least rise from one to the next
SMOOTHED = 0.6  # of them lie between 20 and 80 % of a step that they smooth
PROFILES = 7  # places along each side of the card
FEWEST = 4  # of them that must show a clear edge
ENDS = 12  # samples at either end of a profile that tell how much it changes in all
WHOLE = 0.4  # of that change: what the steepest rise must make up to be the edge


def edge_width(photo: Photo, card: CardPatch) -> float | None:
    """Width of the card's blurriest edge, as a share of the photo's long side.

    Along each side of the card, brightness is followed across the edge; the width is the distance
    in which it goes from 20 to 80 % of its largest change. Where a side shows no edge, because
    grain is steeper than what a strong blur has left of it, brightness is smoothed first. None
    where no edge is clear.
    """
    step = 2 * REACH / (SAMPLES - 1)
    widths = []
    for light in _across_sides(photo, card):
        for smoothing, steepness in SMOOTHINGS:
            kernel = np.ones(smoothing) / smoothing
            smooth = [np.convolve(profile, kernel, "valid") for profile in light]
            clear = [w for p in smooth if (w := _rise(p, steepness)) is not None]
            if len(clear) >= FEWEST:
                seen, made = float(median(np.array(clear))), SMOOTHED * smoothing
                widths.append(step * float(np.sqrt(max(seen**2 - made**2, 0.0))))
                break
    return max(widths, default=None)


def _across_sides(photo: Photo, card: CardPatch) -> list[NDArray[np.float64]]:
    """Cube root of light across each side of the card that is in the picture, (places, samples)."""
    reach = REACH * max(photo.width, photo.height)
    offsets = np.linspace(-reach, reach, SAMPLES)
    corners = np.array(card.outline_px)
    middle = corners.mean(axis=0)
    found = []
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
        if rows.sum() >= FEWEST:
            rgb = sample(photo, places[rows])
            found.append(np.cbrt(np.maximum(mean_of_channels(rgb), 0)).astype(np.float64))
    return found


def _rise(profile: NDArray[np.float64], steepness: float) -> float | None:
    """Return the samples between 20 and 80 % of the steepest rise, None where it is no edge."""
    steps = np.diff(profile)
    at = int(np.argmax(np.abs(steps)))
    if abs(steps[at]) < steepness:
        return None
    ends = np.flatnonzero(steps / steps[at] <= 0.08)  # where the step has run out, both ways
    cut = int(np.searchsorted(ends, at))
    low = int(ends[cut - 1]) + 1 if cut else 0
    high = int(ends[cut]) if cut < len(ends) else len(steps)
    height = abs(float(profile[high] - profile[low]))
    whole = abs(float(profile[-ENDS:].mean() - profile[:ENDS].mean()))
    if height < max(0.03, WHOLE * whole):
        return None
    share = np.abs(profile[low : high + 1] - profile[low]) / height
    first, last = np.interp((0.2, 0.8), share, np.arange(len(share)))
    return float(last - first)
