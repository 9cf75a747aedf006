"""The control chart of a check standard, and whether results drift with time."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev
from typing import Literal

from app.survey.statistics import COVERAGE, student_t

LEAST_FOR_LIMITS = 8
"""Fewer results make no limits; twenty make good ones (common practice)."""
RUN = 8

Rule = Literal["beyond_action", "two_of_three", "run_of_eight", "beyond_warning"]

RULES: dict[Rule, str] = {
    "beyond_action": "beyond the action limit: stop, find the cause, repeat the batch",
    "two_of_three": "two of three beyond the same warning limit: stop, find the cause",
    "run_of_eight": "eight in a row on one side of the center: make the chart again",
    "beyond_warning": "beyond the warning limit: read the check standard again",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlLimits:
    """Where results of a check standard should lie.

    Parameters
    ----------
    center, s : float
        The value that is expected, and the standard deviation of one result.
    n : int
        Results that the limits were made of.
    """

    center: float
    s: float
    n: int

    @property
    def warning(self) -> tuple[float, float]:
        """Center -+ 2 s: one result of 22 lies outside by chance."""
        return self.center - 2 * self.s, self.center + 2 * self.s

    @property
    def action(self) -> tuple[float, float]:
        """Center -+ 3 s: one result of 370 lies outside by chance."""
        return self.center - 3 * self.s, self.center + 3 * self.s


@dataclass(frozen=True, slots=True, kw_only=True)
class Signal:
    """A result that breaks a rule.

    Parameters
    ----------
    index : int
        Its place in the series.
    rule : Rule
        The first of the rules that it breaks, in their order.
    """

    index: int
    rule: Rule

    @property
    def is_action(self) -> bool:
        """Whether something must be done before results count, not only watched."""
        return self.rule != "beyond_warning"


def control_limits(
    baseline: Sequence[float], *, center: float | None = None
) -> ControlLimits | None:
    """Shewhart limits for single results, from a series taken while all was well.

    Parameters
    ----------
    baseline : sequence of float
        Results in the order of time.
    center : float or None
        The certified value, where there is one; else the mean.

    Returns
    -------
    ControlLimits or None
        None for fewer than `LEAST_FOR_LIMITS` results, or where they do not scatter at all.
    """
    if len(baseline) < LEAST_FOR_LIMITS:
        return None
    s = stdev(baseline)
    if not s > 0:
        return None
    return ControlLimits(center=fmean(baseline) if center is None else center, s=s, n=len(baseline))


def signals(values: Sequence[float], limits: ControlLimits) -> tuple[Signal, ...]:
    """Results that break a rule, in the order of time.

    One beyond 3 s; two of three in a row beyond 2 s on the same side; eight in a row on one side of
    the center; one beyond 2 s (warning only).

    References
    ----------
    Western Electric, Statistical Quality Control Handbook, 1956, zone tests 1, 2 and 4; the warning
    limit is common practice of laboratories.

    Examples
    --------
    >>> signals([7.0, 7.25, 7.31], ControlLimits(center=7.0, s=0.1, n=20))[0].rule
    'beyond_warning'
    """
    scores = [(value - limits.center) / limits.s for value in values]
    found = []
    for index in range(len(scores)):
        rule = _rule(scores[: index + 1])
        if rule is not None:
            found.append(Signal(index=index, rule=rule))
    return tuple(found)


def _rule(scores: Sequence[float]) -> Rule | None:
    """Return the rule that the last of the scores breaks, given what came before it."""
    last = scores[-1]
    side = math.copysign(1, last)
    if abs(last) > 3:
        return "beyond_action"
    if abs(last) > 2 and sum(side * score > 2 for score in scores[-3:]) >= 2:
        return "two_of_three"
    if len(scores) >= RUN and all(side * score > 0 for score in scores[-RUN:]):
        return "run_of_eight"
    return "beyond_warning" if abs(last) > 2 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How fast a check standard's results move.

    Parameters
    ----------
    per_30_days : float
        Slope of the line through the results.
    low, high : float
        Its 90 % interval.
    n : int
        Results.
    """

    per_30_days: float
    low: float
    high: float
    n: int

    @property
    def is_sure(self) -> bool:
        """Whether the interval leaves out standing still."""
        return self.low > 0 or self.high < 0


def drift(
    days: Sequence[float], values: Sequence[float], *, coverage: float = COVERAGE
) -> Drift | None:
    """Straight line through results over time, least squares.

    Returns
    -------
    Drift or None
        None for fewer than four results, or where all are of one moment.

    Notes
    -----
    s_b = s / sqrt(Sxx), s = sqrt(SSE / (n - 2)), interval b -+ t(n - 2) s_b.
    """
    n = len(values)
    if n != len(days):
        raise ValueError(f"{len(days)} days do not go with {n} values")
    if n < 4:
        return None
    x0, y0 = fmean(days), fmean(values)
    sxx = sum((x - x0) ** 2 for x in days)
    if not sxx > 0:
        return None
    slope = sum((x - x0) * (y - y0) for x, y in zip(days, values, strict=True)) / sxx
    residual = sum((y - y0 - slope * (x - x0)) ** 2 for x, y in zip(days, values, strict=True))
    half = student_t((1 + coverage) / 2, n - 2) * math.sqrt(residual / (n - 2) / sxx)
    return Drift(per_30_days=30 * slope, low=30 * (slope - half), high=30 * (slope + half), n=n)
