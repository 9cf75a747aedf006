"""The grey card: plain, bordered, printed, bent by perspective, with its place."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.glass import CARD
from tests.laboratory.paint import (
    Canvas,
    homography,
    move_points,
    noise,
    paste,
    rounded_cover,
    shade,
)
from tests.laboratory.palette import FloatArray, Palette

STYLES = (
    "plain",
    "white border",
    "black border",
    "colored border",
    "beside patches",
    "folder",
    "wedge",
    "between patches",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCard:
    """Place of the card: corners of its grey area and of the whole, from top left clockwise."""

    grey: NDArray[np.float64]
    whole: NDArray[np.float64]


def draw_card(
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    quad: NDArray[np.float64],
    style: str,
    gloss: float = 0.0,
) -> DrawnCard:
    """Draw a card on a quadrilateral; `gloss` is the strength of a sheen across the grey area."""
    across = float(np.hypot(*(quad[1] - quad[0])))
    down = float(np.hypot(*(quad[3] - quad[0])))
    shape = (max(6, round(down)), max(6, round(across)))
    rows, columns = shape
    patch = np.empty((rows, columns, 3), np.float32)
    top, left, bottom, right = 0, 0, rows, columns
    border = {"white border": "white", "black border": "black", "colored border": "border"}
    patch[:] = palette.surface(border.get(style, "white"), 7)
    if style in border:
        edge = rng.uniform(0.03, 0.18) * min(rows, columns)
        top, left, bottom, right = (round(edge * rng.uniform(0.8, 1.2)) for _ in range(4))
        if rng.random() < 0.25:
            bottom = round(bottom * rng.uniform(1, 2.5))
        bottom, right = rows - bottom, columns - right
    elif style == "beside patches":
        width = round(columns * rng.uniform(0.12, 0.3))
        for k, kind in enumerate(rng.permutation(["white", "black", "grey"])[: rng.integers(1, 4)]):
            patch[:, columns - width * (k + 1) : columns - width * k] = palette.surface(
                str(kind), 8
            )
            right = columns - width * (k + 1)
        right = max(right, columns // 4)
    elif style == "between patches":
        left = round(columns * rng.uniform(0.15, 0.35))
        right = columns - round(columns * rng.uniform(0.15, 0.35))
        kinds = rng.permutation(["white", "black", "grey light"])
        patch[:, :left] = palette.surface(str(kinds[0]), 8)
        patch[:, right:] = palette.surface(str(kinds[1]), 8)
    elif style == "wedge":  # a row of greys; the card's own stands between lighter and darker
        kinds = ["white", "grey light", "card", "black"][: int(rng.integers(3, 5))]
        if "black" not in kinds and rng.random() < 0.5:
            kinds[1] = "black"
        if rng.random() < 0.5:
            kinds = kinds[::-1]
        edges = np.rint(np.linspace(0, columns, len(kinds) + 1)).astype(int)
        for kind, a, b in zip(kinds, edges, edges[1:], strict=False):
            if kind == "card":
                left, right = int(a), int(b)
            else:
                patch[:, a:b] = palette.surface(kind, 8)
    elif style == "folder":
        split = round(rows * rng.uniform(0.4, 0.6))
        patch[split:] = palette.surface(str(rng.choice(("white", "black"))), 8)
        bottom = split
    grey = np.zeros(shape, np.uint8)
    grey[top:bottom, left:right] = CARD
    fine = noise(rng, shape, cells=(rows / 2, columns / 2), octaves=1)
    patch[top:bottom, left:right] = palette.surface("card", 0)
    patch *= (1 + rng.uniform(0.0, 0.03) * fine + 0.01 * noise(rng, shape, cells=(2, 2)))[..., None]
    if gloss:
        _sheen(rng, palette, patch, gloss)
    _print(rng, palette, patch, grey, (top, left, bottom, right))
    radius = min(rows, columns) * float(rng.choice((0.005, rng.uniform(0, 0.1))))
    cover = rounded_cover(shape, radius)
    grey[cover < 0.5] = 255
    if rng.random() < 0.8:
        lift = across * rng.uniform(0.003, 0.03)
        away = rng.normal(0, 1, 2) * lift
        shade(canvas, quad + away, rng.uniform(0.1, 0.5), lift * rng.uniform(0.3, 1.5))
    matrix = homography(shape, quad)
    paste(canvas, patch, cover, matrix, grey)
    corners = [(left, top), (right, top), (right, bottom), (left, bottom)]
    return DrawnCard(grey=move_points(matrix, corners), whole=np.asarray(quad, np.float64))


def _sheen(rng: np.random.Generator, palette: Palette, patch: FloatArray, strength: float) -> None:
    """Lay a mirror image of the lamp across the card."""
    rows, columns = patch.shape[:2]
    angle = rng.uniform(0, np.pi)
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float32)
    along = (x / columns - 0.5) * np.cos(angle) + (y / rows - 0.5) * np.sin(angle)
    band = np.clip(
        (rng.uniform(0.2, 0.5) - np.abs(along - rng.normal(0, 0.1))) / rng.uniform(0.03, 0.3) + 0.5,
        0,
        1,
    )
    patch += (strength * band)[..., None] * palette.surface("lamp", 0)


def _print(
    rng: np.random.Generator,
    palette: Palette,
    patch: FloatArray,
    labels: NDArray[np.uint8],
    area: tuple[int, int, int, int],
) -> None:
    """Print words or a ring on the card, mostly near an edge."""
    if rng.random() > 0.3:
        return
    top, left, bottom, right = area
    columns = labels.shape[1]
    cover = np.zeros(labels.shape, np.uint8)
    size = max(0.25, columns / 500 * rng.uniform(0.5, 1.5))
    thick = max(1, round(size * 1.5))
    place = (
        left + int((right - left) * rng.uniform(0.04, 0.4)),
        int(rng.choice((top + 14 * size, bottom - 6 * size, (top + bottom) / 2))),
    )
    if rng.random() < 0.75:
        text = str(
            rng.choice(
                ("GREY CARD", "18 %", "neutral", "R 0.18", "N5", "1 2 3 4 5 6", "white balance")
            )
        )
        cv2.putText(cover, text, place, cv2.FONT_HERSHEY_SIMPLEX, size, 255, thick, cv2.LINE_AA)
    else:
        cv2.circle(cover, place, int(columns * rng.uniform(0.02, 0.08)), 255, thick, cv2.LINE_AA)
    ink = palette.surface(str(rng.choice(("black", "white", "ink"))), 9)
    alpha = (cover.astype(np.float32) / 255)[..., None]
    patch += alpha * (ink - patch)
