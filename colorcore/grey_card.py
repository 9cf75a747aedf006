"""Finds the grey card and judges whether it can be trusted.

The card sets the balance of the whole photo, so whatever is wrong with it is wrong with every
reading: it is looked at on a regular grid of points inside its outline.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.card_outline import (
    BLOCK,
    block_medians,
    grid_points,
    without_border,
    without_neighbors,
)
from colorcore.geometry import Box, Quad, box_of
from colorcore.parts import CARD, Parts
from colorcore.photo import Photo
from colorcore.places import sample, sample_codes
from colorcore.reasons import Reason
from colorcore.small_arrays import highest_channel, mean_of_channels, median

FloatArray = NDArray[np.float64]

LEVELS = (0.5, 0.35)  # of the probability of a card, at which its shape is cut out
TRIED = 5  # candidates looked at on the photo
AT_THE_EDGE = 0.3  # what counts of the score of one that the edge of the photo cuts
RIVAL = 0.2  # share of the best score from which a second thing may as well be the card,
SURELY = 0.9  # unless the network is that sure of the best
CLEAR_EDGE = 0.04  # natural log of light or tint by which a card differs from what it lies on
CLEAR_SIDES = 3  # of its four sides that must be seen to end so
BESIDE_EDGE = 0.09  # of the card's side: how far inside and outside an edge is compared
EDGE = 0.004  # of the photo's long side: how near its edge a corner counts as cut off
CUT_CORNERS = 2  # a single one leaves the card whole but for its tip
CROSSED = (40, 15)  # per cent of the lines that an edge or a stripe need not cross
GRAIN_STEP = 0.68  # what grain alone makes of either, over the spread of single points
INSET = 0.12  # share of the card's side left out along each edge: border, shadow, blur
CLIP_CODE = 0.98  # share of the highest code from which a channel counts as burnt out
MAX_CLIPPED = 0.03  # the mean leaves out the brightest tenth
STEP = 0.06  # natural log of light between blocks: a shadow or a sheen
UNEVEN = 0.20  # natural log of light across the card
TINT_CHANGE = 0.12  # log ratio of channels across the card
MIN_CODE = 0.08  # mean code as a share of the highest (20 of 255), common practice


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPatch:
    """The grey area of a card in a photo.

    Parameters
    ----------
    outline_px : Quad
        Its corners in full-size upright pixels.
    mean_rgb : tuple
        Mean linear RGB as the camera gave it, 1 = white code, > 0.
    log_covariance : 3x3 tuple
        Covariance of the natural log of that mean.
    clipped_share : float
        Share of points with a burnt-out channel.
    level : float
        Mean code of the brightest channel as a share of the highest code.
    unevenness : float
        Change of light across the card, natural log of a ratio.
    tint_change : float
        Change of color across the card, natural log of a ratio of channels.
    step : float
        Height of the sharpest edge across the card, natural log of a ratio: a shadow's border. What
        the grain alone would make is left out.
    grain : float
        Robust spread of single points about their surroundings, natural log.
    n_points : int
        Points that were averaged.
    reasons : tuple of Reason
        What is doubtful about it.
    """

    outline_px: Quad
    mean_rgb: tuple[float, float, float]
    log_covariance: tuple[tuple[float, float, float], ...]
    clipped_share: float
    level: float
    unevenness: float
    tint_change: float
    step: float
    grain: float
    n_points: int
    reasons: tuple[Reason, ...]

    def __post_init__(self) -> None:
        if not all(value > 0 for value in self.mean_rgb):
            raise ValueError(f"mean_rgb must be > 0, got {self.mean_rgb}")

    @property
    def box(self) -> Box:
        """The upright box round the grey area."""
        return box_of(self.outline_px)


def corners_of(outline: NDArray[np.int32]) -> NDArray[np.float64] | None:
    """Four corners of a shape, clockwise from the upper left, shape (4, 2), grid cells.

    A quadrilateral is fitted to the hull where the shape is one (a card seen at an angle); else
    the smallest rotated rectangle stands in. None where the shape has no area.
    """
    hull = cv2.convexHull(outline)
    if cv2.contourArea(hull) < 4:
        return None
    points = np.asarray(cv2.boxPoints(cv2.minAreaRect(hull)), dtype=np.float64)
    length = cv2.arcLength(hull, True)
    for share in (0.03, 0.05, 0.08):
        fitted = cv2.approxPolyDP(hull, share * length, True)
        if len(fitted) == 4:
            quad = fitted.reshape(4, 2).astype(np.float64)
            if cv2.contourArea(quad.astype(np.float32)) > 0.9 * cv2.contourArea(hull):
                points = quad
            break
    middle = points.mean(axis=0)
    order = np.argsort(np.arctan2(points[:, 1] - middle[1], points[:, 0] - middle[0]))
    points = points[order]
    first = int(np.argmin(points.sum(axis=1)))
    return np.asarray(np.roll(points, -first, axis=0) + 0.5)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidate:
    """Something that could be the card.

    Parameters
    ----------
    score : float
        How much speaks for it, > 0.
    sureness : float
        Mean probability that it is a card, 0 to 1.
    cells : ndarray
        Its corners on the coarse grid, shape (4, 2).
    """

    score: float
    sureness: float
    cells: FloatArray


def card_candidates(parts: Parts) -> list[Candidate]:
    """Everything that could be the card, best first.

    What the network is sure of counts more than what is large, and a full quadrilateral more than
    any other shape. Shapes are cut out at two levels of probability: the upper one parts the card
    from its neighbors, the lower one keeps a card together that is hard to tell from its ground.
    """
    probability = parts.probability[CARD]
    smallest = (0.03 * max(probability.shape)) ** 2
    found = []
    for level in LEVELS:
        above = (probability > level).astype(np.uint8)
        count, labels, boxes, _ = cv2.connectedComponentsWithStats(above, connectivity=4)
        for number in range(1, count):
            x, y, w, h, area = (int(v) for v in boxes[number])
            if area < smallest:
                continue
            place = slice(y, y + h), slice(x, x + w)
            part = labels[place] == number
            filled = part.astype(np.uint8)
            (outline,), _ = cv2.findContours(filled, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
            corners = corners_of(np.add(outline, (x, y), dtype=np.int32))
            if corners is None:
                continue
            cv2.drawContours(filled, [outline], -1, 1, cv2.FILLED)
            whole = float(cv2.countNonZero(filled))
            fill = whole / max(float(cv2.contourArea(corners.astype(np.float32))), whole)
            if fill > 0.6:
                sureness = float(probability[place][part].mean(dtype=np.float64))
                score = sureness**4 * area**0.5 * fill**4
                found.append(Candidate(score=score, sureness=sureness, cells=corners))
    return sorted(found, key=lambda item: -item.score)


def belief(parts: Parts, cells: FloatArray) -> float:
    """Mean probability of a card inside four corners on the coarse grid, 0 to 1."""
    probability = parts.probability[CARD]
    rows, columns = np.rint(grid_points(cells, 0.1) - 0.5).astype(np.intp).reshape(-1, 2).T[::-1]
    return float(
        probability[
            np.clip(rows, 0, probability.shape[0] - 1),
            np.clip(columns, 0, probability.shape[1] - 1),
        ].mean(dtype=np.float64)
    )


def judge(points_rgb: NDArray[np.float32], level: float, clipped: float) -> dict[str, float]:
    """How even the light on the card is, from the linear RGB of its grid.

    The gradient is what changes over the whole card; for the step see `_step_across`.
    """
    log_rgb = np.log(np.maximum(points_rgb.astype(np.float64), 1e-5))
    smooth = block_medians(log_rgb)
    tints = (smooth[..., 0] - smooth[..., 1], smooth[..., 2] - smooth[..., 1])
    # Of the mean: under a yellow lamp the blue channel alone is little but noise.
    each = np.log(np.maximum(mean_of_channels(points_rgb), 1e-5)).astype(np.float64)
    light = block_medians(each[..., None])[..., 0]
    rest = each - np.repeat(np.repeat(light, BLOCK, axis=0), BLOCK, axis=1)
    grain = float(1.4826 * median(np.abs(rest - median(rest))))
    step = _step_across(light)
    return {
        "clipped_share": clipped,
        "level": level,
        "unevenness": change_across(light),
        "tint_change": max(change_across(tint) for tint in tints),
        "step": float(np.sqrt(max(step**2 - (GRAIN_STEP * grain) ** 2, 0.0))),
        "grain": grain,
    }


def _step_across(light: FloatArray) -> float:
    """Height of an edge across blocks of log light: the border of a shadow or of a sheen.

    An edge crosses most lines, rows or columns, and is not taken back on them; print is, or touches
    few. A stripe of shadow is taken back, too: it counts where it crosses nearly all lines, and by
    half.
    """
    found = 0.0
    for jumps in (light[:, 2:] - light[:, :-2], (light[2:] - light[:-2]).T):
        jumps = jumps - median(jumps, axis=1)[:, None]  # light that falls off evenly is no edge
        highest, lowest = jumps.max(axis=1), jumps.min(axis=1)
        edge = np.percentile(np.abs(highest + lowest), CROSSED[0])
        stripe = np.percentile(np.maximum(highest, -lowest), CROSSED[1])
        found = max(found, float(edge), float(stripe) / 2)
    return found


@cache
def _plane_over(rows: int, columns: int) -> FloatArray:
    """Return what the plane through blocks is fitted by: ones, down, across; (blocks, 3)."""
    down, across = np.meshgrid(
        np.linspace(-0.5, 0.5, rows), np.linspace(-0.5, 0.5, columns), indexing="ij"
    )
    places = np.stack([np.ones(rows * columns), down.ravel(), across.ravel()], axis=1)
    places.setflags(write=False)
    return places


def change_across(blocks: FloatArray) -> float:
    """Change from end to end of the plane that fits the blocks of a card best, its two ways added.

    Noise and print hardly move a plane, unlike the extremes; blocks far off it are left out.
    """
    places = _plane_over(*blocks.shape)
    values = blocks.ravel()
    kept = np.ones(blocks.size, dtype=np.bool_)
    plane: FloatArray = np.zeros(3)
    for _ in range(3):
        plane = np.asarray(np.linalg.lstsq(places[kept], values[kept])[0])
        off = np.abs(values - places @ plane)
        kept = off <= 2.5 * max(1.4826 * float(median(off)), 1e-4)
    return float(np.abs(plane[1:]).sum())


def card_reasons(seen: dict[str, float]) -> tuple[Reason, ...]:
    """Say what speaks against the card."""
    reasons = []
    if seen["clipped_share"] > MAX_CLIPPED:
        reasons.append(
            Reason(
                code="card_clipped",
                text=f"{100 * seen['clipped_share']:.0f} % of the grey card is burnt out.",
                what_to_do="Tilt the card away from the lamp or expose less, and photograph again.",
                weight="refused",
            )
        )
    if seen["level"] < MIN_CODE:
        reasons.append(
            Reason(
                code="card_dark",
                text=f"The grey card is nearly black ({100 * seen['level']:.0f} % of full code).",
                what_to_do="Take the photo in more light.",
                weight="refused",
            )
        )
    if seen["step"] > STEP:
        lost = 100 * (1 - np.exp(-seen["step"]))
        reasons.append(
            Reason(
                code="card_shadow",
                text=f"A shadow lies across the grey card (at least {lost:.0f} % darker).",
                what_to_do="Keep hand, phone and tubes from shading the card; photograph again.",
                weight="doubtful",
            )
        )
    elif seen["tint_change"] > TINT_CHANGE:
        reasons.append(
            Reason(
                code="card_other_light",
                text=f"Two lights meet on the card ({100 * seen['tint_change']:.0f} % in color).",
                what_to_do="Put card and tube close together under one kind of lamp.",
                weight="doubtful",
            )
        )
    elif seen["unevenness"] > UNEVEN:
        reasons.append(
            Reason(
                code="card_uneven",
                text=f"The light changes by {100 * seen['unevenness']:.0f} % across the card.",
                what_to_do="Use even light, without gloss on the card.",
                weight="doubtful",
            )
        )
    return tuple(reasons)


def measure_card(photo: Photo, outline: Quad) -> CardPatch:
    """Measure the grey card inside a given outline.

    Raises
    ------
    ValueError
        If the outline holds no pixel of the photo.
    """
    corners = np.asarray(outline, dtype=np.float64)
    codes = sample_codes(photo, grid_points(corners, INSET))
    rgb = photo.profile.to_linear(codes)
    share = codes.astype(np.float64) / photo.max_code
    clipped = float((highest_channel(share) >= CLIP_CODE).mean())
    seen = judge(rgb, float(share.mean(axis=(0, 1)).max()), clipped)
    flat = rgb.reshape(-1, 3).astype(np.float64)
    light = flat.sum(axis=1)
    low, high = np.percentile(light, (10, 90))
    kept = flat[(light >= low) & (light <= high)]
    mean = np.maximum(kept.mean(axis=0), 1e-5)
    spread = np.cov(np.log(np.maximum(kept, 1e-5)).T) / len(kept)
    return CardPatch(
        outline_px=outline,
        mean_rgb=(float(mean[0]), float(mean[1]), float(mean[2])),
        log_covariance=tuple((float(r[0]), float(r[1]), float(r[2])) for r in spread),
        n_points=len(kept),
        reasons=card_reasons(seen),
        **seen,
    )


def clear_sides(photo: Photo, corners: FloatArray) -> tuple[int, int]:
    """How many of four sides are edges, and how many of these lie well inside the photo.

    An edge is seen from the light on both sides of it; half of a side must differ. A side at the
    photo's edge or beyond is none: a shaded corner of the ground has two at most. Rivals are ranked
    by the sides well inside.
    """
    last = np.array((photo.width - 1, photo.height - 1))
    near = EDGE * max(photo.width, photo.height)
    share = np.linspace(0.15, 0.85, 15)[None, :, None]
    a, b, c, d = (np.roll(corners, -k, axis=0)[:, None, :] for k in range(4))
    side = a + share * (b - a)  # (4, 15, 2)
    inwards = BESIDE_EDGE * (d + share * (c - d) - side)
    beyond = side - inwards
    outside = np.clip(beyond, 0, last)
    gone = ((side < near) | (side > last - near)).any(axis=2).mean(axis=1) > 0.5
    close = (beyond != outside).any(axis=2).mean(axis=1) > 0.5
    rgb = sample(photo, np.concatenate([side + inwards, outside]))
    log_rgb = np.log(np.maximum(rgb.astype(np.float64), 1e-4))
    step = median(highest_channel(np.abs(log_rgb[:4] - log_rgb[4:])), axis=1)
    clear = (step > CLEAR_EDGE) & ~gone
    return int(clear.sum()), int((clear & ~close).sum())


def find_card(photo: Photo, parts: Parts) -> CardPatch | None:
    """Find the grey card of a photo; None where there is none."""
    seen = []
    for item in card_candidates(parts)[:TRIED]:
        corners = item.cells * parts.scale
        clear, inside = clear_sides(photo, corners)
        if clear >= CLEAR_SIDES:
            share = AT_THE_EDGE if _at_the_edge(photo, corners) else 1.0
            seen.append((item.score * max(inside, 1) * share, item.sureness, corners))
    if not seen:
        return None
    best, sureness, corners = max(seen, key=lambda item: item[0])
    others = [score for score, _, other in seen if not _overlap(other, corners)]
    reasons = []
    if sureness < SURELY and max(others, default=0.0) > RIVAL * best:
        reasons.append(
            Reason(
                code="which_card",
                text="Two things in the photo look like the grey card.",
                what_to_do="Take the other grey thing away, or draw the card's outline by hand.",
                weight="doubtful",
            )
        )
    bare = without_border(photo, corners)
    corners = without_neighbors(photo, bare, lambda part: belief(parts, part / parts.scale))
    if _at_the_edge(photo, corners) >= CUT_CORNERS:
        reasons.append(
            Reason(
                code="card_cut_off",
                text="The grey card is cut off by the edge of the photo.",
                what_to_do="Photograph again with the whole card in the picture.",
                weight="doubtful",
            )
        )
    a, b, c, d = ((float(x), float(y)) for x, y in corners)
    card = measure_card(photo, (a, b, c, d))
    return replace(card, reasons=(*card.reasons, *reasons))


def _overlap(one: FloatArray, other: FloatArray) -> bool:
    """Whether two outlines share a tenth of the smaller."""
    a, b = one.astype(np.float32), other.astype(np.float32)
    shared, _ = cv2.intersectConvexConvex(a, b)
    return bool(shared > 0.1 * min(cv2.contourArea(a), cv2.contourArea(b)))


def _at_the_edge(photo: Photo, corners: FloatArray) -> int:
    """How many corners lie at the edge of the photo: a card cut off there may be anything grey."""
    near = EDGE * max(photo.width, photo.height)
    far = np.array([photo.width, photo.height]) - near
    return int(((corners < near) | (corners > far)).any(axis=1).sum())
