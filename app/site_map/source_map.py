"""How probable each place of the plan is as the source, under the model of spreading.

Everything that is not known (strength, direction, reach, background, natural scatter, buffering) is
drawn before the readings are looked at, and weighed by how well it explains them.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray, Scale, draw_buffers
from app.site_map.flow import Flow
from app.site_map.grid import Grid
from app.site_map.site_reading import SiteReading, Spread, spread_of
from app.site_map.spread_model import SingleArray, Ways, draw_ways

DRAWS = 900
PARTICLES = 400
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
class Unknowns:
    """One draw a row of all that is not known.

    Parameters
    ----------
    ways : Ways
        How it spreads.
    natural_sd, background : array, shape (draws,)
        Scatter of clean places, and the middle of their readings.
    buffers : array, shape (draws, sites)
        Acid taken up for one pH, mmol/kg.
    log_weight : array, shape (draws,)
        How well a draw explains the background sites among themselves.
    """

    ways: Ways
    natural_sd: FloatArray
    background: FloatArray
    buffers: FloatArray
    log_weight: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Particles:
    """Sources with all that belongs to them, drawn as probable as they are.

    Parameters
    ----------
    cells, draws, strengths : array of int, shape (particles,)
        Cell of the grid, row of `Unknowns`, and place of the strength in the tables.
    """

    cells: NDArray[np.int64]
    draws: NDArray[np.int64]
    strengths: NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class SourceMap:
    """What the readings say of the source under the model.

    Parameters
    ----------
    grid : Grid
        The plan.
    probability : array, shape (cells,)
        Of the source lying in each cell, given that it lies on the plan; sums to 1.
    best_log : float
        Log likelihood of the best single explanation.
    best : tuple of int
        Its draw, cell and place of strength.
    particles : Particles
        Explanations drawn as probable as they are.
    unknowns : Unknowns
        What was drawn.
    log_shares : array, shape (draws, cells, sites)
        Log10 of the share of the source's excess at each site.
    tables : array, shape (sites, draws, powers)
        Log density of each reading at each power of ten of its excess.
    powers : Powers
        Those powers.
    """

    grid: Grid
    probability: FloatArray
    best_log: float
    best: tuple[int, int, int]
    particles: Particles
    unknowns: Unknowns
    log_shares: SingleArray
    tables: SingleArray
    powers: Powers


def map_source(
    readings: Sequence[SiteReading],
    scale: Scale,
    flow: Flow,
    grid: Grid,
    generator: np.random.Generator,
) -> SourceMap:
    """Weigh every cell of a plan as the place of one source.

    Parameters
    ----------
    readings : sequence of SiteReading
        At least one of a background site.
    scale : Scale
        What the readings are of.
    flow : Flow
        Where the water goes.
    grid : Grid
        The plan; before the readings every cell is as likely.
    generator : numpy.random.Generator
        Where chance comes from.
    """
    spread = spread_of(readings, is_ph=scale.is_ph)
    powers = powers_for(scale, spread)
    unknowns = _draw_unknowns(readings, spread, scale, flow, grid, generator)
    places = np.array([reading.place for reading in readings], dtype=np.float64)
    log_shares = unknowns.ways.log_share(grid.centers(), places)
    tables = _tables(readings, spread, scale, unknowns, powers)
    log = log_likelihood(log_shares, tables, powers) + unknowns.log_weight[:, None, None].astype(
        np.float32
    )
    top = float(log.max())
    weight = np.exp(log - top, dtype=np.float32)
    by_cell = weight.sum(axis=(0, 2), dtype=np.float64)
    draw, cell, strength = np.unravel_index(int(log.argmax()), log.shape)
    return SourceMap(
        grid=grid,
        probability=by_cell / by_cell.sum(),
        best_log=top,
        best=(int(draw), int(cell), int(powers.strengths()[strength])),
        particles=_draw_particles(weight, powers, generator),
        unknowns=unknowns,
        log_shares=log_shares,
        tables=tables,
        powers=powers,
    )


def _draw_unknowns(
    readings: Sequence[SiteReading],
    spread: Spread,
    scale: Scale,
    flow: Flow,
    grid: Grid,
    generator: np.random.Generator,
) -> Unknowns:
    """Draw natural scatter, then the background that the background sites give with it."""
    clean = np.array([reading.is_background for reading in readings])
    middle = spread.middle[clean]
    own = ((spread.below + spread.above) / 2)[clean]
    low, high = NATURAL_PH if scale.is_ph else NATURAL_SHARE
    size = 1.0 if scale.is_ph else max(abs(float(middle.mean())), 1e-9)
    natural = size * np.exp(generator.uniform(math.log(low), math.log(high), DRAWS))
    variance = own**2 + natural[:, None] ** 2
    precision = (1 / variance).sum(axis=1)
    center = (middle / variance).sum(axis=1) / precision
    off = (middle - center[:, None]) ** 2 / variance
    log_weight = -0.5 * (off + np.log(variance)).sum(axis=1) - 0.5 * np.log(precision)
    textures = [reading.texture for reading in readings]
    return Unknowns(
        ways=draw_ways(flow, scale.kind, grid.size_m, DRAWS, generator),
        natural_sd=natural,
        background=center + generator.normal(size=DRAWS) / np.sqrt(precision),
        buffers=draw_buffers(textures, DRAWS, generator),
        log_weight=log_weight - log_weight.max(),
    )


def _tables(
    readings: Sequence[SiteReading],
    spread: Spread,
    scale: Scale,
    unknowns: Unknowns,
    powers: Powers,
) -> SingleArray:
    """Log density of each reading at each power of ten of its excess, the model's error inside.

    A background site has told its part of the background already: only what an excess would change
    counts for it.
    """
    steps = powers.steps()
    blur = _blur(unknowns.ways.model_sd)
    background, natural = unknowns.background[:, None], unknowns.natural_sd[:, None]
    tables = []
    for site, reading in enumerate(readings):
        buffer = unknowns.buffers[:, site, None]
        true = scale.with_excess(background, 10.0**steps, buffer)
        felt = _background_felt(scale, background, 10.0**steps) * natural
        density = np.exp(spread.log_density(site, true, felt))
        table = np.log(np.maximum(_blurred(density, blur), 1e-30))
        if reading.is_background:
            table -= spread.log_density(site, background, natural)
        tables.append(table.astype(np.float32))
    return np.stack(tables)


def _background_felt(scale: Scale, background: FloatArray, excess: FloatArray) -> FloatArray:
    """Return how much a change of the background changes the reading, 0 to 1."""
    if scale.is_ph and scale.kind == "water":
        clean = 10.0**-background
        return np.asarray(clean / (clean + excess))
    return np.ones(np.broadcast_shapes(background.shape, excess.shape))


def _blur(sd: float) -> FloatArray:
    """Weights of a bell over the steps of a table."""
    reach = math.ceil(3 * sd / STEP)
    bell = np.exp(-0.5 * (STEP * np.arange(-reach, reach + 1) / sd) ** 2)
    return np.asarray(bell / bell.sum())


def _blurred(density: FloatArray, blur: FloatArray) -> FloatArray:
    """Average each row over the model's error; beyond its ends a row goes on as it ends."""
    reach = len(blur) // 2
    padded = np.pad(density, ((0, 0), (reach, reach)), mode="edge")
    windows = np.lib.stride_tricks.sliding_window_view(padded, len(blur), axis=1)
    return np.asarray(windows @ blur)


