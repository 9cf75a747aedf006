"""Readings as amounts that mix, and back: which scale a mean, a map and a source are worked on."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
Kind = Literal["water", "soil"]

LOWEST_PH = 1.0
"""Soil is never predicted more acid than this."""
NO_TEXTURE_MMOL = (5.0, 50.0)
"""Acid taken up for one pH, mmol/kg, where the texture is unknown: sand to clay (order of
magnitude, from memory)."""
OWN_BUFFER = 0.15
"""How far a site's capacity strays from that of its texture, as a share (judgement)."""
_BUFFER_MMOL = {
    "sand": (5.0, 15.0),
    "loamy sand": (6.0, 18.0),
    "sandy loam": (10.0, 25.0),
    "loam": (15.0, 35.0),
    "silt loam": (15.0, 35.0),
    "clay loam": (20.0, 45.0),
    "clay": (25.0, 50.0),
}
"""The same by texture: the range above shared out by judgement; verify locally."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a reading of one quantity turns into an amount that mixes and dilutes.

    Parameters
    ----------
    is_ph : bool
        Whether the quantity is pH.
    kind : {"water", "soil"}
        What was sampled.
    """

    is_ph: bool
    kind: Kind

    @property
    def drawn(self) -> str:
        """What is averaged and drawn between sites, in words."""
        if not self.is_ph:
            return "the reading itself"
        if self.kind == "water":
            return "the activity of hydrogen ions (10^-pH), shown as pH"
        return "the pH itself, because soil buffers"

    @property
    def excess(self) -> str:
        """What counts as excess over the background, in words."""
        if not self.is_ph:
            return "reading minus background"
        if self.kind == "water":
            return "10^-pH minus that of the background"
        return "acid taken up: buffer capacity times (background pH minus pH)"

    def to_drawn(self, values: FloatArray) -> FloatArray:
        """Turn readings into what is averaged and drawn."""
        return 10.0**-values if self.is_ph and self.kind == "water" else values

    def from_drawn(self, drawn: FloatArray) -> FloatArray:
        """Turn what is averaged and drawn into readings."""
        return -np.log10(drawn) if self.is_ph and self.kind == "water" else drawn

    def excess_of(
        self, values: FloatArray, background: FloatArray, buffer: FloatArray
    ) -> FloatArray:
        """Excess of readings over the background; below it, negative.

        Parameters
        ----------
        values, background : array
            Readings, in their own unit.
        buffer : array
            Acid that the soil takes up for one pH, mmol/kg; used for the pH of soil alone.

        Returns
        -------
        array
            mol/L for the pH of water, mmol/kg for the pH of soil, else the reading's unit.
        """
        if not self.is_ph:
            return values - background
        if self.kind == "water":
            return 10.0**-values - 10.0**-background
        return buffer * (background - values)

    def with_excess(
        self, background: FloatArray, excess: FloatArray, buffer: FloatArray
    ) -> FloatArray:
        """Return the reading that a background gives with an excess >= 0 added to it."""
        if not self.is_ph:
            return background + excess
        if self.kind == "water":
            return -np.log10(10.0**-background + excess)
        return np.maximum(background - excess / buffer, LOWEST_PH)


def mean_reading(values: Sequence[float], scale: Scale) -> float:
    """Mean of readings: of water the mean activity as pH, of soil the plain mean.

    The United States FDA laboratory manual prescribes the activity mean for solutions; the plain
    mean of its cores predicts a composite of soil better (Conyers 2026, doi:10.1111/ejss.70329).

    Examples
    --------
    >>> round(mean_reading([5.2, 5.4, 5.9], Scale(is_ph=True, kind="water")), 5)
    5.41456
    >>> round(mean_reading([5.2, 5.4, 5.9], Scale(is_ph=True, kind="soil")), 5)
    5.5
    """
    drawn = scale.to_drawn(np.asarray(values, dtype=np.float64))
    return float(scale.from_drawn(np.asarray(drawn.mean())))


def buffer_range(texture: str | None) -> tuple[float, float]:
    """Least and most acid that a soil takes up for one pH, mmol/kg.

    Examples
    --------
    >>> buffer_range("Sandy loam"), buffer_range(None)
    ((10.0, 25.0), (5.0, 50.0))
    """
    known = plain_texture(texture)
    return NO_TEXTURE_MMOL if known is None else _BUFFER_MMOL[known]


def plain_texture(texture: str | None) -> str | None:
    """Return the texture as the tables spell it, None where they do not know it."""
    plain = " ".join((texture or "").casefold().split())
    return plain if plain in _BUFFER_MMOL else None


def shared_buffers(
    textures: Sequence[str | None], draws: int, generator: np.random.Generator
) -> tuple[FloatArray, FloatArray]:
    """Draw what sites of one texture share of their buffer capacity.

    Soils of one texture at one place resemble each other: a draw gives them one capacity, each
    within some 15 % of it. Where the texture is unknown each site has its own.

    Returns
    -------
    tuple of array, shapes (draws, sites) and (sites,)
        Capacities, mmol/kg per pH, and how far a site's own strays from it: the standard deviation
        of its natural logarithm.
    """
    shared: dict[str, FloatArray] = {}
    columns, own = [], []
    for texture in textures:
        low, high = (math.log(limit) for limit in buffer_range(texture))
        known = plain_texture(texture)
        if known is None:
            columns.append(np.full(draws, (low + high) / 2))
            own.append((high - low) / math.sqrt(12))
        else:
            if known not in shared:
                shared[known] = generator.uniform(low, high, draws)
            columns.append(shared[known])
            own.append(OWN_BUFFER)
    return np.exp(np.stack(columns, axis=1)), np.array(own)


def draw_buffers(
    textures: Sequence[str | None], draws: int, generator: np.random.Generator
) -> FloatArray:
    """Draw buffer capacities of sites by their texture, mmol/kg per pH, shape (draws, sites)."""
    shared, own = shared_buffers(textures, draws, generator)
    half = np.sqrt(3.0) * own  # evenly spread over the range, with that standard deviation
    return np.asarray(shared * np.exp(generator.uniform(-half, half, shared.shape)))
