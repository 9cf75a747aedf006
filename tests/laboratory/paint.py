"""Paint on a picture of linear light: polygons, pasted patches, textures, shadows."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.palette import FloatArray

KEEP = 255  # in a patch of labels: leave the label that is there
_SHIFT = 4  # polygon corners are given to OpenCV in sixteenths of a pixel


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Canvas:
    """A picture in the making: linear RGB (H, W, 3) float32 and its labels (H, W) uint8."""

    image: FloatArray
    labels: NDArray[np.uint8]

    @property
    def height(self) -> int:
        """Number of rows."""
        return int(self.image.shape[0])

    @property
    def width(self) -> int:
        """Number of columns."""
        return int(self.image.shape[1])


def blank_canvas(size: tuple[int, int]) -> Canvas:
    """Return a black canvas of size (width, height)."""
    width, height = size
    return Canvas(
        image=np.zeros((height, width, 3), np.float32), labels=np.zeros((height, width), np.uint8)
    )


def child(rng: np.random.Generator) -> np.random.Generator:
    """Return a generator of its own for a part whose draws depend on the size of the picture.

    So the places in a scene stay the same when it is drawn small for a first look.
    """
    return np.random.default_rng(rng.integers(2**62))


def noise(
    rng: np.random.Generator,
    shape: tuple[int, int],
    *,
    cells: tuple[float, float],
    octaves: int = 3,
    fall: float = 0.5,
) -> FloatArray:
    """Return noise of mean about 0 and spread about 1; `cells` are rows and columns of lumps."""
    height, width = max(1, shape[0]), max(1, shape[1])
    small = (max(1, height // 4), max(1, width // 4))
    coarse: FloatArray | None = None  # lumps much larger than pixels are added up small
    total: FloatArray | None = None
    power = 0.0
    for octave in range(octaves):
        rows = int(np.clip(cells[0] * 2**octave, 1, height)) + 1
        columns = int(np.clip(cells[1] * 2**octave, 1, width)) + 1
        grid = rng.standard_normal((rows, columns), dtype=np.float32)
        weight = np.float32(fall**octave)
        power += weight**2
        if rows < height / 10 and columns < width / 10:
            part = cv2.resize(grid, small[::-1], interpolation=cv2.INTER_CUBIC) * weight
            coarse = part if coarse is None else coarse + part
        else:
            part = cv2.resize(grid, (width, height), interpolation=cv2.INTER_LINEAR) * weight
            total = part if total is None else total + part
    if coarse is not None:
        part = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_LINEAR)
        total = part if total is None else total + part
    assert total is not None
    return np.asarray(total / np.float32(np.sqrt(power)), np.float32)


def wood_texture(rng: np.random.Generator, shape: tuple[int, int], grain: float = 60) -> FloatArray:
    """Return a factor round 1 with grain along the columns of the patch, shape `shape`."""
    height, width = shape
    streaks = noise(rng, shape, cells=(grain, max(2.0, grain * width / height / 22)), octaves=3)
    bands = noise(rng, shape, cells=(grain / 8, 2), octaves=2)
    strength = rng.uniform(0.04, 0.2)
    return np.clip(1 + strength * streaks + 0.6 * strength * bands, 0.3, 1.8)


def polygon_mask(
    canvas: Canvas, points: Sequence[Sequence[float]], soft: float = 0.0
) -> tuple[tuple[slice, slice], FloatArray] | None:
    """Return the part of the picture a polygon touches and its coverage in [0, 1] there."""
    corners = np.asarray(points, np.float64)
    margin = 2 + 2.5 * soft
    left, top = np.floor(corners.min(0) - margin).astype(int).clip(0)
    right = min(canvas.width, int(corners[:, 0].max() + margin + 1))
    bottom = min(canvas.height, int(corners[:, 1].max() + margin + 1))
    if right <= left or bottom <= top:
        return None
    mask = np.zeros((bottom - top, right - left), np.uint8)
    fixed = np.rint((corners - (left, top)) * (1 << _SHIFT)).astype(np.int32)
    cv2.fillPoly(mask, [fixed], 255, cv2.LINE_AA, _SHIFT)
    cover = mask.astype(np.float32) * np.float32(1 / 255)
    if soft > 0.3:
        cover = cv2.GaussianBlur(cover, (0, 0), soft)
    return (slice(top, bottom), slice(left, right)), cover


def fill(
    canvas: Canvas,
    points: Sequence[Sequence[float]],
    color: FloatArray,
    *,
    label: int | None = 0,
    texture: FloatArray | None = None,
    alpha: float = 1.0,
    soft: float = 0.0,
) -> None:
    """Fill a polygon; `texture` is a factor laid over the whole picture or None."""
    found = polygon_mask(canvas, points, soft)
    if found is None:
        return
    part, cover = found
    paint = color if texture is None else color * texture[part][..., None]
    here = canvas.image[part]
    if alpha == 1.0 and cover.min() == 1.0:
        here[:] = paint
    else:
        here += (cover * np.float32(alpha))[..., None] * (paint - here)
    if label is not None:
        canvas.labels[part][cover > 0.5] = label


def shade(canvas: Canvas, points: Sequence[Sequence[float]], strength: float, soft: float) -> None:
    """Darken a polygon with a soft edge, as a shadow does."""
    found = polygon_mask(canvas, points, soft)
    if found is None:
        return
    part, cover = found
    canvas.image[part] *= 1 - np.float32(strength) * cover[..., None]


def line(
    canvas: Canvas,
    start: Sequence[float],
    end: Sequence[float],
    width: float,
    color: FloatArray,
    label: int | None = 0,
) -> None:
    """Draw a straight stroke of `width` pixels."""
    a, b = np.asarray(start, float), np.asarray(end, float)
    along = b - a
    across = np.array((-along[1], along[0])) / max(float(np.hypot(*along)), 1e-6) * width / 2
    fill(canvas, (a + across, b + across, b - across, a - across), color, label=label)


def homography(shape: tuple[int, int], quad: Sequence[Sequence[float]]) -> NDArray[np.float64]:
    """Return the 3x3 map from a patch of (rows, columns) to a quadrilateral of the picture."""
    rows, columns = shape
    source = np.array([(0, 0), (columns, 0), (columns, rows), (0, rows)], np.float32)
    return np.asarray(cv2.getPerspectiveTransform(source, np.asarray(quad, np.float32)))


def move_points(
    matrix: NDArray[np.float64], points: Sequence[Sequence[float]] | NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return points (n, 2) moved by a 3x3 map."""
    p = np.asarray(points, np.float64)
    w = p @ matrix[2, :2] + matrix[2, 2]
    return np.stack([(p @ matrix[i, :2] + matrix[i, 2]) / w for i in (0, 1)], -1)


