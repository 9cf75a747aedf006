"""All that is not known about a spill, drawn, and how likely each reading is with it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray, Scale, shared_buffers
from app.site_map.flow import Flow
from app.site_map.grid import Grid
from app.site_map.site_reading import SiteReading, Spread, spread_of
from app.site_map.spread_model import COORDINATES as SPREAD_COORDINATES
from app.site_map.spread_model import SingleArray, Ways, between, ways_of

COORDINATES = SPREAD_COORDINATES + 2
"""Numbers that say how it spreads, how clean places scatter, and the background."""
STEP = 0.05
"""Between neighboring powers of ten of an excess in the tables."""
STRIDE = 5
"""Strengths of the source are so many of these steps apart."""
NATURAL_PH = (0.03, 0.3)
"""Scatter of clean places of one area, standard deviation of pH (judgement)."""
NATURAL_SHARE = (0.03, 0.3)
"""The same for other quantities, as a share of the background (judgement)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Powers:
    """Powers of ten of an excess that the tables hold, and those that a source may have.

    Parameters
    ----------
    low, high : float
        Least and largest power in the tables.
    weakest, strongest : float
        Of the source itself; every power between them is as likely.
    """

    low: float
    high: float
    weakest: float
    strongest: float

    def steps(self) -> FloatArray:
        """All powers in the tables."""
        count = round((self.high - self.low) / STEP) + 1
        return np.asarray(self.low + STEP * np.arange(count, dtype=np.float64))

    def strengths(self) -> NDArray[np.int64]:
        """Place of each strength of the source in the tables."""
        first = round((self.weakest - self.low) / STEP)
        last = round((self.strongest - self.low) / STEP)
        return np.arange(first, last + 1, STRIDE, dtype=np.int64)


