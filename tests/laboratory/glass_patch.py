"""The patch of one vessel while it is drawn: glass, liquid and what has settled in it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from tests.laboratory.paint import KEEP, Canvas, noise
from tests.laboratory.palette import FloatArray, Liquid, Palette
from tests.laboratory.troubles import cloud_share, unmixed_field
from tests.laboratory.vessel import VesselStyle, bottom_row, half_width, path_length

OTHER, CARD, VESSEL, LIQUID, SOLID = range(5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """What is in a vessel; heights as shares of the vessel's height, from the bottom."""

    level: float | None  # surface of the liquid, None without liquid
    sediment: float | None  # top of the solid, None without
    unmixed: float = 0.0
    unsettled: float = 0.0
    slope: float = 0.0  # of the liquid's surface against the vessel, rise over run
    wavy: float = 0.0
    layers: bool = False
    upper: float | None = None  # share of the liquid's height that another liquid floats on top
    inside: str = "nothing"  # or rod, coil, sheet: a thing that stands in the liquid
    vapor: float = 0.0  # strength of the color of the air above, as a share of the liquid's
    foam: float = 0.0  # height of the foam on the liquid, in widths
    slope_of_color: float = 0.0  # natural log of what the dye grows by from top to bottom
    matter: str = "soil"  # surface of the solid
    beads: float = 0.0  # size of its grains, in widths; 0 for earth


