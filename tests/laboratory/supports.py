"""What holds the vessels: blocks, rails, racks, clamps and hands."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.laboratory.clutter import draw_capsule
from tests.laboratory.layout import Layout
from tests.laboratory.paint import (
    Canvas,
    child,
    fill,
    line,
    move_points,
    noise,
    polygon_mask,
    shade,
    wood_texture,
)
from tests.laboratory.palette import FloatArray, Palette


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Front:
    """A part of the support that is laid over the vessels again once they stand."""

    points: NDArray[np.float64]
    image: FloatArray


def _material(
    canvas: Canvas, rng: np.random.Generator, palette: Palette
) -> tuple[FloatArray, FloatArray]:
    """Return color and texture of a rack."""
    shape = (canvas.height, canvas.width)
    rng = child(rng)
    kind = str(
        rng.choice(
            ("wood", "plastic", "metal", "foam", "white", "dark"),
            p=(0.35, 0.2, 0.15, 0.15, 0.1, 0.05),
        )
    )
    color = palette.surface(kind, 3)
    if kind == "wood":
        return color, wood_texture(rng, shape, rng.uniform(40, 160))
    if kind == "foam":
        beads = noise(rng, shape, cells=(shape[0] / 5, shape[1] / 5), octaves=2)
        return color, np.asarray(1 + 0.06 * beads, np.float32)
    if kind == "metal":
        brushed = noise(rng, shape, cells=(shape[0] / 2, 3), octaves=2)
        return color, np.asarray(1 + 0.12 * brushed, np.float32).clip(0.2)
    return color, np.asarray(1 + 0.02 * noise(rng, shape, cells=(4, 4)), np.float32)


def draw_behind(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, layout: Layout, tidy: bool
) -> Front | None:
    """Draw what stands behind the vessels; return what must be laid over them again."""
    if not layout.vessels:
        return None
    feet = np.array([v.matrix[:2, 2] / v.matrix[2, 2] for v in layout.vessels])
    width = layout.vessels[0].width
    height = layout.vessels[0].height
    left, right = (
        feet[:, 0].min() - width * rng.uniform(0.7, 1.8),
        feet[:, 0].max() + width * rng.uniform(0.7, 1.8),
    )
    if layout.support == "stand":
        for v in layout.vessels:
            x, y = move_points(v.matrix, [(0, v.height)])[0]
            n = rng.uniform(0.1, 0.8)
            a, b = width * 0.55, width * max(v.style.view * 0.5, 0.05)
            turn = np.linspace(0, 2 * np.pi, 17)[:-1]
            ring = np.stack((x + n * width * 0.2 + a * np.cos(turn), y + b * np.sin(turn)), 1)
            shade(
                canvas,
                [tuple(p) for p in ring],
                rng.uniform(0.2, 0.6),
                width * rng.uniform(0.03, 0.12),
            )
        if not tidy and rng.random() < 0.5:
            _cast_shadows(canvas, child(rng), layout)
        return None
    if layout.support in ("sheet", "fingers", "rail") and rng.random() < 0.7:
        far = width * rng.uniform(0.05, 0.5)
        away = np.array((rng.choice((-1, 1)), rng.uniform(-0.3, 1))) * far
        strength = rng.uniform(0.02, 0.12) if tidy else rng.uniform(0.08, 0.4)
        soft = width * rng.uniform(0.05, 0.3)
        for v in layout.vessels:
            w = v.width / 2
            body = move_points(
                v.matrix, [(-w, v.height * 0.1), (w, v.height * 0.1), (w, v.height), (-w, v.height)]
            )
            shade(canvas, body + away, strength, soft)
    if layout.support == "rail" and rng.random() < 0.35:
        color, texture = _material(canvas, rng, palette)  # a shelf and posts behind
        y = layout.base + height * rng.uniform(-0.02, 0.05)
        thick = height * rng.uniform(0.03, 0.1)
        fill(
            canvas,
            [(left, y), (right, y), (right, y + thick), (left, y + thick)],
            color,
            texture=texture,
        )
        for x in (left, right):
            post = width * rng.uniform(0.1, 0.35)
            fill(
                canvas,
                [(x, y - height), (x + post, y - height), (x + post, y + thick), (x, y + thick)],
                color * 0.8,
                texture=texture,
            )
    if layout.front is None:
        return None
    deep = width * rng.uniform(0.1, 0.5 if tidy else 1.2)
    spare = not tidy and rng.random() < 0.35  # a rack seen from above, with holes left over
    if spare:
        deep = width * rng.uniform(1.0, 4.0)
    return _block(canvas, rng, palette, layout, (left, right), width, deep, spare)


def _cast_shadows(canvas: Canvas, rng: np.random.Generator, layout: Layout) -> None:
    """Throw the shadows of standing vessels over the table; glass leaves a bright core."""
    way = np.array((rng.normal(0, 0.7), rng.choice((-1, 1), p=(0.3, 0.7)) * rng.uniform(0.05, 0.7)))
    long, spread = rng.uniform(0.3, 1.6), rng.uniform(0.7, 1.5)
    dark, soft = rng.uniform(0.15, 0.75), rng.uniform(0.03, 0.3)
    core, bright = rng.uniform(0.1, 0.6), rng.uniform(0.0, 1.2)
    for v in layout.vessels:
        foot = move_points(v.matrix, [(0, v.height)])[0]
        end = foot + way * v.height * long * rng.uniform(0.9, 1.1)
        for half, strength in ((0.5, dark), (0.5 * core, -bright)):
            near, far = np.array((half * v.width, 0)), np.array((half * v.width * spread, 0))
            quad = [foot - near, foot + near, end + far, end - far]
            shade(canvas, [tuple(corner) for corner in quad], strength, v.width * soft)


def _block(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, layout: Layout,
    sides: tuple[float, float], width: float, deep: float, spare: bool,
) -> Front:  # fmt: skip
    """Draw a block with holes: its top face behind the vessels, its front face before them."""
    assert layout.front is not None
    color, texture = _material(canvas, rng, palette)
    left, right = sides
    inset = deep * rng.uniform(-0.1, 0.5)
    low = layout.base + width * rng.uniform(0.1, 0.5)
    y = layout.front
    front = np.array([(left, y), (right, y), (right, low), (left, low)])
    top = [(left + inset, y - deep), (right - inset, y - deep), (right, y), (left, y)]
    shade(canvas, front + np.array((0, width * 0.15)), rng.uniform(0.2, 0.5), width * 0.15)
    bright = rng.uniform(0.75, 1.3)
    fill(canvas, top, color * bright, texture=texture)
    turn = np.linspace(0, 2 * np.pi, 21)[:-1]
    places = [
        (float(move_points(v.matrix, [(0, v.height * 0.7)])[0, 0]), y - deep * 0.4, deep * 0.3)
        for v in layout.vessels
    ]
    if spare:
        flat, pitch = rng.uniform(0.2, 0.6), width * rng.uniform(1.3, 1.9)
        across = np.arange(left + inset + pitch, right - inset, pitch)
        rows = np.arange(y - deep + width * flat, y, width * flat * 2.2)
        places = [(float(a), float(b), width * flat * 0.6) for b in rows for a in across]
    for x, middle, half in places:
        hole = np.stack((x + width * 0.58 * np.cos(turn), middle + half * np.sin(turn)), 1)
        fill(canvas, [tuple(p) for p in hole], color * rng.uniform(0.15, 0.5))
    fill(canvas, [tuple(p) for p in front], color, texture=texture)
    if rng.random() < 0.3:
        shade(
            canvas,
            [
                (left, low - (low - y) * 0.3),
                (right, low - (low - y) * 0.3),
                (right, low),
                (left, low),
            ],
            0.3,
            width * 0.2,
        )
    return Front(points=front, image=canvas.image.copy())


def draw_before(
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    layout: Layout,
    front: Front | None,
    tidy: bool,
) -> None:
    """Draw what stands before the vessels."""
    if front is not None:
        found = polygon_mask(canvas, [tuple(p) for p in front.points])
        if found is not None:
            part, cover = found
            here = canvas.image[part]
            here += cover[..., None] * (front.image[part] - here)
            canvas.labels[part][cover > 0.5] = 0
    if not layout.vessels:
        return
    if layout.rail is not None:
        _rail(canvas, rng, palette, layout, tidy)
    if layout.support == "clamp":
        _clamp(canvas, rng, palette, layout)
    if layout.support == "fingers":
        _hands(canvas, rng, palette, layout, tidy)


def _rail(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, layout: Layout, tidy: bool
) -> None:
    assert layout.rail is not None
    color, texture = _material(canvas, rng, palette)
    a, b = layout.rail
    first, last = layout.vessels[0], layout.vessels[-1]
    out = first.width * rng.uniform(0.6, 1.6)
    wire = rng.random() < 0.2
    if wire:
        b = a + 0.012
    left = move_points(first.matrix, [(-out, first.height * a), (-out, first.height * b)])
    right = move_points(last.matrix, [(out, last.height * a), (out, last.height * b)])
    level = rng.random() < 0.7  # a straight bar even where the vessels lean
    if level:
        mean = (left[:, 1] + right[:, 1]) / 2
        left[:, 1], right[:, 1] = mean, mean
    quad = [tuple(left[0]), tuple(right[0]), tuple(right[1]), tuple(left[1])]
    drop = first.width * 0.12
    shade(canvas, np.array(quad) + np.array((0, drop)), rng.uniform(0.1, 0.4), drop * 0.7)
    fill(canvas, quad, color, texture=texture)
    if rng.random() < 0.5:
        edge = max(1.0, (left[1, 1] - left[0, 1]) * 0.12)
        line(canvas, quad[0], quad[1], edge, color * rng.uniform(0.6, 1.5))
    if rng.random() < (0.2 if tidy else 0.45):
        step = first.height * rng.uniform(0.5, 0.9)
        fill(canvas, [(x, y + step) for x, y in quad], color * 0.9, texture=texture)


def _clamp(canvas: Canvas, rng: np.random.Generator, palette: Palette, layout: Layout) -> None:
    metal = palette.surface("metal", 2)
    for v in layout.vessels:
        y = v.height * rng.uniform(0.03, 0.2)
        tall = v.width * rng.uniform(0.25, 0.6)
        jaw = move_points(
            v.matrix,
            [
                (-v.width * 0.7, y),
                (v.width * 0.7, y),
                (v.width * 0.7, y + tall),
                (-v.width * 0.7, y + tall),
            ],
        )
        shade(canvas, jaw + v.width * 0.08, 0.3, v.width * 0.08)
        fill(canvas, jaw, metal)
        fill(canvas, jaw * (1, 1) + (0, tall * 0.3), metal * 0.6)
        end = 0.0 if rng.random() < 0.5 else float(canvas.width)
        line(canvas, jaw.mean(0), (end, jaw[0, 1] + rng.normal(0, 20)), tall * 0.4, metal * 0.85)


def _hands(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, layout: Layout, tidy: bool
) -> None:
    kind = "skin" if rng.random() < 0.75 else "glove"
    color = palette.surface(kind, 0)
    lamp = palette.surface("lamp", 0)
    for k, v in enumerate(layout.vessels):
        thick = v.width * rng.uniform(0.6, 1.6)
        thick = float(np.clip(thick, canvas.width * 0.03, canvas.width * 0.16))
        side = -1 if k < len(layout.vessels) / 2 else 1
        if len(layout.vessels) == 1:
            side = int(rng.choice((-1, 1)))
        grip = move_points(v.matrix, [(side * v.width * 0.35, v.height * rng.uniform(-0.03, 0.1))])[
            0
        ]
        rise = rng.uniform(0.25, 0.9) if tidy else rng.uniform(-0.1, 0.6)
        start = grip + np.array((side, -rise)) * canvas.width * 0.9
        for finger in range(int(rng.integers(1, 4))):
            step = np.array((0.1 * side, 0.85)) * thick * (finger - 0.5)
            tip = grip + step + np.array((-side, 0)) * thick * rng.uniform(0, 0.5)
            draw_capsule(
                canvas, child(rng), color * rng.uniform(0.85, 1.1), start + step, tip, thick, lamp
            )