def powers_for(scale: Scale, spread: Spread) -> Powers:
    """Return how strong a source may be.

    Water: from a spot that hardly shows to one of pH 1.5; soil: up to 200 mmol/kg; other
    quantities: up to a hundred times the largest reading (judgement).
    """
    if not scale.is_ph:
        top = math.log10(max(float(np.abs(spread.middle).max()), 1e-9))
        return Powers(low=top - 4, high=top + 2, weakest=top - 1, strongest=top + 2)
    if scale.kind == "water":
        return Powers(low=-9.0, high=-1.5, weakest=-6.0, strongest=-1.5)
    return Powers(low=-2.0, high=2.3, weakest=0.0, strongest=2.3)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked, with what follows from it at once.

    Parameters
    ----------
    readings : sequence of SiteReading
        At least one of a background site.
    scale : Scale
        What they are of.
    flow : Flow
        Where the water goes.
    grid : Grid
        The plan.
    """

    readings: Sequence[SiteReading]
    scale: Scale
    flow: Flow
    grid: Grid

    @property
    def spread(self) -> Spread:
        """The readings as distributions."""
        return spread_of(self.readings, is_ph=self.scale.is_ph)

    @property
    def powers(self) -> Powers:
        """Powers of ten that are looked at."""
        return powers_for(self.scale, self.spread)

    @property
    def places(self) -> FloatArray:
        """Where the sites are, shape (sites, 2)."""
        return np.array([reading.place for reading in self.readings], dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknowns:
    """One draw a row of all that is not known.

    Parameters
    ----------
    ways : Ways
        How it spreads.
    aside : array, shape (draws, 2)
        How far the source lies from the middle of its cell, metres.
    natural_sd, background : array, shape (draws,)
        Scatter of clean places, and the middle of their readings.
    buffers : array, shape (draws, sites)
        Acid taken up for one pH, mmol/kg, as sites of one texture share it.
    stray_sd : array, shape (sites,)
        How far a site's log10 excess strays from the model: the model's own error, and a buffer
        capacity of its own.
    log_weight : array, shape (draws,)
        How well a draw explains the background sites among themselves.
    """

    ways: Ways
    aside: FloatArray
    natural_sd: FloatArray
    background: FloatArray
    buffers: FloatArray
    stray_sd: FloatArray
    log_weight: FloatArray


def unknowns_of(asked: Question, normals: FloatArray, generator: np.random.Generator) -> Unknowns:
    """Turn standard normal numbers, shape (draws, COORDINATES), into all that is not known.

    The background is drawn as the background sites give it with the natural scatter of the draw.
    """
    clean = np.array([reading.is_background for reading in asked.readings])
    middle = asked.spread.middle[clean]
    own = ((asked.spread.below + asked.spread.above) / 2)[clean]
    size = 1.0 if asked.scale.is_ph else max(abs(float(middle.mean())), 1e-9)
    natural = size * between(*(NATURAL_PH if asked.scale.is_ph else NATURAL_SHARE), normals[:, -2])
    variance = own**2 + natural[:, None] ** 2
    precision = (1 / variance).sum(axis=1)
    center = (middle / variance).sum(axis=1) / precision
    off = (middle - center[:, None]) ** 2 / variance
    draws = len(normals)
    textures = [reading.texture for reading in asked.readings]
    buffers, own_buffer = shared_buffers(textures, draws, generator)
    ways = ways_of(asked.flow, asked.scale.kind, asked.grid.size_m, normals[:, :-2])
    buffered = asked.scale.is_ph and asked.scale.kind == "soil"
    return Unknowns(
        ways=ways,
        aside=generator.uniform(-0.5, 0.5, (draws, 2)) * asked.grid.cell_m,
        natural_sd=natural,
        background=center + normals[:, -1] / np.sqrt(precision),
        buffers=buffers,
        stray_sd=np.hypot(ways.model_sd, own_buffer / math.log(10) if buffered else 0 * own_buffer),
        log_weight=-0.5 * (off + np.log(variance)).sum(axis=1) - 0.5 * np.log(precision),
    )


def tables_of(asked: Question, unknowns: Unknowns) -> SingleArray:
    """Log density of each reading at each power of ten of its excess, the model's error inside.

    A background site has told its part of the background already: only what an excess would change
    counts for it.

    Returns
    -------
    array, shape (sites, draws, powers)
        Single precision.
    """
    scale, spread, steps = asked.scale, asked.spread, asked.powers.steps()
    background, natural = unknowns.background[:, None], unknowns.natural_sd[:, None]
    tables = []
    for site, reading in enumerate(asked.readings):
        buffer = unknowns.buffers[:, site, None]
        true = scale.with_excess(background, 10.0**steps, buffer)
        felt = background_felt(scale, background, 10.0**steps) * natural
        density = np.exp(spread.log_density(site, true, felt))
        table = np.log(np.maximum(_blurred(density, bell(float(unknowns.stray_sd[site]))), 1e-30))
        if reading.is_background:
            table -= spread.log_density(site, background, natural)
        tables.append(table.astype(np.float32))
    return np.stack(tables)


def background_felt(scale: Scale, background: FloatArray, excess: FloatArray) -> FloatArray:
    """Return how much a change of the background changes the reading, 0 to 1."""
    if scale.is_ph and scale.kind == "water":
        clean = 10.0**-background
        return np.asarray(clean / (clean + excess))
    return np.ones(np.broadcast_shapes(background.shape, excess.shape))


def bell(sd: float) -> FloatArray:
    """Weights of a bell over the steps of a table, its middle in the middle."""
    reach = math.ceil(3 * sd / STEP)
    weights = np.exp(-0.5 * (STEP * np.arange(-reach, reach + 1) / sd) ** 2)
    return np.asarray(weights / weights.sum())


def _blurred(density: FloatArray, blur: FloatArray) -> FloatArray:
    """Average each row over the model's error; beyond its ends a row goes on as it ends."""
    reach = len(blur) // 2
    padded = np.pad(density, ((0, 0), (reach, reach)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(blur), axis=1)
    return np.asarray(windows @ blur)