class GlassPatch:
    """The vessel's own patch while it is drawn; plain arrays, upright, `zoom` times the picture."""

    def __init__(
        self,
        canvas: Canvas,
        rng: np.random.Generator,
        palette: Palette,
        style: VesselStyle,
        filling: Filling,
        liquid: Liquid,
        matrix: NDArray[np.float64],
        width: float,
        zoom: float,
        index: int,
    ) -> None:
        self.canvas, self.rng, self.palette, self.style = canvas, rng, palette, style
        self.filling, self.liquid, self.width, self.zoom = filling, liquid, width, zoom
        self.index = index
        self.other: Liquid | None = None
        self.half = width / 2
        self.height = width * style.slender
        self.side = int(width * 0.22) + 3
        over = style.closure_size[1] if style.closure != "none" else 0.0
        self.top = int(width * (0.12 + over + style.view)) + 3
        rows = int(self.top + self.height) + 5
        columns = int(width) + 2 * self.side
        self.shape = (rows, columns)
        self.x = (np.arange(columns, dtype=np.float32) + 0.5 - columns / 2)[None, :]
        self.v = (np.arange(rows, dtype=np.float32) + 0.5 - self.top)[:, None]
        to_frame = np.array(
            [(1 / zoom, 0, -columns / 2 / zoom), (0, 1 / zoom, -self.top / zoom), (0, 0, 1)]
        )
        self.matrix = np.asarray(matrix, np.float64) @ to_frame
        self._outline()
        self.labels = np.full(self.shape, KEEP, np.uint8)
        self.labels[self.cover > 0.5] = VESSEL
        self.lamp = palette.surface("lamp", 0)

    def _outline(self) -> None:
        style, v = self.style, self.v
        self.r = half_width(style, v, self.height, self.width)
        edge = self.half * self.r
        self.t = np.clip(self.x / np.maximum(edge, 1), -1, 1)
        bow = style.view * self.half * np.sqrt(np.clip(1 - self.t**2, 0, 1))
        self.bottom = bottom_row(style, self.t, self.height, self.width)
        inside = np.clip(edge - np.abs(self.x) + 0.5, 0, 1)
        inside = inside * np.clip(self.bottom - v + 0.5, 0, 1)
        self.cover = (inside * np.clip(v + bow + 0.5, 0, 1)).astype(np.float32)
        wall = max(style.wall * self.half * 2, 0.8)
        self.inner = np.clip(edge - wall - np.abs(self.x) + 0.5, 0, 1) * np.clip(
            self.bottom - max(style.base * self.width, wall) - v + 0.5, 0, 1
        )
        self.wall = wall
        if self.filling.level is not None:
            surface = self.height * (1 - self.filling.level)
            waves = 0.0
            if self.filling.wavy:
                waves = (
                    self.filling.wavy
                    * self.width
                    * noise(self.rng, (1, self.shape[1]), cells=(1, 3))
                )
            self.surface = surface + self.filling.slope * self.x + waves
            front = self.surface + bow
            self.wet = self.inner * np.clip(v - front + 0.5, 0, 1)
            back = self.surface - bow
            self.skin = self.inner * np.clip(v - back + 0.5, 0, 1) * np.clip(front - v + 0.5, 0, 1)
            self.front = front
        else:
            self.wet = np.zeros(self.shape, np.float32)
            self.skin = self.wet

    def refract(self) -> None:
        """Look at the background through the glass."""
        style, t = self.style, self.t
        dry_x = self.x * (1 - 0.25 * np.abs(t) ** 6)
        bend = t * (1 + 0.4 * t**2) * self.half * self.r
        wet_x = style.lens * bend
        x = np.where(self.wet > 0.5, wet_x, dry_x).astype(np.float32) + self.shape[1] / 2
        y = np.broadcast_to(self.v + self.top, self.shape).astype(np.float32)
        m = self.matrix
        w = m[2, 0] * x + m[2, 1] * y + m[2, 2]
        map_x = ((m[0, 0] * x + m[0, 1] * y + m[0, 2]) / w - 0.5).astype(np.float32)
        map_y = ((m[1, 0] * x + m[1, 1] * y + m[1, 2]) / w - 0.5).astype(np.float32)
        self.rgb = cv2.remap(
            self.canvas.image, map_x, map_y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT_101
        )
        tint = self.palette.surface("glass", 0) / np.maximum(self.lamp, 1e-3)
        away = 1 - np.abs(t)
        rim = np.exp(-away / max(style.edge_width, 1.2 / self.half))
        dark = style.wall_dark * np.exp(-away * self.half * self.r / max(self.wall * 0.6, 1.0))
        factor = (1 - 0.5 * dark - 0.12 * max(style.wall_dark, 0) * rim)[..., None]
        self.rgb *= factor * np.minimum(tint, 1.05) ** 1.5
        if style.wall_dark < 0.1:
            self.rgb += (0.25 * self.rng.random() * np.abs(dark))[..., None] * self.lamp
        if style.haze:
            self.rgb += style.haze * self.lamp * (0.7 + 0.3 * np.abs(t))[..., None]

    def immerse(self) -> None:
        """Stand a rod, a coil of wire or a strip in the vessel, before the liquid is seen."""
        if self.filling.inside == "nothing":
            return
        rng = self.rng
        mask = np.zeros(self.shape, np.uint8)
        mid, half = self.shape[1] / 2, self.half - self.wall
        low = self.top + self.height * rng.uniform(0.8, 0.97)
        thick = max(1, round(self.width * rng.uniform(0.02, 0.12)))
        x0, x1 = mid + half * rng.uniform(-0.7, 0.7), mid + half * rng.uniform(-0.7, 0.7)
        if self.filling.inside == "sheet":
            wide = half * rng.uniform(0.2, 0.5)
            start = self.top - self.height * 0.05
            corners = [(x0 - wide, start), (x0 + wide, start), (x1 + wide, low), (x1 - wide, low)]
            cv2.fillPoly(mask, [np.array(corners, np.int32)], 255, cv2.LINE_AA)
        else:
            y = np.linspace(self.top * 0.5, low, 240)
            share = (y - y[0]) / (y[-1] - y[0])
            x = x0 + (x1 - x0) * share
            if self.filling.inside == "coil":
                turns = rng.uniform(4, 14)
                wound = np.clip((share - rng.uniform(0.2, 0.6)) * 8, 0, 1)
                x = x + wound * half * 0.6 * np.sin(2 * np.pi * turns * share)
            points = np.stack((x, y), 1).astype(np.int32)
            cv2.polylines(mask, [points], False, 255, thick, cv2.LINE_AA)
        kind = str(rng.choice(("metal", "dark", "glass", "clutter", "cork")))
        alpha = (mask.astype(np.float32) / 255 * self.cover * rng.uniform(0.5, 1))[..., None]
        grain = 1 + 0.2 * noise(rng, self.shape, cells=(30, 6), octaves=2)
        self.rgb += alpha * (self.palette.surface(kind, 6) * grain[..., None] - self.rgb)

    def pour(self) -> None:
        """Let the light go through the liquid."""
        if self.filling.level is None:
            return
        style, rng = self.style, self.rng
        path = np.broadcast_to(
            path_length(style, self.t, self.v, self.height, self.width), self.shape
        )
        if self.filling.unmixed:
            strength = self.filling.unmixed
            path = path * unmixed_field(rng, strength, self._depth(), self.shape)
        if self.filling.slope_of_color:
            path = path * np.exp(self.filling.slope_of_color * self._depth())
        steps = np.linspace(0, 3, 193, dtype=np.float32)
        where = np.rint(np.clip(path, 0, 3) * 64).astype(np.intp)
        through = self.liquid.transmit(steps)[where]
        back = self.liquid.scatter(steps)[where]
        if self.filling.upper is not None and self.other is not None:
            split = self.surface + (self.height - self.surface) * self.filling.upper
            bow = self.front - self.surface
            floats = np.clip((split + bow - self.v) / (0.02 * self.width) + 0.5, 0, 1)[..., None]
            through = through + floats * (self.other.transmit(steps)[where] - through)
            back = back + floats * (self.other.scatter(steps)[where] - back)
            seam = np.exp(-(((self.v - split - bow) / (0.03 * self.width)) ** 2))[..., None]
            through = through * (1 - 0.5 * rng.random() * seam)
        glow = style.glow * self.liquid.transmit(steps * 0.6)[where] * self.lamp * 0.35
        wet = self.rgb * (1 - style.glow) * through + back + glow * (1 - 0.4 * through)
        if self.filling.unsettled:
            depth = np.clip((self.v - self.surface) / self.height, 0, 1)
            cloud = cloud_share(rng, self.filling.unsettled, depth, path, self.shape)
            mud = self.palette.surface("suspension", self.index % 3) * (0.4 + 0.6 * through)
            wet += cloud[..., None] * (mud - wet)
        away = 1 - np.abs(self.t)
        edge = 1 - style.edge_dark * np.exp(-away / max(style.edge_width, 1.0 / self.half))
        wet *= np.clip(edge, 0.03, 2)[..., None]
        self.rgb += self.wet[..., None] * (wet - self.rgb)
        self.labels[(self.wet > 0.5) & (self.cover > 0.5)] = LIQUID
        self._meniscus()
        if self.filling.vapor:
            self._breathe()
        if self.filling.foam:
            self._froth()

    def _depth(self) -> FloatArray:
        """Share of the way from the surface to the bottom, 0 to 1."""
        whole = max(self.height * (self.filling.level or 1), 1)
        return np.asarray(np.clip((self.v - self.surface) / whole, 0, 1), np.float32)

    def _breathe(self) -> None:
        """Let the liquid color the air above it."""
        steps = np.linspace(0, 1, 65, dtype=np.float32)
        fade = np.clip(1 + (self.v - self.surface) / self.height * self.rng.uniform(0, 1.2), 0, 1)
        path = np.sqrt(np.clip(1 - self.t**2, 0, 1)) * self.filling.vapor * fade
        seen = self.liquid.transmit(steps)[np.rint(np.clip(path, 0, 1) * 64).astype(np.intp)]
        above = self.inner * (1 - self.wet)
        self.rgb *= 1 + above[..., None] * (seen - 1)

    def _froth(self) -> None:
        """Lay foam on the liquid."""
        rng = self.rng
        tall = self.filling.foam * self.width
        rough = noise(rng, (1, self.shape[1]), cells=(1, 5), octaves=3) * 0.15 * tall
        on = np.clip(self.front - self.v + 0.5, 0, 1) * self.inner
        on = on * np.clip(self.v - self.front + tall + rough, 0, 1)
        bubbles = noise(rng, self.shape, cells=(self.shape[0] / 4, self.shape[1] / 4), octaves=2)
        light = 0.55 + 0.45 * np.sqrt(np.clip(1 - self.t**2, 0, 1))
        white = self.palette.surface("foam", 2) * (light * (1 + 0.12 * bubbles))[..., None]
        self.rgb += (on * rng.uniform(0.5, 1))[..., None] * (white - self.rgb)
        self.labels[(on > 0.5) & (self.cover > 0.5)] = VESSEL

    def _meniscus(self) -> None:
        rng = self.rng
        if self.style.view > 0.02:
            seen = self.liquid.transmit(np.array([0.35], np.float32))[0]
            back = self.liquid.scatter(np.array([1.0], np.float32))[0]
            skin = self.rgb * seen * rng.uniform(0.6, 1.1) + back + self.lamp * rng.uniform(0, 0.15)
            self.rgb += self.skin[..., None] * (skin - self.rgb)
        thick = max(self.width * rng.uniform(0.015, 0.07), 1.0)
        climb = rng.uniform(0, 0.06) * self.width * np.abs(self.t) ** 8
        below = (self.v - self.front + climb) / thick
        band = np.exp(-((below - 0.3) ** 2)) * self.inner
        self.rgb *= 1 - (rng.uniform(0.05, 0.6) * band)[..., None]
        if rng.random() < 0.6:
            bright = np.exp(-((below + rng.choice((-2.2, 1.6))) ** 2)) * self.inner
            self.rgb += (rng.uniform(0, 0.25) * bright)[..., None] * self.lamp
        if self.style.view > 0.02 and rng.random() < 0.5:
            back_edge = (
                np.exp(-(((self.v - 2 * self.surface + self.front) / thick) ** 2)) * self.inner
            )
            self.rgb *= 1 - (rng.uniform(0.1, 0.5) * back_edge)[..., None]

    def settle(self) -> None:
        """Lay soil or sediment on the bottom."""
        self.soil_top = None
        if self.filling.sediment is None:
            return
        rng = self.rng
        top = self.height * (1 - self.filling.sediment)
        rough = noise(rng, (1, self.shape[1]), cells=(1, 4), octaves=4, fall=0.6)
        roughness = float(np.exp(rng.uniform(np.log(0.008), np.log(0.07)))) * self.width
        edge = top + roughness * rough + self.x * rng.normal(0, 0.1)
        soft = max(0.5, self.width * float(rng.choice((0.005, rng.uniform(0, 0.1)))))
        thick = np.clip((self.v - edge) / soft + 0.5, 0, 1) * np.clip(self.inner * 1.0, 0, 1)
        grain = noise(rng, self.shape, cells=(self.shape[0] / rng.uniform(1.5, 5),) * 2, octaves=2)
        lumps = noise(rng, self.shape, cells=(self.shape[0] / 14, self.shape[1] / 14), octaves=2)
        variant = int(rng.integers(3))
        matter = self.filling.matter
        base = np.broadcast_to(self.palette.surface(matter, variant), (*self.shape, 3))
        if self.filling.layers:
            split = edge + (self.height - top) * rng.uniform(0.2, 0.7)
            mix = np.clip((self.v - split) / (0.08 * self.width) + 0.5, 0, 1)[..., None]
            base = base + mix * (self.palette.surface(matter, variant + 3) - base)
        shape = np.clip(
            1 + rng.uniform(0.05, 0.35) * grain + rng.uniform(0, 0.3) * lumps, 0.15, 2.5
        )
        if self.filling.beads:
            shape = shape * self._beads(self.filling.beads * self.width)
        light = 0.45 + 0.55 * np.sqrt(np.clip(1 - self.t**2, 0, 1))
        solid = base * (shape * light)[..., None]
        if self.filling.level is not None:
            veil = self.liquid.transmit(np.array([0.25], np.float32))[0]
            solid = solid * veil
            if rng.random() < 0.5:
                reach = self.width * rng.uniform(0.05, 0.5)
                dust = np.exp(np.minimum(self.v - edge, 0) / reach) * self.wet * rng.uniform(0, 0.6)
                self.rgb += dust[..., None] * (self.palette.surface(matter, variant) - self.rgb)
        self.rgb += thick[..., None] * (solid - self.rgb)
        self.labels[(thick > 0.5) & (self.cover > 0.5)] = SOLID
        self.soil_top = float(np.min(edge[:, np.abs(self.x[0]) < self.half * 0.85]))

    def _beads(self, size: float) -> FloatArray:
        """Brightness of beads that lie beside each other, each lit from above and dark around."""
        size = max(size, 2.0)
        rows, columns = (int(n / size) + 3 for n in self.shape)
        y, x = np.indices(self.shape, np.float32) / np.float32(size)
        jitter = self.rng.uniform(0, 1, (2, rows + 2, columns + 2)).astype(np.float32)
        row, column = y.astype(np.intp), x.astype(np.intp)
        nearest = np.full(self.shape, 9.0, np.float32)
        above = np.zeros(self.shape, np.float32)
        for down in (0, 1, 2):
            for right in (0, 1, 2):
                dy = y + 1 - row - down - jitter[0, row + down, column + right]
                dx = x + 1 - column - right - jitter[1, row + down, column + right]
                away = dx * dx + dy * dy
                closer = away < nearest
                nearest = np.where(closer, away, nearest)
                above = np.where(closer, -dy, above)
        return np.asarray(np.clip(1.15 - 1.3 * nearest + 0.5 * above, 0.15, 1.6), np.float32)
