"""How probable each place of the plan is as the source, under the model of spreading.

Everything that is not known (strength, direction, reach, background, natural scatter, buffering) is
drawn as it is thought before the readings are looked at, and weighed by how well it explains them.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from app.site_map.acidity import FloatArray
from app.site_map.grid import Grid
from app.site_map.sampling import draw_around
from app.site_map.spread_model import SingleArray
from app.site_map.unknowns import (
    COORDINATES,
    STEP,
    Powers,
    Question,
    Unknowns,
    tables_of,
    unknowns_of,
)

ROUNDS = 4
"""Of draws that look where the readings are explained at all."""
LOOKED = 400
"""Draws of such a round."""
DRAWS = 1200
"""Draws of the last round, which alone counts."""
SMOOTH = 1.0
"""Standard deviation, in cells, of the bell that the probabilities are smoothed with: a finite
number of draws leaves the ridges of a narrow plume in pieces."""
PARTICLES = 400


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
        Its draw, cell and place of strength in the tables.
    particles : Particles
        Explanations drawn as probable as they are.
    unknowns : Unknowns
        What was drawn.
    log_shares : array, shape (draws, cells, sites)
        Log10 of the share of the source's excess at each site.
    tables : array, shape (sites, draws, powers)
        Log density of each reading at each power of ten of its excess.
    question : Question
        What was asked.
    """

    grid: Grid
    probability: FloatArray
    best_log: float
    best: tuple[int, int, int]
    particles: Particles
    unknowns: Unknowns
    log_shares: SingleArray
    tables: SingleArray
    question: Question


def map_source(asked: Question, generator: np.random.Generator) -> SourceMap:
    """Weigh every cell of a plan as the place of one source.

    Parameters
    ----------
    asked : Question
        The readings and what is known of the ground; before them every cell is as likely.
    generator : numpy.random.Generator
        Where chance comes from.
    """
    rough = replace(asked, grid=asked.grid.coarser())
    drawn, log_ratio = generator.normal(size=(LOOKED, COORDINATES)), np.zeros(LOOKED)
    for round_ in range(ROUNDS):
        *_, log = _weigh(rough, unknowns_of(rough, drawn, generator))
        evidence = np.exp(log - log.max(), dtype=np.float32).sum(axis=(0, 2), dtype=np.float64)
        worth = np.log(np.maximum(evidence, 1e-300)) + log_ratio
        wanted = DRAWS if round_ == ROUNDS - 1 else LOOKED
        drawn, log_ratio = draw_around(drawn, worth, wanted, generator)
    unknowns = unknowns_of(asked, drawn, generator)
    log_shares, tables, log = _weigh(asked, unknowns)
    best = np.unravel_index(int(log.argmax()), log.shape)
    top = float(log.max())
    log += log_ratio.astype(np.float32)[:, None]
    weight = np.exp(log - log.max(), dtype=np.float32)
    by_cell = _smoothed(weight.sum(axis=(0, 1), dtype=np.float64), asked.grid)
    strengths = asked.powers.strengths()
    return SourceMap(
        grid=asked.grid,
        probability=by_cell / by_cell.sum(),
        best_log=top,
        best=(int(best[1]), int(best[2]), int(strengths[best[0]])),
        particles=_draw_particles(weight, asked.powers, generator),
        unknowns=unknowns,
        log_shares=log_shares,
        tables=tables,
        question=asked,
    )


def _smoothed(by_cell: FloatArray, grid: Grid) -> FloatArray:
    """Smooth over neighboring cells; what would leave the plan is laid back onto it."""
    from scipy.ndimage import gaussian_filter

    ground = by_cell.reshape(grid.rows, grid.columns)
    return np.asarray(gaussian_filter(ground, SMOOTH, mode="reflect")).ravel()


def _weigh(asked: Question, unknowns: Unknowns) -> tuple[SingleArray, SingleArray, SingleArray]:
    """Return shares, tables and the log likelihood of every strength, draw and cell."""
    log_shares = unknowns.ways.log_share(asked.grid.centers(), asked.places, unknowns.aside)
    tables = tables_of(asked, unknowns)
    log = log_likelihood(log_shares, tables, asked.powers)
    log += unknowns.log_weight.astype(np.float32)[:, None]
    return log_shares, tables, log


def log_likelihood(log_shares: SingleArray, tables: SingleArray, powers: Powers) -> SingleArray:
    """Log likelihood of one source, shape (strengths, draws, cells)."""
    strengths = powers.strengths()
    draws, cells, _ = log_shares.shape
    width = tables.shape[2]
    total = np.zeros((len(strengths), draws, cells), dtype=np.float32)
    row = np.arange(draws, dtype=np.int32)[:, None] * 2 * width + width
    for site, table in enumerate(tables):
        # A share is never above one, so that only the low end of a row can be passed: it is drawn
        # out as long as the row, and nothing more is looked at below it.
        drawn_out = np.concatenate([np.repeat(table[:, :1], width, axis=1), table], axis=1).ravel()
        down = np.maximum(np.rint(log_shares[:, :, site] / STEP), -width)
        start = row + down.astype(np.int32)
        for place, strength in enumerate(strengths):
            total[place] += drawn_out.take(start + np.int32(strength))
    return total


def _draw_particles(
    weight: SingleArray, powers: Powers, generator: np.random.Generator
) -> Particles:
    summed = np.cumsum(weight, dtype=np.float64)
    # One start, even steps: every explanation comes as often as its weight says, to within one.
    marks = (generator.random() + np.arange(PARTICLES)) / PARTICLES * summed[-1]
    chosen = np.minimum(np.searchsorted(summed, marks), weight.size - 1)
    strengths, draws, cells = np.unravel_index(chosen, weight.shape)
    return Particles(cells=cells, draws=draws, strengths=powers.strengths()[strengths])
