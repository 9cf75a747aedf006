"""Repeats of one test as one value with one interval."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean

from app.survey.statistics import COVERAGE, Pooled, grubbs, pool, student_t


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """One of several results of the same test.

    Parameters
    ----------
    value : float
        The value.
    low, high : float or None
        Its own 90 % interval; None where an end is open.
    """

    value: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    """Repeats as one.

    Parameters
    ----------
    value : float
        Their arithmetic mean, outliers included.
    low, high : float or None
        90 % interval of the mean; None where neither an own interval nor a scatter
        says anything.
    outlier : int or None
        Place of the one that Grubbs' test finds too far from the others (5 %).
    """

    value: float
    low: float | None
    high: float | None
    outlier: int | None


def put_together(repeats: Sequence[Repeat]) -> Together:
    """Pool repeats: their scatter and their own intervals both count.

    What the repeats share (chart, light) does not average out, so that the mean of their own
    half-widths stays whole; the scatter is divided by the root of their number.

    Examples
    --------
    >>> pair = [Repeat(value=6.2, low=6.0, high=6.4), Repeat(value=6.4, low=6.2, high=6.6)]
    >>> found = put_together(pair)
    >>> round(found.value, 3), round(found.low, 3), round(found.high, 3)
    (6.3, 5.995, 6.605)
    """
    pooled = pool([repeat.value for repeat in repeats])
    downs = [r.value - r.low for r in repeats if r.low is not None]
    ups = [r.high - r.value for r in repeats if r.high is not None]
    down = half_width(fmean(downs) if downs else None, pooled)
    up = half_width(fmean(ups) if ups else None, pooled)
    test = grubbs([repeat.value for repeat in repeats])
    return Together(
        value=pooled.mean,
        low=None if down is None else pooled.mean - down,
        high=None if up is None else pooled.mean + up,
        outlier=test.index if test is not None and test.is_outlier else None,
    )


def half_width(own: float | None, pooled: Pooled) -> float | None:
    """Half the 90 % interval of a mean, from the results' own half-width and their scatter.

    u^2 = (own / 1.645)^2 + s^2 / n, times Student's t with the effective degrees of freedom
    u^4 / ((s^2 / n)^2 / (n - 1)): the own half-width has no end of them.

    Parameters
    ----------
    own : float or None
        Mean half-width of the single results; None where it is not known.
    pooled : Pooled
        The results as one.

    Returns
    -------
    float or None
        None for results without half-width that do not scatter.

    References
    ----------
    JCGM 100:2008, G.4.1, Welch-Satterthwaite formula (G.2b).
    """
    scatter = None if pooled.s is None else pooled.s**2 / pooled.n
    if not scatter:
        return own
    certain = 0.0 if own is None else (own / student_t((1 + COVERAGE) / 2, math.inf)) ** 2
    degrees = (pooled.n - 1) * ((certain + scatter) / scatter) ** 2
    return student_t((1 + COVERAGE) / 2, degrees) * math.sqrt(certain + scatter)
