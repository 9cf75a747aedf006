"""How light falls on a scene: gradients, pools, shadows, a second lamp from one side."""

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.card import DrawnCard
from tests.laboratory.layout import DrawnTube, ScenePlan
from tests.laboratory.paint import Canvas, bounds, noise, polygon_mask, turned_quad
from tests.laboratory.palette import FloatArray


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


def second_field(
    rng: np.random.Generator,
    size: tuple[int, int],
    tubes: tuple[DrawnTube, ...],
    card: DrawnCard | None,
    apart: bool,
) -> FloatArray:
    """Return the share of the second light, (H, W) in [0, 1]; `apart` sets card against tubes."""
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

    def share(x: FloatArray, y: FloatArray) -> FloatArray:
        along = x * way[0] + y * way[1] - middle
        return np.asarray(low + (most - low) / (1 + np.exp(-sharp * along)), np.float32)

    return np.asarray(np.clip(_grid(size, share), 0, 1), np.float32)


def shares(
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


def light_field(
    rng: np.random.Generator,
    size: tuple[int, int],
    plan: ScenePlan,
    tubes: tuple[DrawnTube, ...],
    card: DrawnCard | None,
) -> FloatArray:
    """Return the brightness of the light over the picture, (H, W, 1)."""
    uneven = float(rng.choice((0.25, 1.0), p=(0.7, 0.3))) if plan.tidy else 1.0
    strength = uneven * 0.1 if plan.tidy else float(rng.choice((0.1, 0.3, 0.7)))
    strength *= rng.random()
    way = rng.normal(0, 1, 2) * strength
    spot = rng.random(2)
    pool = float(rng.choice((0.0, rng.uniform(-0.5, 0.8)))) * (0.25 * uneven if plan.tidy else 1.0)
    bumps = noise(rng, (36, 48), cells=(2, 3), octaves=2) * rng.uniform(
        0, 0.03 * uneven if plan.tidy else 0.15
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
    shadows += [
        _band(rng, t.outline, size, rng.uniform(1.1, 2.2))
        for t in tubes
        if t.plan.fault == "tube_shadow"
    ]
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
    left, top, right, bottom = bounds(points)
    wide = (right - left) * share
    x = left + wide / 2 if rng.random() < 0.5 else right - wide / 2
    if share > 1:
        x = (left + right) / 2
    quad = turned_quad((x, (top + bottom) / 2), wide, size[1] * 1.2, rng.normal(0, 4))
    return quad + rng.normal(0, 0.01, (4, 2)) * size[0]
