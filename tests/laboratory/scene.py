"""Draw a whole scene in linear light with its labels and the truth about it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.backdrop import draw_backdrop
from tests.laboratory.card import STYLES as CARD_STYLES
from tests.laboratory.card import DrawnCard, draw_card
from tests.laboratory.clutter import GREY_THINGS, draw_capsule, draw_thing, fill_grey_sheet
from tests.laboratory.glass import CARD, LIQUID, OTHER, SOLID, VESSEL, Filling, draw_vessel
from tests.laboratory.layout import Layout, Placed, ScenePlan, TubePlan, arrange, frame_matrix
from tests.laboratory.paint import Canvas, blank_canvas, child, noise, polygon_mask, turned_quad
from tests.laboratory.palette import FloatArray, Liquid, Palette, random_palette
from tests.laboratory.supports import draw_before, draw_behind
from tests.laboratory.vessel import random_style

__all__ = [
    "CARD", "LIQUID", "OTHER", "SOLID", "VESSEL",
    "DrawnScene", "DrawnTube", "Palette", "ScenePlan", "TubePlan", "draw_scene", "random_palette",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnTube:
    """The truth about one tube; corners in pixels from its top left one clockwise."""

    outline: NDArray[np.float64]
    clear: NDArray[np.float64] | None  # the clear liquid in sight
    plan: TubePlan
    index: int  # its liquid in the palette


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnScene:
    """A picture of linear light, its labels and what is in it; tubes from the left."""

    image: FloatArray
    labels: NDArray[np.uint8]
    tubes: tuple[DrawnTube, ...]
    card: DrawnCard | None
    plan: ScenePlan
    second_shares: tuple[float, float] | None  # of the second light, at the card and at the tubes


def draw_scene(
    rng: np.random.Generator,
    *,
    size: tuple[int, int],
    palette: Palette,
    plan: ScenePlan | None = None,
    second: Palette | None = None,
) -> DrawnScene:
    """Draw a scene of size (width, height).

    Parameters
    ----------
    rng : numpy.random.Generator
        Decides everything the plan leaves open.
    palette : Palette
        Colours under the main light.
    plan : ScenePlan, optional
        What must be drawn; a random training scene when None.
    second : Palette, optional
        The same materials under a second light, mixed in from one side.

    Returns
    -------
    DrawnScene
        image (H, W, 3) float32, labels (H, W) uint8: 0 other, 1 grey of the card, 2 vessel
        without liquid, 3 liquid, 4 solid.
    """
    plan = plan or ScenePlan()
    seeds = rng.integers(2**62, size=7)
    canvas, tubes, card, layout = _draw_materials(seeds, size, palette, plan)
    share = None
    if second is not None:
        other, _, _, _ = _draw_materials(seeds, size, second, plan)
        field = _second_field(rng, size, tubes, card, "second_lamp" in plan.faults)
        if plan.tidy and "second_lamp" not in plan.faults:  # both lights fall nearly evenly
            field = rng.uniform(0.08, 0.65) + rng.uniform(0, 0.12) * (field - 0.5)
        canvas.image[:] += field[..., None] * (other.image - canvas.image)
        share = _shares(field, tubes, card)
    canvas.image[:] *= _light_field(rng, size, plan, tubes, card)
    if second is None and not plan.tidy and rng.random() < 0.2:
        tint = np.exp(rng.normal(0, (0.5, 0.08, 0.5))).astype(np.float32)
        field = _second_field(rng, size, tubes, card, False)
        canvas.image[:] *= 1 + field[..., None] * (tint - 1)
    np.maximum(canvas.image, 0, out=canvas.image)
    return DrawnScene(
        image=canvas.image, labels=canvas.labels, tubes=tubes, card=card, plan=plan,
        second_shares=share,
    )  # fmt: skip


def _draw_materials(
    seeds: NDArray[np.int64], size: tuple[int, int], palette: Palette, plan: ScenePlan
) -> tuple[Canvas, tuple[DrawnTube, ...], DrawnCard | None, Layout]:
    """Draw everything under one even light. Never draws on the colours for a decision."""
    canvas = blank_canvas(size)
    rng, ground_rng, thing_rng, card_rng, behind_rng, before_rng, tube_rng = (
        np.random.default_rng(seed) for seed in seeds
    )
    layout = arrange(rng, size, plan)
    boxes = [_reach(v) for v in layout.vessels]
    keep = None
    if plan.tidy and boxes:
        keep = (
            min(b[0] for b in boxes) - 0.03 * size[0],
            max(b[2] for b in boxes) + 0.03 * size[0],
        )
    draw_backdrop(canvas, ground_rng, palette, layout.backdrop, layout.horizon, plan.ground, keep)
    count = (
        plan.clutter
        if plan.clutter is not None
        else int(rng.choice(7, p=(0.2, 0.2, 0.2, 0.15, 0.1, 0.1, 0.05)))
    )
    if not plan.tidy and rng.random() < 0.1:
        _empty_glass(canvas, child(rng), palette, size)
    quad, style = _card_place(rng, size, plan, boxes)
    taken = boxes + ([_box(quad)] if quad is not None else [])
    grey = plan.card is None and quad is None and rng.random() < 0.4
    if grey and rng.random() < 0.3:
        fill_grey_sheet(canvas, child(rng), palette)
    for k in range(count + grey):
        center = _free_place(thing_rng, size, taken, plan.tidy)
        which = int(rng.choice(GREY_THINGS)) if grey and k == 0 else None
        draw_thing(canvas, child(thing_rng), palette, center, which, 0.6 if plan.tidy else 1.0)
    if not plan.tidy and rng.random() < 0.12:  # the lens is set on the tubes
        blurred = cv2.GaussianBlur(canvas.image, (0, 0), size[0] * rng.uniform(0.003, 0.02))
        canvas.image[:] = blurred
    card = None
    card_first = plan.tidy or rng.random() < 0.7
    if quad is not None and card_first:
        card = _lay_card(canvas, card_rng, palette, quad, style, plan)
    front = draw_behind(canvas, behind_rng, palette, layout, plan.tidy)
    order = rng.permutation(len(layout.vessels))
    drawn = {}
    for i in order:
        v = layout.vessels[i]
        drawn[int(i)] = draw_vessel(
            canvas,
            child(tube_rng),
            palette,
            v.style,
            v.filling,
            palette.liquid(int(i)),
            v.matrix,
            v.width,
            int(i),
        )
    draw_before(canvas, before_rng, palette, layout, front, plan.tidy)
    if quad is not None and not card_first:
        card = _lay_card(canvas, card_rng, palette, quad, style, plan)
    if not plan.tidy and rng.random() < 0.12:
        draw_thing(canvas, child(thing_rng), palette, thing_rng.random(2) * size, None, 0.6)
    tubes = [
        DrawnTube(
            outline=d.outline,
            clear=_in_sight(d.clear, layout.front),
            plan=layout.vessels[i].plan,
            index=i,
        )
        for i, d in drawn.items()
    ]
    tubes.sort(key=lambda t: float(t.outline[:, 0].mean()))
    return canvas, tuple(tubes), card, layout


def _in_sight(quad: NDArray[np.float64] | None, front: float | None) -> NDArray[np.float64] | None:
    """Cut the clear liquid where a block hides it."""
    if quad is None or front is None:
        return quad
    out = quad.copy()
    for top, low in ((0, 3), (1, 2)):
        if quad[low, 1] > front - 1:
            share = (front - 1 - quad[top, 1]) / max(quad[low, 1] - quad[top, 1], 1e-6)
            if share < 0.05:
                return None
            out[low] = quad[top] + share * (quad[low] - quad[top])
    return out


def _box(points: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.concatenate((points.min(0), points.max(0)))


def _reach(v: Placed) -> NDArray[np.float64]:
    """Return left, top, right and bottom of a vessel with its cap and a margin."""
    w = v.width * 0.65
    over = v.width * (v.style.closure_size[1] if v.style.closure != "none" else 0.1)
    ends = [(-w, -over), (w, -over), (w, v.height * 1.02), (-w, v.height * 1.02)]
    p = np.array(ends) @ v.matrix[:2, :2].T + v.matrix[:2, 2]
    w_axis = np.array(ends) @ v.matrix[2, :2] + v.matrix[2, 2]
    return _box(p / w_axis[:, None])


def _overlap(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    w = min(a[2], b[2]) - max(a[0], b[0])
    h = min(a[3], b[3]) - max(a[1], b[1])
    return float(max(w, 0) * max(h, 0))


def _card_place(
    rng: np.random.Generator,
    size: tuple[int, int],
    plan: ScenePlan,
    boxes: list[NDArray[np.float64]],
) -> tuple[NDArray[np.float64] | None, str]:
    """Choose the corners of the card, or None without."""
    style = plan.card or (
        "none"
        if rng.random() < 0.25
        else str(rng.choice(CARD_STYLES, p=(0.4, 0.22, 0.1, 0.08, 0.12, 0.08)))
    )
    if style == "none" or "no_card" in plan.faults:
        return None, "none"
    wide, high = size
    best, least = None, np.inf
    for attempt in range(80 if plan.tidy else 12):
        shrink = 0.985**attempt
        low, top = (0.2, 0.42) if plan.tidy else (0.08, 0.65)
        across = wide * float(np.exp(rng.uniform(np.log(low), np.log(top)))) * shrink
        across = min(across, high * 0.6) if plan.tidy else across
        down = across * rng.uniform(0.5, 1.05)
        if not plan.tidy and rng.random() < 0.25:
            across, down = down, across
        degrees = rng.normal(0, 8) if rng.random() < 0.7 or plan.tidy else rng.uniform(-90, 90)
        spread = 0.0 if plan.tidy else 0.1
        center = (
            rng.uniform(-spread * wide, (1 + spread) * wide),
            rng.uniform(-spread * high, (1 + spread) * high),
        )
        quad = turned_quad(center, across, down, degrees)
        quad = quad + rng.normal(0, 0.02 if plan.tidy else 0.04, (4, 2)) * across
        box = _box(quad)
        inside = _overlap(box, np.array((0, 0, wide, high))) / max(
            (box[2] - box[0]) * (box[3] - box[1]), 1
        )
        hit = sum(_overlap(box, b) for b in boxes) / (across * down)
        cost = hit + (1 - inside) * (10 if plan.tidy else 0.4)
        if cost < least:
            best, least = quad, cost
        if cost <= (0.0005 if plan.tidy else rng.exponential(0.06)):
            break
    if not plan.tidy and rng.random() < 0.06 and best is not None:
        best = best[[1, 2, 3, 0]]  # lies on its side
    return best, style


def _lay_card(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, quad: NDArray[np.float64], style: str, plan: ScenePlan
) -> DrawnCard:  # fmt: skip
    gloss = 0.0
    if "card_clipped" in plan.faults:
        gloss = float(np.exp(rng.uniform(0.0, 1.2)))
    elif not plan.tidy and rng.random() < 0.12:
        gloss = float(np.exp(rng.uniform(-3.5, 0.7)))
    card = draw_card(canvas, rng, palette, quad, style, gloss)
    if not plan.tidy and rng.random() < 0.1:
        edge = quad[int(rng.integers(4))]
        inner = edge + (quad.mean(0) - edge) * rng.uniform(0.0, 0.4)
        out = edge + (edge - quad.mean(0)) * 4
        width = canvas.width * rng.uniform(0.03, 0.1)
        draw_capsule(
            canvas, rng, palette.surface("skin", 1), out, inner, width, palette.surface("lamp", 0)
        )
    return card


def _free_place(
    rng: np.random.Generator, size: tuple[int, int], taken: list[NDArray[np.float64]], tidy: bool
) -> NDArray[np.float64]:
    """Choose where a thing lies; tidy ones keep off tubes and card."""
    margin = size[0] * (0.12 if tidy else 0.0)
    best = rng.random(2) * size
    for _ in range(25):
        best = rng.uniform(-0.05, 1.05, 2) * size
        inside = [
            b
            for b in taken
            if b[0] - margin < best[0] < b[2] + margin and b[1] - margin < best[1] < b[3] + margin
        ]
        if not inside or (not tidy and rng.random() < 0.2):
            break
    return np.asarray(best, np.float64)


def _empty_glass(
    canvas: Canvas, rng: np.random.Generator, palette: Palette, size: tuple[int, int]
) -> None:
    """An empty beaker or bottle in the background."""
    style = random_style(rng, str(rng.choice(("jar", "bottle", "flat", "shell"))))
    width = size[0] * rng.uniform(0.06, 0.3)
    height = width * style.slender
    foot = (rng.uniform(0, size[0]), rng.uniform(0.5, 1.0) * size[1])
    nothing = Liquid(transmit=_all_through, scatter=_none_back)
    filling = Filling(level=None, sediment=None)
    draw_vessel(
        canvas,
        rng,
        palette,
        style,
        filling,
        nothing,
        frame_matrix(foot, height, rng.normal(0, 2), 0.0),
        width,
    )


def _all_through(path: FloatArray) -> FloatArray:
    return np.ones((path.size, 3), np.float32)


def _none_back(path: FloatArray) -> FloatArray:
    return np.zeros((path.size, 3), np.float32)


def _grid(
    size: tuple[int, int], make: Callable[[FloatArray, FloatArray], FloatArray]
) -> FloatArray:
    """Return a smooth field over the picture from a function of x and y in [0, 1]."""
    x = np.linspace(0, 1, 48, dtype=np.float32)[None, :]
    y = np.linspace(0, 1, 36, dtype=np.float32)[:, None]
    return np.asarray(
        cv2.resize(np.asarray(make(x, y), np.float32), size, interpolation=cv2.INTER_CUBIC)
    )


def _middle(points: NDArray[np.float64], size: tuple[int, int]) -> NDArray[np.float64]:
    return np.asarray(points.mean(0) / size)


def _second_field(
    rng: np.random.Generator, size: tuple[int, int], tubes: tuple[DrawnTube, ...], card: DrawnCard | None, apart: bool
) -> FloatArray:  # fmt: skip
    """Return the share of the second light, (H, W) in [0, 1]; `apart`: card in one, tubes in other."""
    angle = rng.uniform(0, 2 * np.pi)
    way = np.array((np.cos(angle), np.sin(angle)))
    middle, sharp, most = (
        0.5 + rng.normal(0, 0.3),
        np.exp(rng.uniform(0.5, 2.2)),
        rng.uniform(0.1, 0.9),
    )
    low = 0.0
    if apart and card is not None and tubes:
        a = _middle(card.grey, size)
        b = np.mean([_middle(t.outline, size) for t in tubes], 0)
        way = (a - b) / max(float(np.hypot(*(a - b))), 1e-6)
        middle = float(way @ (a + b) / 2)
        sharp, most, low = rng.uniform(6, 16), rng.uniform(0.7, 1.0), 0.0
        if rng.random() < 0.5:
            way, middle = -way, -middle
    elif apart:
        most = 0.0
    spread = sharp
    return np.clip(
        _grid(size, lambda x, y: low + (most - low) / (1 + np.exp(-spread * (x * way[0] + y * way[1] - middle)))),
        0, 1,
    )  # fmt: skip


def _shares(
    field: FloatArray, tubes: tuple[DrawnTube, ...], card: DrawnCard | None
) -> tuple[float, float] | None:
    """Return the second light's share at the card and its mean share at the tubes."""
    if card is None or not tubes:
        return None

    def at(points: NDArray[np.float64]) -> float:
        x, y = points.mean(0)
        row = int(np.clip(y, 0, field.shape[0] - 1))
        return float(field[row, int(np.clip(x, 0, field.shape[1] - 1))])

    return at(card.grey), float(np.mean([at(t.outline) for t in tubes]))


