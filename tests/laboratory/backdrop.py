"""What stands behind everything: walls, tables, cloth, wood, tiles, print, blurred rooms."""

import numpy as np

from colorcore._cv import cv2
from tests.laboratory.paint import Canvas, fill, line, noise, shade, turned_quad, wood_texture
from tests.laboratory.palette import FloatArray, Palette

STYLES = ("room", "sheet", "plain", "bokeh", "bench", "black", "print")


def draw_backdrop(
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    style: str,
    horizon: float | None,
    ground: str | None = None,
    keep: tuple[float, float] | None = None,
) -> None:
    """Fill the whole picture.

    `horizon` is the row where a table begins, None without table; `ground` the material behind the
    tubes, chosen at random when None; panels on the wall leave the columns `keep` free.
    """
    whole = [(0, 0), (canvas.width, 0), (canvas.width, canvas.height), (0, canvas.height)]
    if ground is not None:
        cover(canvas, rng, palette, whole, ground, 0)
    elif style == "bokeh":
        _blurred_room(canvas, rng, palette)
    elif style == "black":
        canvas.image[:] = palette.surface("dark", 0) * rng.uniform(0.05, 1.0)
    elif style == "sheet":
        kind = str(rng.choice(("paper", "paper", "wood", "cloth", "table", "tile", "wall", "dark")))
        cover(canvas, rng, palette, whole, kind, 0)
    elif style == "print":
        cover(canvas, rng, palette, whole, "paper", 0)
        _printed_lines(canvas, rng, palette)
    else:
        kind = "dark" if style == "bench" and rng.random() < 0.4 else "wall"
        cover(canvas, rng, palette, whole, kind, 0)
    if style in ("room", "bench", "plain") and rng.random() < 0.35:
        _panels(canvas, rng, palette, horizon, keep)
    if horizon is not None:
        slope = rng.normal(0, 0.015) * canvas.width
        edge = [(0, horizon - slope), (canvas.width, horizon + slope)]
        kind = str(
            rng.choice(
                ("table", "wood", "cloth", "dark", "tile", "paper"),
                p=(0.4, 0.2, 0.1, 0.15, 0.05, 0.1),
            )
        )
        if style == "bench":
            kind = str(rng.choice(("dark", "table")))
        cover(canvas, rng, palette, [*edge, whole[2], whole[3]], kind, 1)
        if rng.random() < 0.6:  # the gap behind the table is dark
            thick = canvas.width * rng.uniform(0.002, 0.02)
            gap = [edge[0], edge[1], (canvas.width, edge[1][1] - thick), (0, edge[0][1] - thick)]
            shade(canvas, gap, rng.uniform(0.05, 0.4), thick * rng.uniform(0.3, 1.5))
    elif style == "sheet" and rng.random() < 0.5:
        _strip(canvas, rng, palette)


def cover(
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    points: list[tuple[float, float]],
    kind: str,
    variant: int,
) -> None:
    """Fill a polygon with a material and the texture that belongs to it."""
    shape = (canvas.height, canvas.width)
    color = palette.surface(kind, variant)
    if kind == "wood":
        texture = wood_texture(rng, shape, rng.uniform(20, 140))
        if rng.random() < 0.2:
            texture = np.ascontiguousarray(cv2.resize(texture.T, (canvas.width, canvas.height)))
    elif kind == "cloth":
        texture = _cloth(rng, shape)
    elif kind == "tile":
        texture = _tiles(rng, shape)
    else:
        texture = 1 + rng.uniform(0, 0.06) * noise(rng, shape, cells=(3, 4), octaves=4)
        if rng.random() < 0.6:
            fine = shape[0] / rng.uniform(1, 6)
            texture = texture + rng.uniform(0, 0.07) * noise(
                rng, shape, cells=(fine, fine * 1.3), octaves=1
            )
    fill(canvas, points, color, texture=np.clip(texture, 0.05, 3).astype(np.float32))


def _cloth(rng: np.random.Generator, shape: tuple[int, int]) -> FloatArray:
    folds = noise(rng, shape, cells=(rng.uniform(1, 4), rng.uniform(1, 8)), octaves=3)
    weave = noise(rng, shape, cells=(shape[0] / 2, shape[1] / 2), octaves=1)
    return 1 + rng.uniform(0.03, 0.4) * folds + rng.uniform(0, 0.15) * weave


