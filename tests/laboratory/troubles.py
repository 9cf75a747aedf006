"""What an unmixed and an unsettled liquid do to the light, by place."""

import numpy as np

from tests.laboratory.paint import noise
from tests.laboratory.palette import FloatArray

# Of a slope, a layer and plumes: how much of each, and of streaks.
_KINDS = {"slope": (1.0, 0.0, 0.55), "layer": (0.3, 0.8, 0.2), "plumes": (0.3, 0.0, 0.9)}


def unmixed_field(
    rng: np.random.Generator, strength: float, depth: FloatArray, shape: tuple[int, int]
) -> FloatArray:
    """Strength of the color: a slope, a layer or plumes, weaker above or below.

    `depth` goes from 0 at the surface to 1 at the bottom.
    """
    if rng.random() < 0.5:
        depth = 1 - depth
    kind = str(rng.choice(list(_KINDS), p=(0.5, 0.25, 0.25)))
    slope, layer, streaks = _KINDS[kind]
    field = np.exp(slope * strength * (depth - 0.5) * 2.2)
    if layer:
        away = (depth - rng.uniform(0.25, 0.75)) / np.exp(rng.uniform(-4.0, -1.6))
        field = field * np.exp(strength * np.tanh(away) * layer)
    lumps = noise(rng, shape, cells=(4, 2), octaves=4, fall=0.7)
    return np.asarray(field * np.exp(streaks * strength * lumps), np.float32)


def cloud_share(
    rng: np.random.Generator,
    density: float,
    depth: FloatArray,
    path: FloatArray,
    shape: tuple[int, int],
) -> FloatArray:
    """Share of the light that a cloud turns back: denser below, in billows or nearly even."""
    sinking = rng.uniform(0.2, 0.9)
    dense = density * 1.3 * (1 - sinking + 2 * sinking * depth)
    billows = noise(rng, shape, cells=(6, 3), octaves=4)
    share = (1 - np.exp(-dense * path)) * (1 + np.exp(rng.uniform(-3.2, -1.3)) * billows)
    return np.asarray(np.clip(share, 0, 1), np.float32)
