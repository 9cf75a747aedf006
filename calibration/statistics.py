"""Statistics of calibration: a straight line read backwards, and whether confidence is honest."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean


@dataclass(frozen=True, slots=True, kw_only=True)
class InversePrediction:
    """A value read backwards from a fitted straight line.

    Parameters
    ----------
    value : float
        x at which the line has the signal.
    standard_uncertainty : float
        Of that x.
    half_width : float
        Of its interval at the level asked for.
    approximation : float
        g = t^2 s^2 / (b^2 Sxx); the interval holds where it is far below 1.
    """

    value: float
    standard_uncertainty: float
    half_width: float
    approximation: float


def inverse_prediction(
    x: Sequence[float], y: Sequence[float], signal: float, *, repeats: int = 1, level: float = 0.95
) -> InversePrediction:
    """Read x from a signal on the least-squares line y = a + b x.

    s_x0 = (s/|b|) sqrt(1/m + 1/n + (y0 - mean y)^2 / (b^2 Sxx)), interval x0 +- t(n-2) s_x0.

    Parameters
    ----------
    x, y : sequence of float
        At least three known values and their signals, not all x equal.
    signal : float
        Mean signal of the unknown.
    repeats : int
        Number m of signals in that mean.
    level : float
        Two-sided level of the interval, 0 to 1.

    References
    ----------
    Textbook result of linear regression (common practice).
    """
    import numpy as np
    from scipy.special import stdtrit

    known, signals = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
    n = len(known)
    if n < 3 or len(signals) != n or np.ptp(known) == 0 or repeats < 1:
        raise ValueError("needs three or more points with different x, and repeats >= 1")
    sxx = float(((known - known.mean()) ** 2).sum())
    b = float(((known - known.mean()) * (signals - signals.mean())).sum()) / sxx
    if b == 0:
        raise ValueError("the line is level: no x can be read from it")
    residuals = signals - signals.mean() - b * (known - known.mean())
    s = float(np.sqrt((residuals**2).sum() / (n - 2)))
    away = signal - float(signals.mean())
    u = s / abs(b) * float(np.sqrt(1 / repeats + 1 / n + away**2 / (b**2 * sxx)))
    t = float(stdtrit(n - 2, (1 + level) / 2))
    return InversePrediction(
        value=float(known.mean()) + away / b,
        standard_uncertainty=u,
        half_width=t * u,
        approximation=t**2 * s**2 / (b**2 * sxx),
    )


def expected_calibration_error(
    confidences: Sequence[float], outcomes: Sequence[bool], *, bins: int = 10
) -> float:
    """Return how far stated confidence and share of right answers lie apart, 0 to 1.

    Sum over equal bins of (n_b / N) |mean confidence - share right|; a confidence on a bin's edge
    belongs to the upper bin, 1 to the last.

    Examples
    --------
    >>> expected_calibration_error([0.75, 0.75, 0.75, 0.75], [True, True, True, False])
    0.0
    """
    _check_pairs(confidences, outcomes)
    members: dict[int, list[tuple[float, bool]]] = {}
    for confidence, outcome in zip(confidences, outcomes, strict=True):
        members.setdefault(min(int(confidence * bins), bins - 1), []).append((confidence, outcome))
    return sum(
        len(rows) / len(confidences) * abs(fmean(c for c, _ in rows) - fmean(o for _, o in rows))
        for rows in members.values()
    )


def brier_score(confidences: Sequence[float], outcomes: Sequence[bool]) -> float:
    """Return the mean squared difference of confidence and outcome, 0 (best) to 1.

    Examples
    --------
    >>> brier_score([1.0, 0.5], [True, False])
    0.125
    """
    _check_pairs(confidences, outcomes)
    return fmean((c - o) ** 2 for c, o in zip(confidences, outcomes, strict=True))


def _check_pairs(confidences: Sequence[float], outcomes: Sequence[bool]) -> None:
    if not confidences or len(confidences) != len(outcomes):
        raise ValueError("needs as many outcomes as confidences, at least one")
    if not all(0 <= confidence <= 1 for confidence in confidences):
        raise ValueError("confidences must be 0 to 1")


def clopper_pearson(hits: int, trials: int, *, level: float = 0.95) -> tuple[float, float]:
    """Return the exact two-sided interval of a share.

    References
    ----------
    Clopper & Pearson 1934, Biometrika 26, 404, through quantiles of the beta distribution.
    """
    from scipy.special import betaincinv

    if not 0 <= hits <= trials or trials < 1:
        raise ValueError(f"hits must be 0 to trials, got {hits} of {trials}")
    tail = (1 - level) / 2
    low = 0.0 if hits == 0 else float(betaincinv(hits, trials - hits + 1, tail))
    high = 1.0 if hits == trials else float(betaincinv(hits + 1, trials - hits, 1 - tail))
    return low, high
