"""Paints single liquids, plainly, as the network of `colorcore/liquid_state.py` sees them.

Rectangles, slopes and stripes in arbitrary colors. Learned from along with the drawn scenes, they
keep that network from taking how the laboratory draws glass for a sign of a sound liquid.
"""

import numpy as np
from numpy.typing import NDArray

from colorcore._cv import cv2
from colorcore.liquid_state import ACROSS, ALONG, BESIDE, DARKEST, MIDDLE, REACH, STATES
from tests.laboratory.paint import noise
from tests.laboratory.palette import FloatArray
from tests.laboratory.troubles import cloud_share, unmixed_field

HALF = 0.53  # of the glass, in widths of the liquid inside the walls
CARD = 0.18  # reflectance of the card that the light is given by
SHARES = (0.6, 0.15, 0.15, 0.1)  # of the states
SHAPE = (ALONG, ACROSS)


def soft(x: FloatArray, width: float) -> FloatArray:
    """Return a step from 0 to 1 round x = 0."""
    return np.asarray(1 / (1 + np.exp(-np.clip(x / width, -30, 30))), np.float32)


def line(x: FloatArray, width: float) -> FloatArray:
    """Return a bell of height 1 at x = 0."""
    return np.asarray(np.exp(-((x / width) ** 2)), np.float32)


