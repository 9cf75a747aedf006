"""Draw one vessel: what shines on it, what is written on it, what closes it, where it lies."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.glass_patch import (
    CARD,
    LIQUID,
    OTHER,
    SOLID,
    VESSEL,
    Filling,
    GlassPatch,
)
from tests.laboratory.paint import KEEP, Canvas, move_points, noise, paste
from tests.laboratory.palette import FloatArray, Liquid, Palette
from tests.laboratory.vessel import FLASK, VesselStyle, half_width

__all__ = ["CARD", "LIQUID", "OTHER", "SOLID", "VESSEL", "DrawnVessel", "Filling", "draw_vessel"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnVessel:
    """Where a vessel came to lie; corners from its top left one clockwise, in pixels."""

    outline: NDArray[np.float64]
    clear: NDArray[np.float64] | None


def _smooth(x: FloatArray) -> FloatArray:
    """Return a soft step from 0 to 1 over x in [0, 1]."""
    x = np.clip(x, 0, 1)
    return x * x * (3 - 2 * x)


def draw_vessel(
    canvas: Canvas,
    rng: np.random.Generator,
    palette: Palette,
    style: VesselStyle,
    filling: Filling,
    liquid: Liquid,
    matrix: NDArray[np.float64],
    width: float,
    index: int = 0,
    other: Liquid | None = None,
) -> DrawnVessel:
    """Draw a vessel of `width` pixels and give its place.

    `matrix` maps the vessel's own frame (x across from its axis, y down from its top, pixels) to
    the picture; `other` is what floats on the liquid where the filling says so.
    """
    height = width * style.slender
    zoom = float(np.clip(44 / width, 1.0, 2.2))  # small vessels are drawn larger and shrunk
    if canvas.width < 800:
        zoom = min(zoom, max(110 / width, 0.5))  # and large ones in small pictures the other way
    pen = _Pen(canvas, rng, palette, style, filling, liquid, matrix, width * zoom, zoom, index)
    pen.other = other
    pen.refract()
    pen.immerse()
    pen.pour()
    pen.settle()
    pen.shine()
    pen.mark()
    pen.close()
    pen.lay_down()
    return DrawnVessel(
        outline=move_points(
            matrix,
            [(-width / 2, 0), (width / 2, 0), (width / 2, height), (-width / 2, height)],
        ),
        clear=pen.clear_quad(),
    )


class _Pen(GlassPatch):
    """Finishes the patch and lays it on the picture."""

    def shine(self) -> None:
        """Add highlights, the rim, bubbles and drops."""
        style, rng = self.style, self.rng
        share = np.clip(self.v / self.height, -0.2, 1.2)
        for place, half, softness, a, b, strength in style.streaks:
            place = place + rng.normal(0, 0.02)
            half = max(half, 0.7 / self.half)
            away = (np.abs(self.t - place) - half) / (half * softness + 0.4 / self.half)
            across = 1 - _smooth(away + 0.5)
            ends = _smooth((share - a) / 0.03) * _smooth((b - share) / 0.03)
            self.rgb += (strength * across * ends * self.cover)[..., None] * self.lamp
        if style.window is not None:
            place, wide, start, tall, strength = style.window
            cell = (self.t - place) / wide
            pane = (np.abs(cell - 0.5) < 0.5) & (np.abs(cell - 0.5) > 0.06)
            row = (share - start) / tall
            pane = pane & (np.abs(row - 0.5) < 0.5) & (np.abs(row - 0.5) > 0.05)
            glare = cv2.GaussianBlur(pane.astype(np.float32), (0, 0), 0.8)
            self.rgb += (strength * glare * self.cover)[..., None] * self.palette.surface("sky", 0)
        if style.kind == "round" and rng.random() < 0.7:
            y = self.height - self.width * rng.uniform(0.1, 0.25)
            x = self.width * rng.uniform(-0.2, 0.2)
            spot = np.exp(-(((self.x - x) ** 2 + (self.v - y) ** 2) / (self.width * 0.06) ** 2))
            self.rgb += (rng.uniform(0, 0.5) * spot)[..., None] * self.lamp
        self._rim()
        self._base()
        if rng.random() < style.droplets:
            self._dots(
                rng.integers(4, 30),
                self.cover * (1 - self.wet) * (self.labels == VESSEL),
                0.035,
                wet=True,
            )
        if self.filling.level is not None and rng.random() < 0.35:
            self._dots(rng.integers(1, 14), self.wet, 0.02, wet=rng.random() < 0.5)

    def _rim(self) -> None:
        rng, style = self.rng, self.style
        if style.closure != "none":
            return
        bow = style.view * self.half * np.sqrt(np.clip(1 - self.t**2, 0, 1))
        thick = max(0.8, self.width * 0.018)
        edge = np.exp(-(((self.v - bow) / thick) ** 2)) + np.exp(-(((self.v + bow) / thick) ** 2))
        edge = np.minimum(edge, 1) * self.cover * (self.v < self.width)
        if rng.random() < 0.5:
            self.rgb *= 1 - (rng.uniform(0.15, 0.7) * edge)[..., None]
        else:
            self.rgb += (rng.uniform(0.05, 0.6) * edge)[..., None] * self.lamp

    def _base(self) -> None:
        """Thick glass at the bottom: bright and dark bows."""
        rng = self.rng
        up = (self.bottom - self.v) / self.width
        thick = max(self.style.base, 1.5 / self.width)
        if rng.random() < 0.7:
            bow = (
                np.exp(-(((up - thick * rng.uniform(0.3, 1.0)) / (0.35 * thick)) ** 2)) * self.cover
            )
            bow = bow * (up < 1.6 * thick)
            change = rng.uniform(-0.7, 0.5)
            if change < 0:
                self.rgb *= 1 + (change * bow)[..., None]
            else:
                self.rgb += (change * bow * 0.5)[..., None] * self.lamp

    def _dots(self, count: int, where: FloatArray, size: float, *, wet: bool) -> None:
        rows, columns = np.nonzero(where > 0.9)
        if rows.size == 0:
            return
        for pick in self.rng.integers(rows.size, size=int(count)):
            r = max(0.7, self.width * size * self.rng.uniform(0.3, 1.2))
            y, x = int(rows[pick]), int(columns[pick])
            n = int(r * 1.5) + 2
            bottom, right = min(y + n + 1, self.shape[0]), min(x + n + 1, self.shape[1])
            part = (slice(max(0, y - n), bottom), slice(max(0, x - n), right))
            yy, xx = np.mgrid[part]
            away = np.hypot(yy - y, xx - x)
            if wet:  # a bubble or drop: dark ring, bright point
                ring = np.clip(1 - np.abs(away - r * 0.8) / max(r * 0.4, 0.6), 0, 1)
                self.rgb[part] *= 1 - 0.45 * ring[..., None]
                point = np.exp(
                    -((yy - y + r * 0.3) ** 2 + (xx - x + r * 0.3) ** 2) / (0.3 * r) ** 2
                )
                self.rgb[part] += (0.5 * point)[..., None] * self.lamp
            else:
                speck = np.clip(r * 0.7 - away + 0.5, 0, 1)[..., None]
                self.rgb[part] += speck * (self.palette.surface("soil", 1) - self.rgb[part])

    def mark(self) -> None:
        """Put graduation lines, a sticker and pen marks on the glass."""
        style, rng = self.style, self.rng
        ink = self.palette.surface(
            "white" if style.marks_variant == 0 else "ink", style.marks_variant
        )
        cover = np.zeros(self.shape, np.uint8)
        mid = self.shape[1] / 2
        if style.marks != "none":
            x0 = mid + style.marks_place * self.half * 0.8
            step = max(2.5, self.width * rng.uniform(0.1, 0.3))
            first, last = self.top + self.height * 0.25, self.top + self.height * 0.93
            thick = max(1, round(self.width / 60))
            for k, y in enumerate(np.arange(last, first, -step)):
                long = 0.34 if k % 5 == 0 else 0.18
                b = (int(min(mid + self.half * 0.9, x0 + self.half * long)), int(y))
                cv2.line(cover, (int(x0), int(y)), b, 255, thick, cv2.LINE_AA)
                if style.marks == "digits" and k % 5 == 0 and self.width > 22:
                    place = (b[0] + 1, int(y + self.width * 0.05))
                    font, size = cv2.FONT_HERSHEY_SIMPLEX, self.width / 170
                    cv2.putText(cover, str(k // 5), place, font, size, 255, thick, cv2.LINE_AA)
        alpha = (cover.astype(np.float32) / 255 * rng.uniform(0.4, 0.95) * self.cover)[..., None]
        self.rgb += alpha * (ink - self.rgb)
        if rng.random() < style.sticker:
            self._sticker()
        if rng.random() < 0.1:
            self._scribble(self.shape[0] * rng.uniform(0.15, 0.5), np.ones(self.shape, np.float32))

    def _sticker(self) -> None:
        rng = self.rng
        head = 1 - (self.filling.level or 0.3)
        tall = self.width * rng.uniform(0.3, 1.4)
        y = (
            self.height * head - tall * rng.uniform(0.9, 1.6)
            if rng.random() < 0.75
            else self.height * rng.uniform(0.1, 0.7)
        )
        y = max(y, self.height * 0.03)
        wide = float(rng.choice((1.02, rng.uniform(0.5, 0.95))))
        bow = self.style.view * self.half * np.sqrt(np.clip(1 - self.t**2, 0, 1))
        on = (np.abs(self.t) <= wide) & (self.v - bow > y) & (self.v - bow < y + tall)
        alpha = on.astype(np.float32) * self.cover
        shape = 0.55 + 0.45 * np.sqrt(np.clip(1 - self.t**2, 0, 1))
        kind = str(rng.choice(("paper", "paper", "clutter", "foam")))
        label = self.palette.surface(kind, 5) * shape[..., None]
        self.rgb += (alpha * rng.uniform(0.8, 1.0))[..., None] * (label - self.rgb)
        self.labels[(alpha > 0.5) & (self.labels != KEEP)] = VESSEL
        if rng.random() < 0.8:
            self._scribble(self.top + y + tall * 0.6, alpha)

    def _scribble(self, y: float, where: FloatArray) -> None:
        rng = self.rng
        cover = np.zeros(self.shape, np.uint8)
        mid = self.shape[1] / 2
        thick = max(1, round(self.width / 25))
        if rng.random() < 0.5:
            text = str(rng.choice(("A", "B3", "7", "12", "X", "pH", "K2", "N", "P", "4a", "S1")))
            cv2.putText(cover, text, (int(mid - self.half * 0.5), int(y)), cv2.FONT_HERSHEY_SIMPLEX,
                        self.width / 60, 255, thick, cv2.LINE_AA)  # fmt: skip
        else:
            n = int(rng.integers(3, 7))
            points = np.stack(
                (
                    mid + self.half * rng.uniform(-0.6, 0.6, n),
                    y + self.half * rng.uniform(-0.5, 0.3, n),
                ),
                1,
            )
            cv2.polylines(cover, [points.astype(np.int32)], False, 255, thick, cv2.LINE_AA)
        alpha = (cover.astype(np.float32) / 255 * where * self.cover)[..., None]
        self.rgb += alpha * (self.palette.surface("ink", int(rng.integers(3))) - self.rgb)

    def close(self) -> None:
        """Put the cap, stopper, cork or sleeve on."""
        style, rng = self.style, self.rng
        if style.closure == "none":
            return
        wide, tall = style.closure_size
        neck = float(
            half_width(style, np.array([[1.0]], np.float32), self.height, self.width)[0, 0]
        )
        half = self.half * neck * wide
        down = {"screw": 0.85, "stopper": 0.3, "cork": 0.4, "sleeve": 0.8}[style.closure]
        start, end = -tall * self.width * (1 - down), tall * self.width * down
        taper = {"cork": 0.12, "stopper": 0.1}.get(style.closure, 0.02)
        row = np.clip((self.v - start) / max(end - start, 1), 0, 1)
        limit = half * (1 + taper * (1 - row) - taper / 2)
        if style.closure in ("stopper", "cork"):
            inner = self.half * neck - self.wall
            limit = np.where(self.v > 0, np.minimum(limit, inner), np.maximum(limit, inner))
        s = np.clip(self.x / np.maximum(limit, 1), -1, 1)
        bow = style.view * limit * np.sqrt(1 - s**2)
        alpha = np.clip(limit - np.abs(self.x) + 0.5, 0, 1)
        alpha = (
            alpha
            * np.clip(self.v - start + bow + 0.5, 0, 1)
            * np.clip(end + bow - self.v + 0.5, 0, 1)
        )
        kind = {"cork": "cork", "stopper": "cap", "screw": "cap", "sleeve": "plastic"}[
            style.closure
        ]
        color = self.palette.surface(kind, style.closure_variant)
        turn = 0.35 + 0.65 * np.sqrt(np.clip(1 - (s - 0.25 * np.sign(style.lens)) ** 2, 0, 1))
        body = np.broadcast_to(turn[..., None], (*self.shape, 3)).copy()
        if style.closure in ("screw", "sleeve") and style.closure_variant != 1:
            ribs = 1 + 0.22 * np.sin(np.arcsin(s) * rng.integers(14, 44))
            body *= ribs[..., None]
        if kind == "cork":
            body *= np.clip(1 + 0.2 * noise(rng, self.shape, cells=(30, 20)), 0.3, 2)[..., None]
        paint = color * body
        lid = np.clip(start + bow - self.v + 0.5, 0, 1)[..., None]
        paint = paint + lid * (color * rng.uniform(0.8, 1.3) - paint)
        if rng.random() < 0.5:
            gloss = np.exp(-(((s - rng.uniform(-0.7, 0.7)) / 0.08) ** 2)) * rng.uniform(0, 0.3)
            paint = paint + gloss[..., None] * self.lamp
        opaque = rng.uniform(0.55, 0.9) if style.closure == "sleeve" and rng.random() < 0.5 else 1.0
        self.rgb += (alpha * opaque)[..., None] * (paint - self.rgb)
        self.cover = np.maximum(self.cover, alpha.astype(np.float32))
        self.labels[alpha > 0.5] = OTHER

    def lay_down(self) -> None:
        """Lay the finished patch on the picture."""
        paste(self.canvas, self.rgb, self.cover, self.matrix, self.labels)

    def clear_quad(self) -> NDArray[np.float64] | None:
        """Return the corners of the clear liquid in the picture, or None."""
        if self.filling.level is None:
            return None
        top = float(np.max(self.front[:, np.abs(self.x[0]) < self.half * 0.9])) + 0.04 * self.width
        floor = self.height - max(self.style.base * self.width, self.wall)
        if self.style.kind in ("round", "conical"):
            floor = min(
                floor, self.height - self.width * (0.3 if self.style.kind == "round" else 1.2)
            )
        bottom = floor if self.soil_top is None else min(floor, self.soil_top - 0.02 * self.width)
        half = high = self.half - self.wall
        if self.style.kind == FLASK:
            rows = np.array([[top], [bottom]], np.float32)
            share = half_width(self.style, rows, self.height, self.width)[:, 0]
            high, half = (float(s) * self.half - self.wall for s in share)
        else:
            top = max(top, float(self.v[self.r > 0.95].min()))
        if bottom - top < 0.1 * self.width:
            return None
        low = half * (0.9 if bottom == floor and self.style.kind == "round" else 1.0)
        x, y = self.shape[1] / 2, self.top
        corners = [
            (x - high, y + top),
            (x + high, y + top),
            (x + low, y + bottom),
            (x - low, y + bottom),
        ]
        return move_points(self.matrix, corners)
