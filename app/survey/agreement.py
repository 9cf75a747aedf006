"""How well people agree among themselves, and with an electrode or a laboratory."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

from app.survey.statistics import student_t

LIMIT_FACTOR = 1.96 * math.sqrt(2)
"""Two results differ by more than this times the standard deviation once in twenty times; printed
as 2.8 in ISO 5725-6."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupPrecision:
    """One group among all.

    Parameters
    ----------
    name : str
        A person's code, or a group's.
    n : int
        Its results.
    mean : float
        Their mean.
    h : float or None
        Mandel's h: how far its mean lies from the mean of the groups' means, in standard deviations
        of those; None where all means are the same.
    k : float or None
        Mandel's k: its scatter relative to that of all groups; None for a single result, or where
        nobody's results scatter.
    """

    name: str
    n: int
    mean: float
    h: float | None
    k: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """Repeatability and reproducibility of one sample measured by several groups.

    Parameters
    ----------
    n : int
        Results in all.
    mean : float
        Of all results.
    s_repeatability : float
        Standard deviation within a group.
    s_between : float
        Standard deviation between groups; 0 where the groups differ no more than their scatter.
    s_reproducibility : float
        Of one result of any group.
    h_critical : float or None
        Beyond it a group's h is exceptional (5 %); None for two groups.
    groups : tuple of GroupPrecision
        In the order of their names.
    """

    n: int
    mean: float
    s_repeatability: float
    s_between: float
    s_reproducibility: float
    h_critical: float | None
    groups: tuple[GroupPrecision, ...]

    @property
    def repeatability_limit(self) -> float:
        """Two results of one group differ by more than this once in twenty times."""
        return LIMIT_FACTOR * self.s_repeatability

    @property
    def reproducibility_limit(self) -> float:
        """Two results of different groups differ by more than this once in twenty times."""
        return LIMIT_FACTOR * self.s_reproducibility

    @property
    def exceptional(self) -> tuple[str, ...]:
        """Groups whose mean stands apart from the others'."""
        if self.h_critical is None:
            return ()
        return tuple(
            group.name
            for group in self.groups
            if group.h is not None and abs(group.h) > self.h_critical
        )


def precision(results: Mapping[str, Sequence[float]]) -> Precision | None:
    """Repeatability and reproducibility of one sample.

    s_r^2 = sum (n_i - 1) s_i^2 / (N - p); s_d^2 = sum n_i (m_i - m)^2 / (p - 1);
    n0 = (N - sum n_i^2 / N) / (p - 1); s_L^2 = max(0, (s_d^2 - s_r^2) / n0);
    s_R^2 = s_L^2 + s_r^2.

    Parameters
    ----------
    results : mapping
        Results of each group, one or more; of different size where it so happened.

    Returns
    -------
    Precision or None
        None for fewer than two groups, or where no group measured twice.

    References
    ----------
    ISO 5725-2:1994, 7.4 (equations from memory); Mandel's h and its critical value, ISO 5725-2,
    7.3.1 and ASTM E691 (from memory).
    """
    groups = {name: tuple(values) for name, values in sorted(results.items()) if values}
    n, p = sum(map(len, groups.values())), len(groups)
    if p < 2 or n <= p:
        return None
    mean = fmean(value for values in groups.values() for value in values)
    means = {name: fmean(values) for name, values in groups.items()}
    within = sum(_squares(values) for values in groups.values()) / (n - p)
    across = sum(len(v) * (means[name] - mean) ** 2 for name, v in groups.items()) / (p - 1)
    typical = (n - sum(len(values) ** 2 for values in groups.values()) / n) / (p - 1)
    between = max(0.0, (across - within) / typical)
    center, spread = fmean(means.values()), stdev(means.values())
    scatter = math.sqrt(within)
    return Precision(
        n=n,
        mean=mean,
        s_repeatability=scatter,
        s_between=math.sqrt(between),
        s_reproducibility=math.sqrt(between + within),
        h_critical=mandel_h_critical(p) if p > 2 else None,
        groups=tuple(
            GroupPrecision(
                name=name,
                n=len(values),
                mean=means[name],
                h=(means[name] - center) / spread if spread > 0 else None,
                k=stdev(values) / scatter if len(values) > 1 and scatter > 0 else None,
            )
            for name, values in groups.items()
        ),
    )


def mandel_h_critical(p: int, *, alpha: float = 0.05) -> float:
    """Critical value of Mandel's h for p groups.

    h = (p - 1) t / sqrt(p (t^2 + p - 2)), t the 1 - alpha / 2 quantile with p - 2 degrees of
    freedom (from memory).
    """
    t = student_t(1 - alpha / 2, p - 2)
    return (p - 1) * t / math.sqrt(p * (t * t + p - 2))


def _squares(values: Sequence[float]) -> float:
    mean = fmean(values)
    return sum((value - mean) ** 2 for value in values)


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """How readings compare with another way of measuring the same samples.

    Parameters
    ----------
    n : int
        Samples measured both ways.
    bias : float
        Mean of reading less reference.
    s : float
        Standard deviation of the differences.
    bias_low, bias_high : float
        95 % interval of the bias.
    limit_error : float
        Half the 95 % interval of each limit of agreement.
    """

    n: int
    bias: float
    s: float
    bias_low: float
    bias_high: float
    limit_error: float

    @property
    def limits(self) -> tuple[float, float]:
        """Limits of agreement: 95 % of differences lie between them."""
        return self.bias - 1.96 * self.s, self.bias + 1.96 * self.s


def bland_altman(pairs: Sequence[tuple[float, float]]) -> Agreement | None:
    """Bias and limits of agreement of (reading, reference) pairs; None for fewer than three.

    Standard errors: s / sqrt(n) of the bias, sqrt(3 / n) s of a limit; t with n - 1 degrees.

    References
    ----------
    Bland & Altman 1986, Lancet i, 307-310.
    """
    n = len(pairs)
    if n < 3:
        return None
    differences = [reading - reference for reading, reference in pairs]
    bias, s = fmean(differences), stdev(differences)
    t = student_t(0.975, n - 1)
    half = t * s / math.sqrt(n)
    return Agreement(
        n=n,
        bias=bias,
        s=s,
        bias_low=bias - half,
        bias_high=bias + half,
        limit_error=t * s * math.sqrt(3 / n),
    )
