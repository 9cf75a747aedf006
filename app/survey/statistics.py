"""Replicates pooled, outliers shown, pH averaged, blanks taken off."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, median, stdev
from typing import Literal

COVERAGE = 0.90
"""Of every interval, as of a reading's own."""

MeanKind = Literal["arithmetic", "activity"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """Repeated results as one.

    Parameters
    ----------
    n : int
        How many.
    mean : float
        Their mean.
    how : {"arithmetic", "activity"}
        How it was taken.
    median : float
        Their median.
    s : float or None
        Standard deviation of one result, n - 1; None for a single result.
    low, high : float or None
        90 % interval of the mean from the scatter alone: what all results share (the chart, the
        light) is not in it. None for a single result.
    """

    n: int
    mean: float
    how: MeanKind
    median: float
    s: float | None
    low: float | None
    high: float | None


def student_t(probability: float, degrees: float) -> float:
    """Quantile of Student's t.

    Examples
    --------
    >>> round(student_t(0.975, 3), 5)
    3.18245
    """
    from scipy.special import stdtrit

    return float(stdtrit(degrees, probability))


def pool(
    values: Sequence[float], *, coverage: float = COVERAGE, how: MeanKind = "arithmetic"
) -> Pooled:
    """Pool repeated results: mean +- t(n - 1) s / sqrt(n).

    The activity mean of pH, -log10(mean(10^-pH)), is that of the hydrogen ion; its interval is
    taken on that scale, and has no upper end where it reaches zero.

    Examples
    --------
    >>> pooled = pool([6.2, 6.4, 6.3])
    >>> round(pooled.mean, 3), round(pooled.s or 0, 3), round(pooled.low or 0, 3)
    (6.3, 0.1, 6.131)
    """
    _check(values, least=1)
    if how == "activity":
        return _pool_activity(values, coverage)
    mean, n = fmean(values), len(values)
    s = stdev(values) if n > 1 else None
    half = None if s is None else student_t((1 + coverage) / 2, n - 1) * s / math.sqrt(n)
    return Pooled(
        n=n,
        mean=mean,
        how=how,
        median=median(values),
        s=s,
        low=None if half is None else mean - half,
        high=None if half is None else mean + half,
    )


def _pool_activity(values: Sequence[float], coverage: float) -> Pooled:
    activity = pool([10.0**-value for value in values], coverage=coverage)
    more, less = activity.high, activity.low
    return Pooled(
        n=len(values),
        mean=-math.log10(activity.mean),
        how="activity",
        median=median(values),
        s=stdev(values) if len(values) > 1 else None,
        low=None if more is None else -math.log10(more),
        high=None if less is None or less <= 0 else -math.log10(less),
    )


def mean_kind(quantity: str | None, sample_kind: str | None) -> MeanKind:
    """How results of a quantity are averaged.

    pH of soil: arithmetic, because soils are buffered and the mean of the cores' pH predicts the
    composite better. pH of water: the mean of the hydrogen ion's activity. Everything else:
    arithmetic.

    References
    ----------
    Conyers 2026, Eur. J. Soil Sci., doi:10.1111/ejss.70329 (soil); common practice (water).

    Examples
    --------
    >>> mean_kind("ph", "soil"), mean_kind("ph", "water"), mean_kind("nitrogen", "water")
    ('arithmetic', 'activity', 'arithmetic')
    """
    return "activity" if quantity == "ph" and sample_kind == "water" else "arithmetic"


@dataclass(frozen=True, slots=True, kw_only=True)
class GrubbsTest:
    """The result farthest from the mean, and whether it is too far. It is shown, never deleted.

    Parameters
    ----------
    index : int
        Its place among the results.
    g : float
        Its distance from the mean in standard deviations.
    critical : float
        What g exceeds by chance in one series of 1 / alpha.
    """

    index: int
    g: float
    critical: float

    @property
    def is_outlier(self) -> bool:
        """Whether the result is too far from the others."""
        return self.g > self.critical


def grubbs_critical(n: int, *, alpha: float = 0.05) -> float:
    """Critical value of Grubbs' two-sided test; `2 * alpha` gives the one-sided one.

    G = (n - 1) / sqrt(n) sqrt(t^2 / (n - 2 + t^2)), t the 1 - alpha / (2 n) quantile of Student's t
    with n - 2 degrees of freedom.

    References
    ----------
    Grubbs 1969, Technometrics 11, 1-21; NIST/SEMATECH e-Handbook, 1.3.5.17.1.

    Examples
    --------
    >>> round(grubbs_critical(8), 4)
    2.1266
    """
    t = student_t(1 - alpha / (2 * n), n - 2)
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def grubbs(values: Sequence[float], *, alpha: float = 0.05) -> GrubbsTest | None:
    """Test the result farthest from the mean; None where three results or a scatter are lacking."""
    if len(values) < 3:
        return None
    _check(values, least=3)
    mean, s = fmean(values), stdev(values)
    # Equal values written in floating point have a scatter of rounding errors: that is none.
    if s <= 1e-12 * max(abs(value) for value in values):
        return None
    index = max(range(len(values)), key=lambda i: abs(values[i] - mean))
    return GrubbsTest(
        index=index,
        g=abs(values[index] - mean) / s,
        critical=grubbs_critical(len(values), alpha=alpha),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankCorrected:
    """A result with the blank taken off.

    Parameters
    ----------
    value : float
        In the result's unit; may be negative, which is kept.
    standard_uncertainty : float or None
        From the scatter of both means; None where either was measured once.
    """

    value: float
    standard_uncertainty: float | None


def subtract_blank(results: Sequence[float], blanks: Sequence[float]) -> BlankCorrected:
    """Take the mean of the blanks off the mean of the results; variances of the means add.

    Examples
    --------
    >>> round(subtract_blank([12.0, 13.0], [1.0, 2.0]).value, 6)
    11.0
    """
    result, blank = pool(results), pool(blanks)
    scatter = None
    if result.s is not None and blank.s is not None:
        scatter = math.hypot(result.s / math.sqrt(result.n), blank.s / math.sqrt(blank.n))
    return BlankCorrected(value=result.mean - blank.mean, standard_uncertainty=scatter)


def _check(values: Sequence[float], *, least: int) -> None:
    if len(values) < least:
        raise ValueError(f"at least {least} values are needed, got {len(values)}")
    if not all(math.isfinite(value) for value in values):
        raise ValueError("values must be finite")
