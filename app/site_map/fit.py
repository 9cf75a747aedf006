"""Whether one source explains the readings, and whether two would do so much better."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.site_map.acidity import Scale
from app.site_map.plane import Point
from app.site_map.site_reading import SiteReading, spread_of
from app.site_map.source_map import STEP, SourceMap

RARE = 0.01
"""The model is set aside where its misfit would be met less often than this by chance."""
PLACED = 3
"""Numbers that the best explanation fits: two of the place, one of the strength."""
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


def residuals_of(
    found: SourceMap, readings: Sequence[SiteReading], scale: Scale
) -> tuple[Residual, ...]:
    """Compare the readings with the best single explanation."""
    draw, cell, strength = found.best
    power = found.powers.low + STEP * strength + found.log_shares[draw, cell].astype(np.float64)
    background = found.unknowns.background[draw]
    buffers = found.unknowns.buffers[draw]
    spread = spread_of(readings, is_ph=scale.is_ph)
    model = found.unknowns.ways.model_sd
    predicted = scale.with_excess(background, 10.0**power, buffers)
    swing = [scale.with_excess(background, 10.0 ** (power + s), buffers) for s in (model, -model)]
    clean = scale.with_excess(background + 0.01, 10.0**power, buffers)
    felt = np.abs(clean - predicted) / 0.01 * found.unknowns.natural_sd[draw]
    left = spread.middle - predicted
    own = np.where(left > 0, spread.below, spread.above)
    size = np.sqrt(own**2 + felt**2 + ((swing[0] - swing[1]) / 2) ** 2)
    return tuple(
        Residual(site=r, predicted=float(p), left=float(d), in_sd=float(d / s))
        for r, p, d, s in zip(readings, predicted, left, size, strict=True)
    )


def misfit_probability(residuals: Sequence[Residual]) -> float:
    """How often chance alone gives such residuals or larger ones (chi-square)."""
    from scipy.special import gammaincc

    square = sum(residual.in_sd**2 for residual in residuals)
    freedom = max(1, len(residuals) - PLACED)
    return float(gammaincc(freedom / 2, square / 2))


def two_sources(found: SourceMap) -> tuple[Point, Point] | None:
    """Return the places of two sources where the readings want two; None where one does.

    The best explanations are tried with a second source anywhere on the plan, then the first is
    looked for again beside the second.
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
    steps, strengths = found.powers.steps(), found.powers.strengths()
    first = 10.0 ** (steps[strength] + shares[cell])
    second = 10.0 ** (steps[strengths][None, :, None] + shares[:, None, :])
    place = np.rint((np.log10(first + second) - found.powers.low) / STEP)
    place = np.clip(place, 0, len(steps) - 1).astype(np.int64)
    log = np.zeros(place.shape[:2])
    for site, table in enumerate(found.tables):
        log += table[draw][place[..., site]]
    row, column = np.unravel_index(int(log.argmax()), log.shape)
    return int(row), int(strengths[column]), float(log.max())
