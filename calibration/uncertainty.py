"""From the probability of each value to what is reported: value, interval, swatch, confidence."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from calibration.color_features import Features
from calibration.curve import Curve, Prediction

FloatArray = NDArray[np.float64]

STEPS = 12  # values tried per swatch step
MARGIN = 1.5  # swatch steps tried beyond each end
COVERAGE = 0.90
TAILS = 6.0  # degrees of freedom of the error: now and then a tube is worse than its kind
BEYOND = 0.5  # swatch steps beyond an end after which a value is e times less probable beforehand
TINY = 1e-6  # swatch steps by which rounding may put the end of a chart outside it


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """Probability of each value of one tube, on a fine grid along the chart.

    Parameters
    ----------
    values : ndarray
        Values tried, shape (g,), increasing.
    probability : ndarray
        Probability of each, shape (g,), sums to 1.
    distance : float
        Squared Mahalanobis distance to the curve at its nearest, three degrees of freedom.
    inside : float
        The same to the part of the curve between the chart's ends.
    shares : dict of float
        Share of each cause in the variance of the value, sums to 1.
    """

    values: FloatArray
    probability: FloatArray
    distance: float
    inside: float
    shares: dict[str, float]


@lru_cache(maxsize=16)
def grid_of(values: tuple[float, ...]) -> FloatArray:
    """Values to try: evenly many per swatch step, and some beyond both ends.

    Examples
    --------
    >>> grid = grid_of((4.0, 5.0, 7.0))
    >>> round(float(grid[0]), 2), round(float(grid[-1]), 2), len(grid)
    (2.5, 10.0, 61)
    """
    n = len(values)
    steps = np.linspace(-MARGIN, n - 1 + MARGIN, round((n - 1 + 2 * MARGIN) * STEPS) + 1)
    inside = np.interp(steps, np.arange(n), values)
    below = values[0] + steps * (values[1] - values[0])
    above = values[-1] + (steps - n + 1) * (values[-1] - values[-2])
    grid = np.where(steps < 0, below, np.where(steps > n - 1, above, inside))
    grid.setflags(write=False)
    return grid


def posterior_of(
    curve: Curve, item: Features, grid: FloatArray, *, sample: bool = True
) -> Posterior:
    """Lay one tube's color on the curve.

    Beforehand every value of the chart is as probable as any other (flat in swatch steps); beyond
    its ends the probability falls, because a chart is made for what it is used on. The error is
    Student's t of `TAILS` degrees of freedom with the covariances as its scale: a color far off
    the curve makes the value less sure. Where the standards allow several shapes of the curve, the
    probability is that over all of them.
    """
    curves = (curve, *(rival.curve for rival in curve.rivals))
    predicted = [one.predict(item, grid, sample=sample) for one in curves]
    fits = [_fit(one, item, seen) for one, seen in zip(curves, predicted, strict=True)]
    weights = np.array([1.0, *(rival.odds for rival in curve.rivals)])
    weights /= weights.sum()
    return Posterior(
        values=grid,
        probability=np.asarray(weights @ np.stack([fit.probability for fit in fits])),
        distance=float(weights @ np.array([fit.distance for fit in fits])),
        inside=float(weights @ np.array([fit.inside for fit in fits])),
        shares=_shares(predicted[0], int(np.argmax(fits[0].probability))),
    )


class _Fit(NamedTuple):
    """What `Posterior` holds, by one shape of the curve."""

    probability: FloatArray
    distance: float
    inside: float


def _fit(curve: Curve, item: Features, predicted: Prediction) -> _Fit:
    total = predicted.total
    apart = curve.ground.corrected(item) - predicted.mean
    weighted = np.linalg.solve(total, apart[..., None])[..., 0]
    squared = np.einsum("gi,gi->g", apart, weighted)
    _, log_volume = np.linalg.slogdet(total)
    score = -0.5 * ((TAILS + 3) * np.log1p(squared / TAILS) + log_volume)
    score -= predicted.outside / BEYOND
    probability = np.exp(score - score.max())
    return _Fit(
        probability=probability / probability.sum(),
        distance=float(squared.min()),
        inside=float(squared[predicted.outside < TINY].min()),
    )


def _shares(predicted: Prediction, at: int) -> dict[str, float]:
    """Share of each cause in the variance of the value, from the curve's direction at one place.

    The value follows the color by w = S^-1 t / (t' S^-1 t), t the curve's tangent and S the whole
    covariance; a cause with covariance K then has the variance w' K w. What known tubes have told
    of the causes that a photo's tubes share is taken off all of these alike.
    """
    mean = predicted.mean
    low, high = max(at - 2, 0), min(at + 2, len(mean) - 1)
    tangent = mean[high] - mean[low]
    if not np.abs(tangent).max() > 1e-9:
        tangent = np.ones(3)
    weight = np.linalg.solve(predicted.total[at], tangent)

    def variance(term: FloatArray) -> float:
        return max(float(weight @ term[min(at, len(term) - 1)] @ weight), 0.0)

    found = {name: variance(term) for name, term in predicted.own.items()}
    before = {name: variance(term) for name, term in predicted.beforehand.items()}
    left = variance(predicted.shared) / max(sum(before.values()), 1e-12)
    for name, value in before.items():
        found[name] = found.get(name, 0.0) + left * value
    whole = sum(found.values())
    return {name: value / whole for name, value in found.items()}


def quantile(values: FloatArray, probability: FloatArray, share: float) -> float:
    """Value below which a share of the probability lies, in straight lines between grid values.

    Examples
    --------
    >>> import numpy as np
    >>> quantile(np.array([0.0, 1.0, 2.0]), np.array([0.25, 0.5, 0.25]), 0.5)
    1.0
    """
    middle = np.cumsum(probability) - probability / 2
    return float(np.interp(share, middle, values))


def swatch_probabilities(posterior: Posterior, swatches: tuple[float, ...]) -> tuple[float, ...]:
    """Probability that each swatch is the nearest to the value; the ends take what lies beyond."""
    known = np.asarray(swatches)
    nearest = np.abs(posterior.values[:, None] - known[None, :]).argmin(axis=1)
    summed = np.bincount(nearest, weights=posterior.probability, minlength=len(known))
    return tuple(float(p) for p in summed)


def modes(posterior: Posterior, *, valley: float = 0.1) -> list[tuple[int, int]]:
    """Ranges of the grid (first, past the last) that hold separate peaks of the probability.

    Two peaks are separate where the probability between them falls below `valley` of the lower.
    """
    p = posterior.probability
    rises = np.diff(p, prepend=-1.0) >= 0
    falls = np.diff(p, append=-1.0) < 0
    peaks = np.flatnonzero((p > 0.02 * p.max()) & rises & falls).tolist()
    if not peaks:
        return [(0, len(p))]
    edges, kept = [0], [peaks[0]]
    for peak in peaks[1:]:
        between = kept[-1] + int(np.argmin(p[kept[-1] : peak + 1]))
        if p[between] < valley * min(p[kept[-1]], p[peak]):
            edges.append(between)
            kept.append(peak)
        elif p[peak] > p[kept[-1]]:
            kept[-1] = peak
    edges.append(len(p))
    return list(pairwise(edges))