def paste(
    canvas: Canvas,
    patch: FloatArray,
    cover: FloatArray,
    matrix: NDArray[np.float64],
    labels: NDArray[np.uint8] | int | None = 0,
) -> None:
    """Lay a patch (rows, columns, 3) with its coverage (rows, columns) on the picture.

    `matrix` maps patch pixels' corners to picture pixels' corners. `labels` is one label for all
    that is covered, a patch of labels with KEEP where the old one stays, or None.
    """
    rows, columns = cover.shape
    corners = move_points(matrix, [(0, 0), (columns, 0), (columns, rows), (0, rows)])
    left, top = np.floor(corners.min(0)).astype(int).clip(0)
    right = min(canvas.width, int(np.ceil(corners[:, 0].max())) + 1)
    bottom = min(canvas.height, int(np.ceil(corners[:, 1].max())) + 1)
    if right <= left or bottom <= top:
        return
    half = np.array([(1, 0, 0.5), (0, 1, 0.5), (0, 0, 1)])  # pixel centres against corners
    shift = np.array([(1, 0, -left - 0.5), (0, 1, -top - 0.5), (0, 0, 1)])
    local = shift @ matrix @ half
    size = (right - left, bottom - top)
    stack = np.dstack((patch * cover[..., None], cover)).astype(np.float32)
    moved = cv2.warpPerspective(stack, local, size, flags=cv2.INTER_LINEAR)
    part = (slice(top, bottom), slice(left, right))
    here = canvas.image[part]
    here *= 1 - moved[..., 3:]
    here += moved[..., :3]
    if labels is None:
        return
    if isinstance(labels, int):
        canvas.labels[part][moved[..., 3] > 0.5] = labels
        return
    moved_labels = cv2.warpPerspective(
        labels, local, size, flags=cv2.INTER_NEAREST, borderValue=KEEP
    )
    keep = moved_labels == KEEP
    canvas.labels[part][~keep] = moved_labels[~keep]


def turned_quad(
    center: Sequence[float], width: float, height: float, degrees: float
) -> NDArray[np.float64]:
    """Return the corners (4, 2) of a turned rectangle, from its top left one clockwise."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    half = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (width / 2, height / 2)
    return np.asarray(half @ np.array([(c, s), (-s, c)]) + np.asarray(center, float))


def rounded_cover(shape: tuple[int, int], radius: float) -> FloatArray:
    """Return the coverage (rows, columns) of a rectangle with round corners."""
    rows, columns = shape
    y = np.abs(np.arange(rows, dtype=np.float32) + 0.5 - rows / 2) - (rows / 2 - radius)
    x = np.abs(np.arange(columns, dtype=np.float32) + 0.5 - columns / 2) - (columns / 2 - radius)
    y, x = y[:, None], x[None, :]
    away = np.hypot(np.maximum(y, 0), np.maximum(x, 0)) + np.minimum(np.maximum(y, x), 0)
    return np.clip(radius - away + 0.5, 0, 1).astype(np.float32)


def bounds(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return left, top, right and bottom of points (n, 2)."""
    return np.concatenate((points.min(0), points.max(0)))
