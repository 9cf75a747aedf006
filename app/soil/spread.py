"""What is known of a number: its best value, its 90 % interval, and the chance of each class."""

import bisect
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

COVERAGE = 0.90
DRAWS = 2000
"""Of a Monte Carlo."""
_NORMAL = NormalDist()
Z = _NORMAL.inv_cdf((1 + COVERAGE) / 2)
"""Half the 90 % interval of a normal distribution, in standard deviations: 1.645."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A number with its 90 % interval, as a normal distribution with two widths.

    Half of the probability lies on each side of the value, 5 % beyond each end of the interval.

    Parameters
    ----------
    value, low, high : float
        low <= value <= high; all three equal where the number is taken as exact.
    """

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        numbers = (self.low, self.value, self.high)
        if not all(map(math.isfinite, numbers)) or not self.low <= self.value <= self.high:
            raise ValueError(f"needs low <= value <= high, got {numbers}")

    def quantile(self, probability: float) -> float:
        """Return the number below which this share of the distribution lies.

        Examples
        --------
        >>> round(Spread(value=6.0, low=5.5, high=6.2).quantile(0.95), 6)
        6.2
        """
        z = _NORMAL.inv_cdf(probability)
        return self.value + z / Z * ((self.value - self.low) if z < 0 else self.high - self.value)

    def below(self, limit: float) -> float:
        """Return the probability that the truth lies below a limit.

        Examples
        --------
        >>> Spread(value=6.0, low=6.0, high=6.0).below(6.0)
        0.0
        """
        away = limit - self.value
        side = self.high - self.value if away > 0 else self.value - self.low
        if side > 0:
            return _NORMAL.cdf(away / side * Z)
        if away == 0:
            return 0.0 if self.high == self.low else 0.5
        return 1.0 if away > 0 else 0.0

    def between(self, low: float, high: float) -> float:
        """Return the probability that low <= truth < high."""
        return max(0.0, self.below(high) - self.below(low))

    def scaled(self, low: float, best: float, high: float) -> "Spread":
        """Return a spread >= 0 times a factor >= 0 that itself has a range, as outer bounds."""
        return Spread(value=self.value * best, low=self.low * low, high=self.high * high)

    def at_least_zero(self) -> "Spread":
        """Return the spread with everything below zero moved to zero."""
        return Spread(value=max(self.value, 0), low=max(self.low, 0), high=max(self.high, 0))


def exactly(value: float) -> Spread:
    """Return a number whose uncertainty nobody gave."""
    return Spread(value=value, low=value, high=value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A class and the probability that the soil is in it."""

    label: str
    probability: float


def shares(spread: Spread, limits: Sequence[float], labels: Sequence[str]) -> tuple[Share, ...]:
    """Return the classes that the 90 % interval touches, lowest first, each with its probability.

    Parameters
    ----------
    limits : sequence of float
        Lower limits of all classes but the lowest, rising; a limit belongs to the class above it.
    labels : sequence of str
        One more than limits.

    Examples
    --------
    >>> [share.label for share in shares(Spread(value=6.5, low=6.3, high=6.7), [6.55], "ab")]
    ['a', 'b']
    """
    edges = [-math.inf, *limits, math.inf]
    first = bisect.bisect_right(limits, spread.low)
    last = bisect.bisect_right(limits, spread.high)
    return tuple(
        Share(label=labels[i], probability=_mass(spread, edges[i], edges[i + 1]))
        for i in range(first, last + 1)
        if edges[i] < edges[i + 1]  # a class that a table leaves out has no width
    )


def _mass(spread: Spread, low: float, high: float) -> float:
    above = 1.0 if high == math.inf else spread.below(high)
    return max(0.0, above - (0.0 if low == -math.inf else spread.below(low)))


def carried(amount: Callable[..., float], *inputs: Spread, seed: int, draws: int = DRAWS) -> Spread:
    """Carry the uncertainty of independent inputs through a formula by Monte Carlo.

    The value is the formula at the inputs' values; low and high are the 5 % and 95 % points of
    the drawn results. The same seed gives the same draws, so that a result moves only with its
    inputs.

    Parameters
    ----------
    amount : callable
        Takes one number for each input.
    seed : int
        Of the random numbers.

    References
    ----------
    JCGM 101:2008, propagation of distributions by Monte Carlo.
    """
    best = amount(*(spread.value for spread in inputs))
    if all(spread.low == spread.high for spread in inputs):
        return exactly(best)
    import numpy as np

    numbers = np.random.default_rng(seed).uniform(1e-9, 1 - 1e-9, size=(draws, len(inputs)))
    results = [
        amount(*(spread.quantile(float(p)) for spread, p in zip(inputs, row, strict=True)))
        for row in numbers
    ]
    low, high = (float(end) for end in np.quantile(results, [0.05, 0.95]))
    return Spread(value=best, low=min(low, best), high=max(high, best))