class PaintedLiquid:
    """One liquid in the making: linear RGB over a perfect white, shape (ALONG, ACROSS, 3)."""

    def __init__(self, rng: np.random.Generator, state: str) -> None:
        self.rng, self.state = rng, state
        self.across = np.linspace(-BESIDE, BESIDE, ACROSS, dtype=np.float32)[None, :]
        self.down = np.linspace(*REACH, ALONG, dtype=np.float32)[:, None]
        lean = rng.normal(0, 0.01) * self.down
        self.t = (self.across - rng.normal(0, 0.02) - lean) * np.exp(rng.normal(0, 0.05))
        self.surface = float(rng.normal(0, 0.02))
        self.inside = soft(HALF - np.abs(self.t), 0.02)
        self.on_black = rng.random() < 0.13
        level = rng.uniform(0.01, 0.12) if self.on_black else rng.uniform(0.25, 1.0)
        self.ground = level * np.exp(rng.normal(0, (0.12, 0.05, 0.15)))
        self.rgb = np.ones((*SHAPE, 3), np.float32) * self.ground.astype(np.float32)

    def lay(self, cover: FloatArray, color: FloatArray | NDArray[np.float64]) -> None:
        """Lay a color over the picture, (ALONG, ACROSS) of it or a part of that shape."""
        self.rgb += np.broadcast_to(cover, SHAPE)[..., None] * (color - self.rgb)

    def dim(self, change: FloatArray) -> None:
        """Change the light by a share of it."""
        self.rgb *= 1 + np.broadcast_to(change, SHAPE)[..., None]

    def set_up(self) -> None:
        """Paint what is behind and beside the glass, and the glass."""
        rng = self.rng
        slope = rng.normal(0, 0.06) * self.across + rng.normal(0, 0.06) * self.down
        grain = rng.uniform(0, 0.06) * (rng.random() < 0.4) * noise(rng, SHAPE, cells=(5, 5))
        self.dim(np.exp(slope + grain) - 1)
        rim = soft(self.down - rng.uniform(-1.0, -0.05), 0.01)
        if rng.random() < 0.7:
            self.dim(-0.45 * rng.random() ** 2 * self.inside * rim)  # some glass is grey
            wall = line(np.abs(self.t) - HALF, rng.uniform(0.015, 0.06)) * rim
            self.dim(rng.uniform(-0.6, 0.3) * wall)
        if rng.random() < 0.15:  # a cap or a label
            cap = soft(1.1 * HALF - np.abs(self.t), 0.02) * rng.uniform(0.3, 1)
            self.lay(cap * soft(rng.uniform(-0.25, -0.06) - self.down, 0.01), self.any_color())
        for side in (-1, 1):
            if rng.random() < 0.3:  # another tube
                away = np.abs(self.across - side * rng.uniform(1.1, 1.6))
                cover = soft(rng.uniform(0.3, 0.5) - away, 0.02) * rng.uniform(0.3, 1)
                cover = cover * soft(self.down - rng.uniform(-0.4, 0.6), 0.01)
                self.lay(cover, self.ground * np.exp(-rng.uniform(0, 1.5) * rng.random(3)))

    def any_color(self) -> NDArray[np.float64]:
        """Return an arbitrary color."""
        return self.rng.uniform(0.03, 0.9, 3)

    def pour(self) -> None:
        """Paint the liquid."""
        rng = self.rng
        wet = soft(0.97 * HALF - np.abs(self.t), 0.02) * soft(self.down - self.surface, 0.008)
        wet = wet * soft(rng.uniform(1.0, 1.1) - self.down, 0.01)
        dye = rng.random(3)
        dye *= (rng.uniform(0, 0.25) if rng.random() < 0.2 else rng.uniform(0.2, 2.2)) / dye.max()
        if self.state == "unmixed":
            dye *= max(1.0, 0.35 / dye.max())
        round_ = rng.random() * (rng.random() < 0.6)
        path = 1 - round_ + round_ * np.sqrt(np.clip(1 - (self.t / HALF) ** 2, 0, 1))
        if self.state == "unmixed":
            path = path * unmixed_field(rng, rng.uniform(0.6, 2.2), self._depth(), SHAPE)
        through = np.exp(-path[..., None] * dye)
        liquid = (self.rgb if rng.random() < 0.7 else self.ground) * through
        if self.on_black and rng.random() < 0.8:  # a test that is read by the light it turns back
            back = rng.uniform(0.02, 0.6) * np.exp(rng.normal(0, 0.05, 3))
            liquid = liquid + back * path[..., None] ** rng.uniform(0, 1)
        if rng.random() < 0.1:
            liquid = np.ones_like(liquid) * self.any_color()
        if self.state == "unsettled":
            tone = np.array((1, rng.uniform(0.7, 1), rng.uniform(0.45, 1)))
            mud = rng.uniform(0.15, 0.7) * tone * (0.4 + 0.6 * through)
            density = float(np.exp(rng.uniform(-0.3, 1.6)))
            cloud = cloud_share(rng, density, self._depth(), path, SHAPE)
            liquid = liquid + cloud[..., None] * (mud - liquid)
        if rng.random() < 0.6:
            edge = np.exp(-np.clip(HALF - np.abs(self.t), 0, None) / rng.uniform(0.02, 0.12))
            liquid = liquid * (1 - rng.uniform(-0.2, 0.5) * edge)[..., None]
        self.lay(wet, liquid)
        if rng.random() < 0.7:
            meniscus = line(self.down - self.surface, rng.uniform(0.006, 0.03))
            self.dim(rng.uniform(-0.5, 0.3) * meniscus * self.inside)

    def _depth(self) -> FloatArray:
        return np.clip((self.down - self.surface) / (1 - self.surface), 0, 1)

    def finish(self) -> None:
        """Paint sediment, a block before the foot, highlights, graduation lines and a shadow."""
        rng = self.rng
        if rng.random() < 0.45:
            rough = 0.02 * noise(rng, SHAPE, cells=(2, 6))
            top = self.down - rng.uniform(0.82, 1.0) - rough
            soil = rng.uniform(0.03, 0.4) * np.array((1, rng.uniform(0.6, 1), rng.uniform(0.3, 1)))
            grain = np.exp(rng.uniform(0, 0.3) * noise(rng, SHAPE, cells=(20, 12)))[..., None]
            cover = soft(0.97 * HALF - np.abs(self.t), 0.02)
            self.lay(cover * soft(top, float(rng.choice((0.005, 0.03)))), soil * grain)
        if rng.random() < 0.35:
            wood = np.exp(0.1 * noise(rng, SHAPE, cells=(3, 10)))[..., None] * self.any_color()
            self.lay(soft(self.down - rng.uniform(0.75, 1.15), 0.006), wood)
        for _ in range(int(rng.choice(4, p=(0.45, 0.3, 0.15, 0.1)))):
            streak = line(self.t - rng.uniform(-0.45, 0.45), rng.uniform(0.015, 0.06))
            streak = streak * soft(self.down - rng.uniform(-0.25, 0.5), 0.03)
            streak = streak * soft(rng.uniform(0.5, 1.1) - self.down, 0.03)
            self.rgb += rng.uniform(0.05, 1) * streak[..., None]
        if rng.random() < 0.25:
            left, step = rng.uniform(-0.4, 0.2), rng.uniform(0.04, 0.1)
            lines = (self.down % step < 0.2 * step) & (self.t > left) & (self.t < left + 0.2)
            self.lay(lines * rng.uniform(0.3, 0.9), np.full(3, float(rng.choice((0.03, 0.9)))))
        if self.state == "tube_shadow":
            half, middle = rng.uniform(0.6, 1.2), rng.normal(0, 0.15)
            away = np.abs(self.across - middle - rng.normal(0, 0.07) * (self.down - 0.5))
            shadow = soft(half - away, float(np.exp(rng.uniform(-4, -1.5))))
            self.dim(-rng.uniform(0.3, 0.75) * shadow)

    def planes(self) -> NDArray[np.float32]:
        """Return what the network would see of it, shape (3, ALONG, ACROSS)."""
        rng, blur = self.rng, self.rng.uniform(0, 0.9)
        seen = cv2.GaussianBlur(self.rgb, (0, 0), blur) if blur > 0.3 else self.rgb
        seen = np.minimum(seen / CARD * np.exp(rng.normal(0, 0.1)), rng.uniform(4, 9))
        seen = seen * np.exp(rng.standard_normal(seen.shape) * np.exp(rng.uniform(-6, -3.3)))
        logs = np.log(np.maximum(seen, DARKEST)) + MIDDLE
        return np.ascontiguousarray(logs.transpose(2, 0, 1), np.float32)


def painted_liquid(rng: np.random.Generator) -> tuple[NDArray[np.float32], int]:
    """Return what the network sees of an arbitrary liquid, and the place of its state in STATES."""
    state = int(rng.choice(len(STATES), p=SHARES))
    made = PaintedLiquid(rng, STATES[state])
    made.set_up()
    made.pour()
    made.finish()
    return made.planes(), state
