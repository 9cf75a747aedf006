"""Finds the middle line of every vessel in the map of vessel cores."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.parts import CARD, LIQUID, OTHER, SOLID, Parts
from colorcore.small_arrays import median

FloatArray = NDArray[np.float64]
Mask = NDArray[np.bool_]

CORE_SHARE = 0.5  # of a vessel's width, as the network was taught
MIN_CORE_CELLS = 8
FULL = 0.9  # share of its rectangle from which on a core is that of one vessel
HEIGHTS = (0.65, 0.8, 0.9, 0.96)  # of the map, tried in turn to part two vessels
WORN = (1, 2, 3, 4)  # cells worn off a core's border for the same purpose
SEED_SHARE = 0.08  # of a core's area: smaller parts of it are no vessel
GAP = 1.3  # widths between two pieces of one vessel: a rail, a clamp, a label
ASIDE = 0.3  # widths by which they may lie beside each other's line
TURNED = 0.26  # radians between their directions


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """Middle line of a vessel on the coarse grid, from its top down."""

    top: tuple[float, float]
    bottom: tuple[float, float]
    width: float

    @property
    def length(self) -> float:
        """Length of the line in cells."""
        return float(np.hypot(self.bottom[0] - self.top[0], self.bottom[1] - self.top[1]))

    @property
    def area(self) -> float:
        """Length times width, in cells."""
        return self.length * self.width

    @property
    def turn(self) -> float:
        """Angle to the upright, radians."""
        return float(np.arctan2(self.bottom[0] - self.top[0], self.bottom[1] - self.top[1]))

    def along(self, share: float, across: float) -> tuple[float, float]:
        """Place at a share of the length (0 top, 1 bottom) and of the half width (-1 to 1)."""
        (x0, y0), (x1, y1) = self.top, self.bottom
        nx, ny = (y1 - y0) / self.length, -(x1 - x0) / self.length
        half = across * self.width / 2
        return x0 + share * (x1 - x0) + nx * half, y0 + share * (y1 - y0) + ny * half

    def grid(self, shares: FloatArray, across: FloatArray) -> FloatArray:
        """Places at shares of the length and of the half width, shape (shares, across, 2)."""
        start, way = np.array(self.top), np.subtract(self.bottom, self.top)
        aside = np.array([way[1], -way[0]]) / self.length * self.width / 2
        return np.asarray(start + shares[:, None, None] * way + across[None, :, None] * aside)

    def place_of(self, point: tuple[float, float]) -> tuple[float, float]:
        """Cells down from the top along the line, and cells beside it."""
        (x0, y0), (x1, y1) = self.top, self.bottom
        ux, uy = (x1 - x0) / self.length, (y1 - y0) / self.length
        x, y = point[0] - x0, point[1] - y0
        return x * ux + y * uy, x * uy - y * ux


def axis_of(core: Mask, corner: tuple[int, int] = (0, 0)) -> Axis:
    """Middle line of one core, from its own shape; `corner` is the place of the mask's first cell.

    The direction is that of its longest extent; the width is the area over the length, times two
    because the core is half as wide as its vessel.
    """
    rows, columns = np.nonzero(core)
    points = np.stack([columns + corner[0] + 0.5, rows + corner[1] + 0.5], axis=1)
    middle = points.mean(axis=0)
    spread = np.cov((points - middle).T) + np.eye(2) / 12
    values, vectors = np.linalg.eigh(spread)
    direction = vectors[:, 1] if values[1] > 1.6 * values[0] else np.array([0.0, 1.0])
    if direction[1] < 0 or (abs(direction[1]) < 1e-9 and direction[0] < 0):
        direction = -direction
    place = (points - middle) @ direction
    low, high = float(place.min()) - 0.5, float(place.max()) + 0.5
    width = len(points) / max(high - low, 1.0) / CORE_SHARE
    top, bottom = middle + low * direction, middle + high * direction
    return Axis(
        top=(float(top[0]), float(top[1])),
        bottom=(float(bottom[0]), float(bottom[1])),
        width=max(width, 2.0),
    )


def _pieces(mask: Mask, least: float) -> list[Mask]:
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask.astype(np.uint8))
    kept = [k for k in range(1, count) if stats[k, cv2.CC_STAT_AREA] >= least]
    return [np.asarray(labels == k) for k in kept]


def beside(a: Axis, b: Axis) -> bool:
    """Whether two middle lines run side by side, as those of two vessels do.

    Examples
    --------
    >>> left = Axis(top=(5, 0), bottom=(5, 40), width=8)
    >>> beside(left, Axis(top=(16, 10), bottom=(15, 45), width=8))
    True
    >>> beside(left, Axis(top=(5, 45), bottom=(5, 80), width=8))
    False
    """
    long, short = (a, b) if a.length >= b.length else (b, a)
    ends = sorted((long.place_of(short.top)[0], long.place_of(short.bottom)[0]))
    shared = min(ends[1], long.length) - max(ends[0], 0.0)
    aside = abs(long.place_of(short.along(0.5, 0.0))[1])
    return shared > 0.4 * short.length and aside > 0.35 * (a.width + b.width)


def _seeds(core: Mask, height: NDArray[np.float32]) -> Iterator[Mask]:
    """Give parts of a core in which two vessels may fall apart."""
    for level in HEIGHTS:
        yield core & (height > level)
    starts = np.diff(core.astype(np.int8), axis=1, prepend=0) > 0
    yield core & (starts.sum(axis=1) > 1)[:, None]  # the rows in which it forks
    depth = cv2.distanceTransform(np.pad(core, 1).astype(np.uint8), cv2.DIST_L2, 3)[1:-1, 1:-1]
    for worn in WORN:
        yield core & (depth > worn)


def parted(core: Mask, height: NDArray[np.float32]) -> list[Mask]:
    """Part the cores of vessels that touch; a core that is a full bar is left whole.

    Parameters
    ----------
    core : ndarray
        Where one connected core lies.
    height : ndarray
        Probability of a core, of the same shape.
    """
    area = int(core.sum())
    points = np.argwhere(core).astype(np.float32)
    (_, (a, b), _) = cv2.minAreaRect(points)
    if area < 4 * MIN_CORE_CELLS or area > FULL * (a + 1) * (b + 1):
        return [core]
    for part in _seeds(core, height):
        seeds = _pieces(part, max(MIN_CORE_CELLS, SEED_SHARE * area))
        if len(seeds) < 2:
            continue
        lines = [axis_of(seed) for seed in seeds]
        if not any(beside(x, y) for k, x in enumerate(lines) for y in lines[:k]):
            continue
        empty = np.ones(core.shape, dtype=np.uint8)
        for seed in seeds:
            empty[seed] = 0
        _, nearest = cv2.distanceTransformWithLabels(
            empty, cv2.DIST_L2, 5, labelType=cv2.DIST_LABEL_CCOMP
        )
        return [
            child
            for seed in seeds
            for child in parted(core & (nearest == nearest[seed][0]), height)
        ]
    return [core]


def _continues(upper: Axis, lower: Axis) -> bool:
    """Whether the lower line goes on where the upper one ends, as behind a rail."""
    width = max(upper.width, lower.width)
    if min(upper.width, lower.width) < 0.5 * width:
        return False
    down, aside = upper.place_of(lower.top)
    if not -0.3 * width < down - upper.length < GAP * width or abs(aside) > ASIDE * width:
        return False
    if min(upper.length, lower.length) < width:  # too short to have a direction
        return True
    return abs(upper.turn - lower.turn) < TURNED


def _seen(parts: Parts, kinds: tuple[int, int], line: Axis, shares: FloatArray) -> FloatArray:
    """Probability of two kinds together at shares of a line, mean over its middle."""
    rows, columns = np.array(parts.core.shape) - 1
    places = line.grid(shares, np.array([-0.4, -0.2, 0.0, 0.2, 0.4]))
    x = np.clip(places[..., 0], 0, columns).astype(np.intp)
    y = np.clip(places[..., 1], 0, rows).astype(np.intp)
    a, b = (parts.probability[kind, y, x] for kind in kinds)
    return np.asarray((a + b).mean(axis=1), dtype=np.float64)


def vessel_sureness(parts: Parts, line: Axis) -> float:
    """Median probability along a line that a vessel is there, whatever it holds."""
    return 1 - float(median(_seen(parts, (OTHER, CARD), line, np.linspace(0.01, 0.99, 64))))


def _filled(parts: Parts, line: Axis, first: float, last: float) -> bool:
    """Whether liquid or solid is seen along a stretch of a line, given as shares of it."""
    return float(_seen(parts, (LIQUID, SOLID), line, np.linspace(first, last, 7)).mean()) > 0.5


def joined(lines: list[Axis], parts: Parts) -> list[Axis]:
    """Join the pieces of vessels that something crosses: a rail, a clamp, a label.

    Liquid lies at the bottom: empty glass below it belongs to another vessel.
    """
    lines = sorted(lines, key=lambda line: line.top[1])
    k = 0
    while k < len(lines):
        upper = lines[k]
        full = _filled(parts, upper, 0.8, 0.95)
        following = [
            line
            for line in lines[k + 1 :]
            if _continues(upper, line) and (not full or _filled(parts, line, 0.05, 0.2))
        ]
        if not following:
            k += 1
            continue
        lower = min(following, key=lambda line: upper.place_of(line.top)[0])
        share = upper.length / (upper.length + lower.length)
        whole = replace(
            upper,
            bottom=lower.bottom,
            width=share * upper.width + (1 - share) * lower.width,
        )
        lines = [whole if line is upper else line for line in lines if line is not lower]
    return lines


def vessel_axes(parts: Parts) -> list[Axis]:
    """Find the middle lines of all that could be vessels."""
    vessel = 1 - parts.probability[OTHER] - parts.probability[CARD]
    wanted = ((parts.core > 0.5) & (vessel > 0.3)).astype(np.uint8)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(wanted, connectivity=4)
    lines = []
    for k, (x, y, w, h, area) in enumerate(stats.tolist()):
        if k and area >= MIN_CORE_CELLS:
            part = slice(y, y + h), slice(x, x + w)
            cores = parted(np.asarray(labels[part] == k), parts.core[part])
            lines += [axis_of(core, (x, y)) for core in cores]
    return joined(lines, parts)