def _light_field(
    rng: np.random.Generator,
    size: tuple[int, int],
    plan: ScenePlan,
    tubes: tuple[DrawnTube, ...],
    card: DrawnCard | None,
) -> FloatArray:
    """Return the brightness of the light over the picture, (H, W, 1)."""
    strength = (
        rng.uniform(0.0, 0.12) if plan.tidy else float(rng.choice((0.1, 0.3, 0.7))) * rng.random()
    )
    way = rng.normal(0, 1, 2) * strength
    spot = rng.random(2)
    pool = float(rng.choice((0.0, rng.uniform(-0.5, 0.8)))) * (0.3 if plan.tidy else 1.0)
    bumps = noise(rng, (36, 48), cells=(2, 3), octaves=2) * rng.uniform(
        0, 0.05 if plan.tidy else 0.15
    )

    def level(x: FloatArray, y: FloatArray) -> FloatArray:
        near = np.exp(-((x - spot[0]) ** 2 + (y - spot[1]) ** 2) / 0.15)
        return np.asarray(
            np.exp((x - 0.5) * way[0] + (y - 0.5) * way[1] + pool * near + bumps), np.float32
        )

    field = _grid(size, level)[..., None]
    shadows: list[NDArray[np.float64]] = []
    if "card_shadow" in plan.faults and card is not None:
        shadows.append(_band(rng, card.whole, size, rng.uniform(0.3, 1.0)))
    shadows += [_band(rng, t.outline, size, 1.2) for t in tubes if t.plan.fault == "tube_shadow"]
    if not plan.tidy and rng.random() < 0.22:
        center = rng.random(2) * size
        long, thick = size[0] * rng.uniform(0.5, 2), size[0] * rng.uniform(0.03, 0.4)
        shadows.append(turned_quad(center, thick, long, rng.normal(0, 35)))
    canvas = Canvas(image=field, labels=np.zeros((1, 1), np.uint8))
    for points in shadows:
        found = polygon_mask(canvas, points, size[0] * float(np.exp(rng.uniform(-6.5, -3.2))))
        if found is not None:
            part, cover = found
            field[part] *= 1 - rng.uniform(0.3, 0.75) * cover[..., None]
    return field


def _band(
    rng: np.random.Generator, points: NDArray[np.float64], size: tuple[int, int], share: float
) -> NDArray[np.float64]:
    """Return a slanting band that lies over part of something."""
    left, top, right, bottom = _box(points)
    wide = (right - left) * share
    x = left + wide / 2 if rng.random() < 0.5 else right - wide / 2
    if share > 1:
        x = (left + right) / 2
    quad = turned_quad((x, (top + bottom) / 2), wide, size[1] * 1.2, rng.normal(0, 4))
    return quad + rng.normal(0, 0.01, (4, 2)) * size[0]