def log_likelihood(log_shares: SingleArray, tables: SingleArray, powers: Powers) -> SingleArray:
    """Log likelihood of one source, shape (draws, cells, strengths)."""
    strengths, last = powers.strengths(), tables.shape[2] - 1
    drawn = np.arange(len(log_shares), dtype=np.int32)[:, None]
    total = np.zeros((*log_shares.shape[:2], len(strengths)), dtype=np.float32)
    for site, table in enumerate(tables):
        flat = table.ravel()
        down = np.rint(log_shares[:, :, site] / STEP)
        start = np.maximum(down, -2.0 * last).astype(np.int32)
        row = drawn * (last + 1)
        for place, strength in enumerate(strengths):
            total[:, :, place] += flat[row + np.clip(start + strength, 0, last)]
    return total


def _draw_particles(
    weight: SingleArray, powers: Powers, generator: np.random.Generator
) -> Particles:
    summed = np.cumsum(weight, dtype=np.float64)
    # One start, even steps: every explanation comes as often as its weight says, to within one.
    marks = (generator.random() + np.arange(PARTICLES)) / PARTICLES * summed[-1]
    chosen = np.minimum(np.searchsorted(summed, marks), weight.size - 1)
    draws, cells, strengths = np.unravel_index(chosen, weight.shape)
    return Particles(cells=cells, draws=draws, strengths=powers.strengths()[strengths])
