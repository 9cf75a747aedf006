"""Things that lie about: paper, pens, rulers, spoons, coins, phones, colour targets, bottles."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from tests.laboratory.paint import (
    Canvas,
    fill,
    homography,
    noise,
    paste,
    rounded_cover,
    shade,
    turned_quad,
)
from tests.laboratory.palette import FloatArray, Palette

Patch = tuple[FloatArray, FloatArray]  # linear RGB and coverage


def _flat(rng: np.random.Generator, palette: Palette, shape: tuple[int, int], kind: str) -> Patch:
    color = palette.surface(kind, int(rng.integers(20)))
    texture = 1 + rng.uniform(0, 0.05) * noise(rng, shape, cells=(4, 5))
    return color * texture[..., None], rounded_cover(
        shape, min(shape) * float(rng.choice((0.01, rng.uniform(0, 0.5))))
    )


def paper(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Coloured paper or a box."""
    return _flat(rng, palette, shape, "clutter")


def page(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a printed page."""
    rows, columns = shape
    patch = np.empty((*shape, 3), np.float32)
    patch[:] = palette.surface("paper", int(rng.integers(9)))
    ink = palette.surface("ink", int(rng.integers(5)))
    cover = np.zeros(shape, np.uint8)
    step = max(3, rows // int(rng.integers(8, 30)))
    for y in range(step, rows - step, step):
        x = int(columns * 0.08)
        while x < columns * 0.9:
            w = int(step * rng.uniform(0.5, 2.5)) + 1
            cover[y : y + max(1, step // 3), x : min(x + w, int(columns * 0.94))] = 255
            x += w + max(1, step // 2)
    patch += (cover.astype(np.float32) / 255 * 0.85)[..., None] * (ink - patch)
    return patch, np.ones(shape, np.float32)


def pen(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a pen or pencil along the longer side of the patch."""
    rows, columns = shape
    y = (np.arange(rows, dtype=np.float32) + 0.5) / rows * 2 - 1
    x = (np.arange(columns, dtype=np.float32) + 0.5) / columns
    body = 0.35 + 0.65 * np.sqrt(np.clip(1 - (y + 0.25) ** 2, 0, 1))
    patch = np.broadcast_to(
        palette.surface("clutter", int(rng.integers(20))) * body[:, None, None], (*shape, 3)
    ).copy()
    tip = rng.uniform(0.82, 0.95)
    patch[:, x > tip] = palette.surface("wood", 8) * body[:, None, None]
    patch[:, x > tip + (1 - tip) * 0.7] = palette.surface("dark", 8)
    if rng.random() < 0.5:
        patch[:, x < rng.uniform(0.02, 0.3)] = (
            palette.surface(str(rng.choice(("black", "metal", "clutter"))), 3) * body[:, None, None]
        )
    limit = np.clip((1 - x) / (1 - tip), 0.08, 1)
    cover = np.clip((limit[None, :] - np.abs(y)[:, None]) * rows / 2 + 0.5, 0, 1)
    return patch.astype(np.float32), cover.astype(np.float32)


def ruler(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a ruler with its marks."""
    patch, _ = _flat(rng, palette, shape, str(rng.choice(("clutter", "wood", "white", "metal"))))
    rows, columns = shape
    step = max(2, columns // int(rng.integers(20, 70)))
    ink = palette.surface("ink", 4)
    for k, x in enumerate(range(step, columns - 1, step)):
        patch[: int(rows * (0.4 if k % 5 == 0 else 0.22)), x : x + max(1, step // 5)] = ink
    return patch, np.ones(shape, np.float32)


def disc(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a coin, a lid or a dish."""
    rows, columns = shape
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    r = np.hypot((x + 0.5) / columns * 2 - 1, (y + 0.5) / rows * 2 - 1)
    color = palette.surface(
        str(rng.choice(("clutter", "metal", "grey", "white"))), int(rng.integers(9))
    )
    ring = 1 - 0.35 * np.exp(-(((r - 0.85) / 0.06) ** 2)) + 0.2 * (x / columns - 0.5)
    return color * ring[..., None], np.clip((1 - r) * min(shape) / 2 + 0.5, 0, 1)


def spoon(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a metal spoon along the patch."""
    rows, columns = shape
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    y, x = (y + 0.5) / rows * 2 - 1, (x + 0.5) / columns
    bowl = np.hypot((x - 0.86) / 0.14, y)
    handle = np.maximum(np.abs(y) / (0.16 + 0.1 * (1 - x)), (x - 0.8) * 20)
    inside = np.maximum(
        np.clip((1 - bowl) * rows / 2, 0, 1), np.clip((1 - handle) * rows / 8, 0, 1)
    )
    sheen = (
        0.45 + 0.35 * np.cos(4 * y + 1) + 0.9 * np.exp(-(((x - 0.84) / 0.04) ** 2 + (y / 0.3) ** 2))
    )
    sheen = np.where((bowl > 0.75) & (bowl < 1), 0.35 + 0.4 * (y < 0), sheen)
    return palette.surface("metal", 1) * sheen[..., None], inside.astype(np.float32)


def dull_metal(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a rounded grey thing with a sheen: tin, phone, eraser, plate."""
    patch, _ = _flat(rng, palette, shape, str(rng.choice(("grey", "grey", "metal", "dark"))))
    rows, columns = shape
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    along = (x / columns - rng.uniform(0.2, 0.8)) + (y / rows - 0.5) * rng.normal(0, 0.7)
    patch = (
        patch
        * (1 + rng.uniform(0.05, 1.2) * np.exp(-((along / rng.uniform(0.05, 0.4)) ** 2)))[..., None]
    )
    if rng.random() < 0.3:  # a dark glass front or a lens
        a = int(min(shape) * 0.08) + 1
        patch[a:-a, a:-a] = palette.surface("dark", 4) + 0.02
    return patch, rounded_cover(shape, min(shape) * rng.uniform(0.08, 0.35))


def rag(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a grey cloth or torn sheet without a straight edge."""
    patch, _ = _flat(rng, palette, shape, str(rng.choice(("grey", "grey", "cloth"))))
    rows, columns = shape
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    y, x = (y + 0.5) / rows * 2 - 1, (x + 0.5) / columns * 2 - 1
    p = rng.uniform(2, 8)
    r = (np.abs(x) ** p + np.abs(y) ** p) ** (1 / p) + 0.1 * noise(
        rng, shape, cells=(3, 4), octaves=3
    )
    folds = 1 + rng.uniform(0.02, 0.25) * noise(rng, shape, cells=(3, 3), octaves=3)
    return patch * folds[..., None], np.clip((0.85 - r) * min(shape) / 3 + 0.5, 0, 1).astype(
        np.float32
    )


def color_target(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return a target of many patches, greys among them."""
    rows, columns = shape
    patch = np.empty((*shape, 3), np.float32)
    patch[:] = palette.surface(str(rng.choice(("black", "black", "white"))), 2)
    across, down = ((6, 4), (4, 6), (7, 4), (3, 2))[int(rng.integers(4))]
    gap = rng.uniform(0.03, 0.12)
    for i in range(across):
        for j in range(down):
            a, b = columns / across, rows / down
            part = (
                slice(int((j + gap) * b), int((j + 1 - gap) * b)),
                slice(int((i + gap) * a), int((i + 1 - gap) * a)),
            )
            kind = "grey" if j == down - 1 or rng.random() < 0.1 else "clutter"
            patch[part] = palette.surface(kind, 40 + i * down + j)
    return patch, np.ones(shape, np.float32)


def bottle(rng: np.random.Generator, palette: Palette, shape: tuple[int, int]) -> Patch:
    """Return an opaque bottle, battery, pen or lipstick that stands upright like a tube."""
    rows, columns = shape
    y = (np.arange(rows, dtype=np.float32) + 0.5)[:, None] / rows
    x = (np.arange(columns, dtype=np.float32) + 0.5)[None, :] / columns * 2 - 1
    shoulder, neck = rng.uniform(0.05, 0.4), rng.uniform(0.25, 1.0)
    limit = neck + (1 - neck) * np.clip((y - shoulder) / 0.1, 0, 1)
    round_end = rng.random() < 0.3
    low = (
        np.sqrt(np.clip(1 - np.clip((y - 1) * rows / columns * 2 + 1, 0, 1) ** 2, 0, 1))
        if round_end
        else 1.0
    )
    s = np.clip(x / limit, -1, 1)
    turn = 0.3 + 0.7 * np.sqrt(np.clip(1 - (s - 0.2) ** 2, 0, 1))
    color = np.broadcast_to(palette.surface("plastic", int(rng.integers(20))), (*shape, 3)).copy()
    cap = rng.uniform(0, shoulder)
    color[(y[:, 0] < cap)] = palette.surface("cap", 11)
    if rng.random() < 0.6:
        a, b = np.sort(rng.uniform(shoulder, 1, 2))
        color[(y[:, 0] > a) & (y[:, 0] < b)] = palette.surface(
            str(rng.choice(("white", "clutter"))), 12
        )
    patch = color * turn[..., None]
    gloss = np.exp(-(((s - rng.uniform(-0.7, 0.7)) / rng.uniform(0.03, 0.15)) ** 2)) * rng.uniform(
        0, 0.8
    )
    patch = patch + gloss[..., None] * palette.surface("lamp", 0)
    cover = np.clip((limit * low - np.abs(x)) * columns / 2 + 0.5, 0, 1)
    return patch.astype(np.float32), cover.astype(np.float32)


Maker = Callable[[np.random.Generator, Palette, tuple[int, int]], Patch]
# maker, its weight, long side and short side as shares of the picture's width, upright only
THINGS: tuple[tuple[Maker, float, tuple[float, float], tuple[float, float], bool], ...] = (
    (paper, 3.0, (0.08, 0.35), (0.4, 1.0), False),
    (page, 1.5, (0.15, 0.6), (0.6, 0.9), False),
    (pen, 2.0, (0.15, 0.6), (0.03, 0.09), False),
    (ruler, 1.2, (0.2, 0.7), (0.08, 0.2), False),
    (disc, 1.2, (0.04, 0.15), (0.5, 1.0), False),
    (spoon, 1.5, (0.2, 0.6), (0.12, 0.25), False),
    (dull_metal, 2.5, (0.08, 0.4), (0.3, 0.9), False),
    (rag, 1.2, (0.15, 0.5), (0.4, 1.0), False),
    (color_target, 1.0, (0.15, 0.5), (0.6, 0.8), False),
    (bottle, 2.0, (0.12, 0.6), (0.12, 0.5), True),
)
GREY_THINGS = (6, 7, 8)


def draw_thing(
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    center: NDArray[np.float64],
    which: int | None = None,
    scale: float = 1.0,
) -> NDArray[np.float64]:
    """Lay one thing on the picture, label 0, and return its corners."""
    weights = np.array([w for _, w, _, _, _ in THINGS])
    k = int(rng.choice(len(THINGS), p=weights / weights.sum())) if which is None else which
    make, _, long, short, upright = THINGS[k]
    a = canvas.width * rng.uniform(*long) * scale
    b = max(5.0, a * rng.uniform(*short))
    if upright:
        shape, quad = (round(a), round(b)), turned_quad(center, b, a, rng.normal(0, 4))
    else:
        turn = rng.uniform(0, 360) if rng.random() < 0.6 else rng.normal(0, 10)
        shape, quad = (round(b), round(a)), turned_quad(center, a, b, turn)
    shape = (max(5, shape[0]), max(5, shape[1]))
    quad = quad + rng.normal(0, 0.02 * a, (4, 2))
    patch, cover = make(rng, palette, shape)
    if rng.random() < 0.8 and make is not spoon and make is not pen:
        lift = a * rng.uniform(0.003, 0.05)
        shade(canvas, quad + rng.normal(0, 1, 2) * lift, rng.uniform(0.1, 0.45), lift)
    paste(canvas, patch.astype(np.float32), cover.astype(np.float32), homography(shape, quad), 0)
    return quad


def fill_grey_sheet(canvas: Canvas, rng: np.random.Generator, palette: Palette) -> None:
    """Draw a grey sheet that runs out of the picture on most sides."""
    w, h = canvas.width, canvas.height
    x, y = rng.uniform(-0.2, 0.8) * w, rng.uniform(-0.2, 0.8) * h
    n = int(rng.integers(3, 7))
    angles = np.sort(rng.uniform(0, 2 * np.pi, n))
    reach = rng.uniform(0.3, 0.9, n) * w
    points = np.stack((x + reach * np.cos(angles), y + reach * np.sin(angles)), 1)
    texture = np.asarray(1 + 0.03 * noise(rng, (h, w), cells=(3, 4)), np.float32)
    fill(canvas, [tuple(p) for p in points], palette.surface("grey", 30), texture=texture)


def draw_capsule(
    canvas: Canvas,
    rng: np.random.Generator,
    color: FloatArray,
    start: NDArray[np.float64],
    end: NDArray[np.float64],
    width: float,
    lamp: FloatArray,
) -> None:
    """Draw a finger from `start` (off the picture) to its tip at `end`."""
    along = end - start
    length = float(np.hypot(*along))
    if length < 2:
        return
    across = np.array((-along[1], along[0])) / length * width / 2
    quad = np.array([start + across, end + across, end - across, start - across])
    zoom = min(1.0, 300 / length)
    shape = (max(8, round(width * zoom)), max(8, round(length * zoom)))
    rows, columns = shape
    y = ((np.arange(rows, dtype=np.float32) + 0.5) / rows * 2 - 1)[:, None]
    x = ((np.arange(columns, dtype=np.float32) + 0.5) * length / columns)[None, :]
    tip = np.clip((x - (length - width / 2)) / (width / 2), 0, 1)
    limit = np.sqrt(1 - tip**2) * (0.9 + 0.1 * np.cos(x / width * rng.uniform(1, 3)))
    body = 0.3 + 0.7 * np.sqrt(np.clip(1 - (y / np.maximum(limit, 0.05)) ** 2 * 0.9, 0, 1))
    grain = 1 + 0.06 * noise(rng, shape, cells=(8, 20), octaves=3)
    patch = color * (body * grain)[..., None]
    if rng.random() < 0.5:  # the nail
        nail = np.exp(
            -((((x - length + width * 0.35) / (width * 0.28)) ** 2 + ((y - 0.1) / 0.5) ** 2) ** 3)
        )
        patch = patch + (0.35 * nail)[..., None] * (lamp * 0.7 - patch * 0.3)
    cover = np.clip((limit - np.abs(y)) * rows / 2 + 0.5, 0, 1).astype(np.float32)
    shade(canvas, quad + width * 0.12, 0.25, width * 0.12)
    paste(canvas, patch.astype(np.float32), cover, homography(shape, quad), 0)
