"""Whether one source explains the readings, and whether two would do so much better."""

import math
from dataclasses import dataclass

import numpy as np

from app.site_map.acidity import FloatArray
from app.site_map.plane import Point
from app.site_map.site_reading import SiteReading
from app.site_map.source_map import SourceMap
from app.site_map.unknowns import STEP, background_felt, bell

RARE = 0.05
"""The model is set aside where its misfit would be met less often than this by chance."""
LOOKED_AT = 40
"""Explanations whose misfit is averaged."""
TWO_BETTER = 6.0
"""Gain in log likelihood from which a second source is said: three more numbers gain 5.7 once in a
hundred cases by chance (chi-square)."""
TRIED = 20
"""Explanations that a second source is tried with."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Residual:
    """What is left of a reading when the best single source is taken off.

    Parameters
    ----------
    site : SiteReading
        The site.
    predicted : float
        What it would read.
    left : float
        Measured minus predicted.
    in_sd : float
        The same in standard deviations of reading, natural scatter and model together.
    """

    site: SiteReading
    predicted: float
    left: float
    in_sd: float


def residuals_of(found: SourceMap) -> tuple[Residual, ...]:
    """Compare the readings with the best single explanation."""
    return _residuals(found, *found.best)


def _residuals(found: SourceMap, draw: int, cell: int, strength: int) -> tuple[Residual, ...]:
    """Compare the readings with one explanation.

    A residual in standard deviations is where the reading lies among all that the explanation
    allows there (error of reading, natural scatter, error of the model), written as the place on
    a normal bell that is as rare.
    """
    asked, unknowns = found.question, found.unknowns
    power = asked.powers.low + STEP * strength + found.log_shares[draw, cell].astype(np.float64)
    residuals = []
    for site, reading in enumerate(asked.readings):
        weights = bell(float(unknowns.stray_sd[site]))
        reach = len(weights) // 2
        excess = np.power(10.0, power[site] + STEP * np.arange(-reach, reach + 1))
        background, buffer = unknowns.background[draw], unknowns.buffers[draw, site]
        allowed = asked.scale.with_excess(background, excess, buffer)
        felt = background_felt(asked.scale, background, excess) * unknowns.natural_sd[draw]
        left = asked.spread.middle[site] - allowed
        own = np.where(left > 0, asked.spread.below[site], asked.spread.above[site])
        predicted = float(allowed[reach])
        residuals.append(
            Residual(
                site=reading,
                predicted=predicted,
                left=float(asked.spread.middle[site]) - predicted,
                in_sd=_place_on_bell(left / np.hypot(own, felt), weights),
            )
        )
    return tuple(residuals)


def _place_on_bell(distances: FloatArray, weights: FloatArray) -> float:
    """Return the place on one normal bell that is as rare as a place on a mixture of them."""
    from scipy.special import ndtr, ndtri

    below, above = weights @ ndtr(distances), weights @ ndtr(-distances)
    rarer = max(min(below, above), 1e-300)
    return float(ndtri(rarer) if below < above else -ndtri(rarer))


def misfit_probability(found: SourceMap) -> float:
    """How often chance alone would leave larger residuals, over all that explains the readings.

    The posterior predictive p-value of the sum of squares (Gelman, Meng & Stern 1996): the
    explanations were fitted to the same readings, so that it is rarely near 0 or 1 by chance.
    """
    from scipy.special import gammaincc

    told = found.particles
    squares = [
        sum(r.in_sd**2 for r in _residuals(found, int(draw), int(cell), int(strength)))
        for draw, cell, strength in list(zip(told.draws, told.cells, told.strengths, strict=True))[
            :: len(told.draws) // LOOKED_AT
        ]
    ]
    freedom = len(found.question.readings)
    return float(np.mean(gammaincc(freedom / 2, np.array(squares) / 2)))


def two_sources(found: SourceMap) -> tuple[Point, Point] | None:
    """Return the places of two sources where the readings want two; None where one does.

    Some explanations, drawn as probable as they are, are tried with a second source anywhere on the
    plan; then the first is looked for again beside the second.
    """
    best, pair = -math.inf, (0, 0)
    draws, which = np.unique(found.particles.draws, return_index=True)
    for draw, index in list(zip(draws, which, strict=True))[:TRIED]:
        cell, strength = int(found.particles.cells[index]), int(found.particles.strengths[index])
        weight = float(found.unknowns.log_weight[draw])
        for _ in range(2):
            other, level, log = _best_beside(found, int(draw), cell, strength)
            if log + weight > best:
                best, pair = log + weight, (cell, other)
            cell, strength = other, level
    if best - found.best_log < TWO_BETTER:
        return None
    centers = found.grid.centers()
    first, second = ((float(centers[cell, 0]), float(centers[cell, 1])) for cell in pair)
    return first, second


def _best_beside(found: SourceMap, draw: int, cell: int, strength: int) -> tuple[int, int, float]:
    """Return the best second source beside a first one: cell, strength and log likelihood."""
    shares = found.log_shares[draw].astype(np.float64)
    steps, strengths = found.question.powers.steps(), found.question.powers.strengths()
    first = 10.0 ** (steps[strength] + shares[cell])
    second = 10.0 ** (steps[strengths][None, :, None] + shares[:, None, :])
    place = np.rint(
        (np.log10(np.maximum(first + second, 1e-300)) - found.question.powers.low) / STEP
    )
    place = np.clip(place, 0, len(steps) - 1).astype(np.int64)
    log = np.zeros(place.shape[:2])
    for site, table in enumerate(found.tables):
        log += table[draw][place[..., site]]
    row, column = np.unravel_index(int(log.argmax()), log.shape)
    return int(row), int(strengths[column]), float(log.max())
