"""Repeats as one value: between the scatter alone and the readings' own intervals alone."""

import math

import numpy as np
import pytest

from app.survey.repeats import Repeat, half_width, put_together
from app.survey.statistics import pool


def test_without_own_intervals_it_is_students_interval() -> None:
    """Quantiles of one and four degrees of freedom as in printed tables: 6.314, 2.132."""
    pair = pool([6.0, 6.2])
    assert half_width(None, pair) == pytest.approx(6.314 * 0.1, abs=5e-5)
    five = pool([1.0, 2.0, 3.0, 4.0, 5.0])
    assert half_width(None, five) == pytest.approx(2.132 * math.sqrt(2.5 / 5), abs=5e-4)


def test_without_scatter_it_is_the_own_interval() -> None:
    """What the repeats share does not shrink with their number."""
    same = [Repeat(value=6.2, low=6.0, high=6.45)] * 4
    found = put_together(same)
    assert (found.value, found.low, found.high) == pytest.approx((6.2, 6.0, 6.45))
    open_ended = put_together([Repeat(value=6.2, low=None, high=None)] * 2)
    assert (open_ended.low, open_ended.high) == (None, None)


def test_more_scatter_never_narrows_it() -> None:
    """The interval grows with the distance of the repeats."""
    widths = [half_width(0.2, pool([6.0, 6.0 + apart])) for apart in (0, 0.01, 0.1, 0.3, 1, 3)]
    known = [width for width in widths if width is not None]
    assert known == sorted(known)
    assert known[0] == 0.2


def test_an_outlier_is_named_and_stays_in_the_mean() -> None:
    """Grubbs' test names it by its place."""
    values = [6.2, 6.21, 6.19, 6.2, 6.22, 7.5]
    found = put_together([Repeat(value=v, low=v - 0.2, high=v + 0.2) for v in values])
    assert found.outlier == 5
    assert found.value == pytest.approx(sum(values) / 6)


@pytest.mark.parametrize("count", [1, 2, 3, 5])
def test_it_covers_the_truth_at_least_as_often_as_it_says(count: int) -> None:
    """Drawn: what the repeats share, what each tube adds, and soil that differs in each bag.

    A single reading knows nothing of the last, so it is left out there.
    """
    draw = np.random.default_rng(3)
    shared, tube, bag, times = 0.10, 0.08, 0.10 if count > 1 else 0.0, 600
    own = 1.645 * math.hypot(shared, tube)
    hits = 0
    for _ in range(times):
        values = draw.normal(0, shared) + draw.normal(0, math.hypot(tube, bag), count)
        found = put_together([Repeat(value=v, low=v - own, high=v + own) for v in values.tolist()])
        hits += (found.low or 0) <= 0 <= (found.high or 0)
    assert hits / times >= 0.90 - 2 * math.sqrt(0.9 * 0.1 / times)