def _tiles(rng: np.random.Generator, shape: tuple[int, int]) -> FloatArray:
    pitch = shape[0] * rng.uniform(0.06, 0.35)
    gap = max(1.0, pitch * rng.uniform(0.02, 0.08))
    y = (np.arange(shape[0], dtype=np.float32) + rng.uniform(0, pitch))[:, None] % pitch
    x = (np.arange(shape[1], dtype=np.float32) + rng.uniform(0, pitch))[None, :] % pitch
    joint = (np.minimum(x, y + 0 * x) < gap).astype(np.float32)
    return 1 + rng.uniform(-0.6, 0.3) * joint + 0.03 * noise(rng, shape, cells=(6, 8))


def _printed_lines(canvas: Canvas, rng: np.random.Generator, palette: Palette) -> None:
    ink = palette.surface("ink", 0)
    rows = int(rng.integers(8, 40))
    step = canvas.height / rows
    for k in range(rows):
        x = canvas.width * rng.uniform(0.0, 0.1)
        while x < canvas.width * 0.97 and rng.random() > 0.02:
            w = step * rng.uniform(0.5, 3)
            fill(
                canvas,
                turned_quad((x + w / 2, (k + 0.5) * step), w, step * 0.35, 0),
                ink,
                label=None,
                alpha=0.8,
            )
            x += w + step * 0.4


def _panels(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, horizon: float | None,
    keep: tuple[float, float] | None,
) -> None:  # fmt: skip
    """Curtains, doors, shelves, windows and bright screens on the wall."""
    bottom = horizon if horizon is not None else canvas.height
    for _ in range(int(rng.integers(1, 4))):
        w = canvas.width * rng.uniform(0.04, 0.5)
        x = float(rng.choice((rng.uniform(0, canvas.width), 0, canvas.width - w)))
        if keep is not None and x < keep[1] and x + w > keep[0]:
            continue
        y = 0.0 if rng.random() < 0.7 else bottom * rng.random() * 0.6
        h = bottom - y if rng.random() < 0.7 else (bottom - y) * rng.random()
        quad = [
            (x, y),
            (x + w, y),
            (x + w + rng.normal(0, 3), y + h),
            (x + rng.normal(0, 3), y + h),
        ]
        kind = str(rng.choice(("cloth", "wood", "wall", "sky", "white", "dark", "clutter", "tile")))
        if kind == "sky":
            bright = palette.surface("sky", 1) * float(np.exp(rng.uniform(-0.3, 1.2)))
            fill(canvas, quad, bright, soft=canvas.width * rng.choice((0.001, 0.02)))
        else:
            cover(canvas, rng, palette, quad, kind, int(rng.integers(2, 6)))


def _strip(canvas: Canvas, rng: np.random.Generator, palette: Palette) -> None:
    """Let the sheet end: another ground shows along one side of the picture."""
    w, h = canvas.width, canvas.height
    a, b = (rng.uniform(0.02, 0.25) * np.array((1, 1 + rng.normal(0, 0.15)))).clip(0.005)
    quad = {
        0: [(0, h * (1 - a)), (w, h * (1 - b)), (w, h), (0, h)],
        1: [(0, 0), (w, 0), (w, h * b), (0, h * a)],
        2: [(0, 0), (w * a, 0), (w * b, h), (0, h)],
        3: [(w * (1 - a), 0), (w, 0), (w, h), (w * (1 - b), h)],
    }[int(rng.integers(4))]
    kind = str(rng.choice(("wood", "wall", "cloth", "table", "dark", "clutter")))
    cover(canvas, rng, palette, quad, kind, 2)


def _blurred_room(canvas: Canvas, rng: np.random.Generator, palette: Palette) -> None:
    """Draw a room out of focus: many shapes drawn small and blurred."""
    small = Canvas(image=np.empty((96, 128, 3), np.float32), labels=np.zeros((96, 128), np.uint8))
    small.image[:] = palette.surface("wall", 3) * rng.uniform(0.1, 1)
    for k in range(int(rng.integers(6, 40))):
        kind = str(rng.choice(("clutter", "wall", "wood", "dark", "grey", "white", "cloth", "sky")))
        center = rng.random(2) * (128, 96)
        size = np.exp(rng.uniform(0.7, 3.8, 2))
        bright = 2.0 if kind == "sky" else 1.0
        quad = turned_quad(center, size[0], size[1], rng.normal(0, 12))
        fill(small, quad, palette.surface(kind, k % 9) * bright)
        if rng.random() < 0.2:
            line(
                small,
                rng.random(2) * (128, 96),
                rng.random(2) * (128, 96),
                2,
                palette.surface("dark", k),
            )
    blurred = cv2.GaussianBlur(small.image, (0, 0), float(np.exp(rng.uniform(-0.3, 2.0))))
    canvas.image[:] = cv2.resize(
        blurred, (canvas.width, canvas.height), interpolation=cv2.INTER_CUBIC
    ).clip(0)
