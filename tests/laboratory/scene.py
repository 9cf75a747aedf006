"""Draw a whole scene in linear light with its labels and the truth about it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.backdrop import draw_backdrop
from tests.laboratory.card import STYLES as CARD_STYLES
from tests.laboratory.card import DrawnCard, draw_card
from tests.laboratory.clutter import GREY_THINGS, draw_capsule, draw_thing, fill_grey_sheet
from tests.laboratory.glass import CARD, LIQUID, OTHER, SOLID, VESSEL, Filling, draw_vessel
from tests.laboratory.layout import (
    DrawnTube,
    Layout,
    Placed,
    ScenePlan,
    TubePlan,
    arrange,
    frame_matrix,
    random_plan,
)
from tests.laboratory.lighting import light_field, second_field, shares
from tests.laboratory.paint import Canvas, blank_canvas, bounds, child, turned_quad
from tests.laboratory.palette import FloatArray, Liquid, Palette, random_palette
from tests.laboratory.supports import draw_before, draw_behind
from tests.laboratory.vessel import random_style

__all__ = [
    "CARD", "LIQUID", "OTHER", "SOLID", "VESSEL",
    "DrawnScene", "DrawnTube", "Palette", "ScenePlan", "TubePlan", "draw_scene", "random_palette",
]  # fmt: skip


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
    plan = plan or random_plan(rng)
    seeds = rng.integers(2**62, size=7)
    canvas, tubes, card, _ = _draw_materials(seeds, size, palette, plan)
    share = None
    if second is not None:
        other, _, _, _ = _draw_materials(seeds, size, second, plan)
        field = second_field(rng, size, tubes, card, "second_lamp" in plan.faults)
        if plan.tidy and "second_lamp" not in plan.faults:  # both lights fall nearly evenly
            field = rng.uniform(0.08, 0.65) + rng.uniform(0, 0.12) * (field - 0.5)
        canvas.image[:] += field[..., None] * (other.image - canvas.image)
        share = shares(field, tubes, card)
    canvas.image[:] *= light_field(rng, size, plan, tubes, card)
    if second is None and not plan.tidy and rng.random() < 0.2:
        tint = np.exp(rng.normal(0, (0.5, 0.08, 0.5))).astype(np.float32)
        field = second_field(rng, size, tubes, card, False)
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
    taken = boxes + ([bounds(quad)] if quad is not None else [])
    grey = plan.card is None and rng.random() < (0.6 if quad is None else 0.2)
    if grey and rng.random() < (0.3 if quad is None else 0.1):
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
    if not plan.tidy:  # what stands further away is drawn first
        order = sorted(order, key=lambda i: round(float(_foot(layout.vessels[i])), -1))
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
            palette.liquid(int(i) + 20) if v.filling.upper is not None else None,
        )
    draw_before(canvas, before_rng, palette, layout, front, plan.tidy)
    if quad is not None and not card_first:
        card = _lay_card(canvas, card_rng, palette, quad, style, plan)
    if not plan.tidy and rng.random() < 0.12:
        draw_thing(canvas, child(thing_rng), palette, thing_rng.random(2) * size, None, 0.6)
    if layout.horizon is not None and not plan.tidy and rng.random() < 0.35:
        _mirror(canvas, rng, layout)
    if not plan.tidy and rng.random() < 0.1:
        _caption(canvas, rng, palette)
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


def _mirror(canvas: Canvas, rng: np.random.Generator, layout: Layout) -> None:
    """Let a glossy table show what stands on it upside down, and the lamps as pale spots."""
    foot = int(layout.base)
    rows = min(canvas.height - foot, foot) - 1
    if rows > 4 and layout.support == "stand":
        image = canvas.image[foot - rows : foot][::-1]
        soft = cv2.GaussianBlur(image, (0, 0), max(0.5, canvas.width * rng.uniform(0.001, 0.01)))
        fade = np.linspace(rng.uniform(0.1, 0.5), 0, rows, dtype=np.float32)[:, None, None]
        plain = (canvas.labels[foot : foot + rows] == OTHER)[..., None]
        part = canvas.image[foot : foot + rows]
        part += fade * plain * (soft - part)
    bright = float(canvas.image[::8, ::8].max()) * rng.uniform(0.05, 0.6)
    top = int(layout.horizon or 0)
    for _ in range(int(rng.integers(0, 4))):
        x, y = rng.uniform(0, canvas.width), rng.uniform(min(top, canvas.height - 1), canvas.height)
        a, b = canvas.width * rng.uniform(0.03, 0.2, 2)
        xx = (np.arange(canvas.width, dtype=np.float32)[None, :] - np.float32(x)) / np.float32(a)
        yy = (np.arange(canvas.height, dtype=np.float32)[:, None] - np.float32(y)) / np.float32(b)
        spot = np.exp(-xx * xx) * np.exp(-yy * yy) * bright
        ground = (canvas.labels == OTHER) & (np.arange(canvas.height)[:, None] > top)
        canvas.image[:] += (spot * ground)[..., None]


def _caption(canvas: Canvas, rng: np.random.Generator, palette: Palette) -> None:
    """Words laid over the picture, as in a lecture."""
    mask = np.zeros(canvas.labels.shape, np.uint8)
    size = canvas.width / 512 * rng.uniform(0.4, 1.4)
    y = int(canvas.height * rng.uniform(0.05, 0.97))
    for k in range(int(rng.integers(1, 7))):
        text = str(
            rng.choice(
                (
                    "2 mg/L",
                    "A",
                    "blank",
                    "10",
                    "0.5 M",
                    "before",
                    "after",
                    "pH 6",
                    "8",
                    "ug/mL",
                    "Cu",
                    "1:10",
                )
            )
        )
        x = int(canvas.width * (0.05 + 0.15 * k))
        cv2.putText(mask, text, (x, y), cv2.FONT_HERSHEY_SIMPLEX, size, 255, 1, cv2.LINE_AA)
    alpha = (mask.astype(np.float32) / 255)[..., None]
    ink = palette.surface(str(rng.choice(("white", "black", "clutter"))), 14)
    canvas.image[:] += alpha * (ink - canvas.image)


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


def _foot(v: Placed) -> float:
    """Return the row of a vessel's foot."""
    return float(v.matrix[1, 2] / v.matrix[2, 2])


def _reach(v: Placed) -> NDArray[np.float64]:
    """Return left, top, right and bottom of a vessel with its cap and a margin."""
    w = v.width * 0.65
    over = v.width * (v.style.closure_size[1] if v.style.closure != "none" else 0.1)
    ends = [(-w, -over), (w, -over), (w, v.height * 1.02), (-w, v.height * 1.02)]
    p = np.array(ends) @ v.matrix[:2, :2].T + v.matrix[:2, 2]
    w_axis = np.array(ends) @ v.matrix[2, :2] + v.matrix[2, 2]
    return bounds(p / w_axis[:, None])


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
        else str(rng.choice(CARD_STYLES, p=(0.3, 0.2, 0.08, 0.08, 0.15, 0.06, 0.09, 0.04)))
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
        box = bounds(quad)
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
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    quad: NDArray[np.float64],
    style: str,
    plan: ScenePlan,
) -> DrawnCard:
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
    """Draw an empty beaker or bottle in the background."""
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
