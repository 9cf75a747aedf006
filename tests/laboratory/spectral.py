"""Palettes made from spectra: materials, liquids, a camera and a lamp."""

from collections.abc import Callable
from functools import cache

import numpy as np

from tests.laboratory.chemistry import Solution
from tests.laboratory.light import (
    WAVELENGTHS,
    Camera,
    FloatArray,
    Lamp,
    bell,
    camera_rgb,
    step,
)
from tests.laboratory.palette import SURFACES, Liquid, Palette, surface_seed
from tests.laboratory.palette import FloatArray as Float32Array

Materials = Callable[[str, int], FloatArray]
_NEUTRAL = {"wall": 0.07, "paper": 0.03, "white": 0.03, "grey": 0.08, "table": 0.15, "foam": 0.03}


def random_reflectance(rng: np.random.Generator, kind: str) -> FloatArray:
    """Return a random reflectance (81,) in the range usual for this kind of surface."""
    low, high, _, sat_high, hues = SURFACES[kind]
    level = low + (high - low) * rng.random()
    if kind == "lamp":
        return np.ones_like(WAVELENGTHS)
    if kind in _NEUTRAL:
        knots = rng.normal(0, _NEUTRAL[kind], 5)
        shape = np.exp(np.interp(WAVELENGTHS, np.linspace(380, 780, 5), np.cumsum(knots) / 1.5))
        if kind in ("paper", "white", "foam"):
            shape = shape * (1 - 0.3 * (1 - step(405, 8)))
        return np.asarray(np.clip(level * shape / shape[20:60].mean(), 0.005, 0.97))
    if hues and kind in ("wood", "skin", "soil", "cork", "suspension"):
        rise = step(rng.uniform(540, 620), rng.uniform(35, 70))
        shape = 0.25 + rise * rng.uniform(0.6, 1.6)
        if kind == "skin":
            shape = shape * (1 - rng.uniform(0.05, 0.25) * (bell(542, 9) + bell(577, 9)))
        return np.asarray(np.clip(level * shape / shape[20:60].mean(), 0.005, 0.95))
    if sat_high < 0.5 and kind != "sky":
        tilt = 1 + rng.normal(0, 0.08) * (WAVELENGTHS - 550) / 150
        return np.asarray(np.clip(level * tilt, 0.004, 1.0))
    return _vivid(rng, level)


def _vivid(rng: np.random.Generator, level: float) -> FloatArray:
    """Return the reflectance of a paint of any hue: a step, a bell or what is left of one."""
    base, gain = rng.uniform(0.02, 0.12), rng.uniform(0.3, 0.85)
    form = int(rng.integers(4))
    if form == 0:
        shape = step(rng.uniform(480, 620), rng.uniform(6, 20))
    elif form == 1:
        shape = bell(rng.uniform(440, 560), rng.uniform(25, 60), rng.uniform(25, 60))
    elif form == 2:
        shape = 1 - bell(rng.uniform(480, 600), rng.uniform(25, 60), rng.uniform(25, 60))
    else:
        shape = 1 - step(rng.uniform(480, 560), rng.uniform(8, 30)) + 0.4 * step(680, 20)
    return np.asarray(np.clip((base + gain * shape) * (0.4 + level), 0.005, 0.95))


GROUNDS = ("wall", "paper", "dark")
OWNED = ("cap", "cork", "plastic", "glass", "border", "white", "black")


def random_materials(rng: np.random.Generator, card: FloatArray, owner: int = 0) -> Materials:
    """Return the materials of a photo: a reflectance by kind and variant.

    What belongs to one user (caps, the card's border) follows from `owner` and is the same in all
    photos; the ground behind the tubes nearly so, as of one who keeps to the same wall and paper.
    """
    here = int(rng.integers(2**31))
    user = np.random.default_rng(owner)
    light_ground = random_reflectance(user, "paper") * user.uniform(0.6, 1.0)
    dark_ground = random_reflectance(user, "dark")
    change = float(user.choice((0.01, 0.03, 0.08)))
    other = np.exp(rng.normal(0, change) + rng.normal(0, change / 3) * (WAVELENGTHS - 550) / 150)

    @cache
    def reflectance(kind: str, variant: int) -> FloatArray:
        if kind == "card":
            return card
        if kind in GROUNDS and variant == 0:
            ground = dark_ground if kind == "dark" else light_ground
            return np.asarray(np.clip(ground * other, 0.004, 0.95))
        seed = owner if kind in OWNED else here
        if kind == "glass":
            r = np.random.default_rng(surface_seed(seed, kind, variant))
            return np.asarray(1 - r.uniform(0, 0.06) * (1 - bell(525, 80, 80)))
        return random_reflectance(np.random.default_rng(surface_seed(seed, kind, variant)), kind)

    return reflectance


def random_card(rng: np.random.Generator, level: float) -> FloatArray:
    """Return the reflectance of a grey card: flat, or with a slight tint."""
    tint = rng.normal(0, 0.012) if rng.random() < 0.6 else rng.normal(0, 0.03)
    bow = rng.normal(0, 0.01)
    x = (WAVELENGTHS - 560) / 150
    return np.asarray(level * (1 + tint * x + bow * (x**2 - 0.4)))


def seen_liquid(solution: Solution, camera: Camera, lamp: Lamp, ground: FloatArray) -> Liquid:
    """Return a liquid as a camera sees it before a background of reflectance `ground`.

    Transmittance in RGB is the light of the ground seen through the liquid over that seen without
    it (Beer-Lambert for every wavelength); the light sent back is single scattering out of a cloud
    with the dye dimming both ways.
    """
    weight = camera.sensitivity * lamp.power[:, None]
    scale = weight[:, 1].sum()
    behind = ground[:, None] * weight
    loss = solution.absorbs + solution.scatters
    away = solution.scatters + 0.9 * solution.absorbs + 1e-9

    def transmit(path: Float32Array) -> Float32Array:
        through = np.exp(-np.asarray(path, np.float64)[:, None] * loss)
        return np.asarray(through @ behind / behind.sum(0), np.float32)

    def scatter(path: Float32Array) -> Float32Array:
        back = 1 - np.exp(-np.asarray(path, np.float64)[:, None] * away)
        light = solution.tone * solution.scatters / away * back
        return np.asarray(light @ weight / scale, np.float32)

    return Liquid(transmit=transmit, scatter=scatter)


def spectral_palette(
    camera: Camera,
    lamp: Lamp,
    materials: Materials,
    solutions: tuple[Solution, ...],
    ground: FloatArray,
) -> Palette:
    """Return the palette of a scene under one lamp.

    Parameters
    ----------
    solutions : tuple of Solution
        What fills the tubes, by their place in the plan.
    ground : ndarray, shape (81,)
        Reflectance of what is seen through the liquids.
    """

    @cache
    def surface(kind: str, variant: int) -> Float32Array:
        return np.asarray(camera_rgb(camera, lamp, materials(kind, variant)), np.float32)

    liquids = tuple(seen_liquid(s, camera, lamp, ground) for s in solutions)
    return Palette(surface=surface, liquid=lambda index: liquids[index % len(liquids)])
