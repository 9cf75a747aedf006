"""The colours of a drawn scene: what every surface and every liquid looks like to the camera."""

import colorsys
import zlib
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True)
class Liquid:
    """What a liquid does to the light, as functions of the path through it.

    A path of 1 is the inner diameter of the vessel. Both functions take paths of shape (n,) and
    return camera-linear RGB of shape (n, 3): the share of the light from behind that comes through,
    and the light that the liquid itself sends to the camera (turbidity, in units of the picture).
    """

    transmit: Callable[[FloatArray], FloatArray]
    scatter: Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Camera-linear RGB of a surface by kind and variant, and the liquid of a tube by its place.

    Both are functions of their arguments alone, so that one scene can be drawn under two lights
    and the two pictures laid over each other.
    """

    surface: Callable[[str, int], FloatArray]
    liquid: Callable[[int], Liquid]


# reflectance from, to; saturation from, to; hues in [0, 1), empty for any
SURFACES: dict[str, tuple[float, float, float, float, tuple[float, ...]]] = {
    "wall": (0.25, 0.92, 0.0, 0.22, ()),
    "paper": (0.65, 0.95, 0.0, 0.08, ()),
    "table": (0.08, 0.85, 0.0, 0.35, ()),
    "wood": (0.10, 0.60, 0.25, 0.65, (0.06, 0.08, 0.10)),
    "dark": (0.01, 0.07, 0.0, 0.4, ()),
    "cloth": (0.02, 0.7, 0.0, 0.9, ()),
    "tile": (0.3, 0.9, 0.0, 0.3, ()),
    "card": (0.12, 0.22, 0.0, 0.05, ()),
    "white": (0.75, 0.95, 0.0, 0.04, ()),
    "black": (0.015, 0.06, 0.0, 0.2, ()),
    "border": (0.05, 0.9, 0.0, 0.8, ()),
    "ink": (0.01, 0.10, 0.0, 0.9, ()),
    "clutter": (0.03, 0.8, 0.2, 0.98, ()),
    "grey": (0.06, 0.6, 0.0, 0.06, ()),
    "grey light": (0.35, 0.6, 0.0, 0.04, ()),
    "metal": (0.25, 0.75, 0.0, 0.12, ()),
    "plastic": (0.05, 0.9, 0.0, 0.95, ()),
    "foam": (0.7, 0.95, 0.0, 0.05, ()),
    "cap": (0.01, 0.85, 0.0, 0.95, ()),
    "cork": (0.25, 0.5, 0.4, 0.65, (0.07, 0.09)),
    "skin": (0.05, 0.62, 0.3, 0.62, (0.02, 0.04, 0.06)),
    "glove": (0.05, 0.8, 0.0, 0.9, (0.58, 0.62, 0.75, 0.5)),
    "soil": (0.02, 0.35, 0.05, 0.7, (0.03, 0.07, 0.09, 0.11)),
    "suspension": (0.12, 0.5, 0.2, 0.7, (0.06, 0.08, 0.10)),
    "glass": (0.86, 1.0, 0.0, 0.08, (0.3, 0.4, 0.5, 0.12)),
    "lamp": (1.0, 1.0, 0.0, 0.02, ()),
    "sky": (0.7, 1.0, 0.0, 0.5, (0.55, 0.6, 0.3, 0.12)),
}

GROUNDS = ("wall", "paper", "table", "dark", "cloth", "tile")


def random_surface(rng: np.random.Generator, kind: str) -> FloatArray:
    """Return a random reflectance RGB of shape (3,) in the range usual for this kind of surface."""
    low, high, sat_low, sat_high, hues = SURFACES[kind]
    hue = float(rng.choice(hues)) + rng.normal(0, 0.015) if hues else rng.random()
    saturation = sat_low + (sat_high - sat_low) * rng.random() ** 1.5
    rgb = np.array(colorsys.hsv_to_rgb(hue % 1.0, saturation, 1.0), np.float32)
    level = low + (high - low) * rng.random()
    return np.asarray(rgb * level / max(float(rgb.mean()), 0.35), np.float32)


def surface_seed(seed: int, kind: str, variant: int) -> tuple[int, int, int]:
    """Return the seed of one surface, the same in every process."""
    return seed, zlib.crc32(kind.encode()), variant


def random_palette(
    rng: np.random.Generator, *, clouds: bool = False, grey_ground: bool = False
) -> Palette:
    """Return arbitrary colours under an arbitrary tint of light, to train a finder of shapes.

    With `clouds` the liquids are clouds without a dye, from nearly clear to chalk; with
    `grey_ground` walls and tables are nearly as grey as the card.
    """
    seed = int(rng.integers(2**31))
    light = np.exp(rng.normal(0, (0.16, 0.03, 0.2)) * rng.choice((0.3, 1.0, 1.8))).astype(
        np.float32
    )

    @cache
    def surface(kind: str, variant: int) -> FloatArray:
        r = np.random.default_rng(surface_seed(seed, kind, variant))
        if grey_ground and kind in GROUNDS:
            like_card = surface("card", 0) * np.exp(r.normal(0, 0.3) + r.normal(0, 0.03, 3))
            return np.asarray(like_card, np.float32)
        return np.asarray(random_surface(r, kind) * light, np.float32)

    family = _clouds(rng) if clouds else _random_family(rng)

    @cache
    def liquid(index: int) -> Liquid:
        return family(np.random.default_rng((seed, 77, index)), light)

    return Palette(surface=surface, liquid=liquid)


def _dye(hue: float, depth: float, muddiness: float) -> NDArray[np.float64]:
    """Return absorbance RGB (natural log, shape (3,)) of a dye of this hue."""
    passed = np.array(colorsys.hsv_to_rgb(hue % 1.0, 1.0, 1.0))
    passed = passed * (1 - muddiness) + muddiness * passed.mean()
    return np.asarray(depth * (1.05 - passed))


def _random_family(
    rng: np.random.Generator,
) -> Callable[[np.random.Generator, FloatArray], Liquid]:
    """Return a maker of liquids that belong together: one dye, two forms of it, or no kinship."""
    kinship = rng.choice(("one dye", "two forms", "none"), p=(0.4, 0.3, 0.3))
    hues = rng.random(2)
    scale = float(np.exp(rng.normal(0, 1.0)))
    turbid = rng.random() < 0.45
    turbidity = float(np.exp(rng.uniform(np.log(0.05), np.log(8)))) if turbid else 0.0
    tone = _turbid_tone(rng)

    def make(r: np.random.Generator, light: FloatArray) -> Liquid:
        depth = float(np.clip(scale * np.exp(r.normal(0, 0.8)), 0.0, 8.0))
        muddiness = r.uniform(0, 0.8)
        if kinship == "one dye":
            dye = _dye(hues[0], depth, 0.2)
        elif kinship == "two forms":
            share = r.random()
            dye = _dye(hues[0], depth * share, 0.2) + _dye(hues[1], depth * (1 - share), 0.2)
        else:
            dye = _dye(r.random(), depth, muddiness)
        cloud = turbidity * r.uniform(0.1, 1.5)
        rare = r.random()
        if rare < 0.24:  # next to no color
            dye, cloud = dye * r.uniform(0, 0.08), cloud * r.uniform(0, 0.1)
        elif rare > 0.94:  # next to black
            dye = _dye(r.random(), 8.0, r.uniform(0.3, 0.9))
        if r.random() < 0.05:
            cloud += np.exp(r.uniform(-1, 2))
        own = tone * np.exp(r.normal(0, 0.1, 3))
        return turbid_liquid(dye, cloud, own, light)

    return make


def _clouds(rng: np.random.Generator) -> Callable[[np.random.Generator, FloatArray], Liquid]:
    thickest = float(np.exp(rng.uniform(np.log(0.3), np.log(12))))
    tone = _turbid_tone(rng) if rng.random() < 0.3 else np.full(3, rng.uniform(0.6, 0.97))

    def make(r: np.random.Generator, light: FloatArray) -> Liquid:
        dye = _dye(r.random(), r.uniform(0, 0.05), 0.5)
        cloud = thickest * r.uniform(0.02, 1.0)
        return turbid_liquid(dye, cloud, tone * np.exp(r.normal(0, 0.03, 3)), light)

    return make


def _turbid_tone(rng: np.random.Generator) -> NDArray[np.float64]:
    """Return the reflectance RGB of what floats in a cloudy liquid: white, clay or anything."""
    kind = rng.choice(("white", "clay", "any"), p=(0.5, 0.25, 0.25))
    if kind == "white":
        return np.full(3, rng.uniform(0.4, 0.95))
    if kind == "clay":
        return np.asarray(random_surface(rng, "suspension"), np.float64)
    return np.asarray(random_surface(rng, "clutter"), np.float64)


def turbid_liquid(
    dye: NDArray[np.float64], cloud: float, tone: NDArray[np.float64], light: FloatArray
) -> Liquid:
    """Return a liquid whose dye follows Beer-Lambert in RGB and whose cloud sends light back.

    `dye` is the absorbance (natural log) of one path, `cloud` the scattering of one path and
    `tone` the reflectance of an endless depth of the cloud without dye.
    """

    def transmit(path: FloatArray) -> FloatArray:
        return np.exp(-path[:, None] * (dye + cloud)).astype(np.float32)

    def scatter(path: FloatArray) -> FloatArray:
        loss = cloud + 0.9 * dye + 1e-6
        back = cloud / loss * (1 - np.exp(-path[:, None] * loss))
        return np.asarray(light * tone * back, np.float32)

    return Liquid(transmit=transmit, scatter=scatter)
