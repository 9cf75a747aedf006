"""Repeatability, reproducibility and agreement against printed examples."""

import math
from collections import defaultdict

import pytest

from app.survey.agreement import (
    LIMIT_FACTOR,
    bland_altman,
    mandel_h_critical,
    precision,
)
from tests.published import published


def groups_of(name: str, key: str) -> dict[str, list[float]]:
    """Results of a printed table by group."""
    groups: dict[str, list[float]] = defaultdict(list)
    for row in published(name):
        groups[row[key]].append(float(row["value"]))
    return groups


def test_precision_agrees_with_a_printed_analysis_of_variance() -> None:
    """Groups of equal size: mean squares 15.86 and 3.16 give a between-run variance of 2.54."""
    found = precision(groups_of("precision_ferritin.csv", "run"))
    assert found is not None
    assert found.mean == pytest.approx(140.12, abs=0.5e-2)
    assert found.s_repeatability**2 == pytest.approx(3.16, abs=0.5e-2)
    assert found.s_between**2 == pytest.approx(2.54, abs=0.5e-2)
    assert found.s_reproducibility**2 == pytest.approx(3.16 + 2.54, abs=1e-2)


def test_precision_of_groups_of_different_size() -> None:
    """The printed three decimals come back; the example is from memory, see its file."""
    found = precision(groups_of("precision_sulfur.csv", "laboratory"))
    assert found is not None
    assert found.mean == pytest.approx(0.690, abs=0.5e-3)
    assert found.s_repeatability == pytest.approx(0.015, abs=0.5e-3)
    assert found.s_reproducibility == pytest.approx(0.026, abs=0.5e-3)
    assert found.repeatability_limit == pytest.approx(LIMIT_FACTOR * found.s_repeatability)


def test_groups_that_differ_no_more_than_their_scatter() -> None:
    """The variance between groups is never negative."""
    found = precision({"P1": (6.0, 6.4), "P2": (6.1, 6.3)})
    assert found is not None
    assert found.s_between == 0
    assert found.s_reproducibility == found.s_repeatability
    assert found.exceptional == ()


def test_who_differs_is_named() -> None:
    """One group far from many that agree stands apart by Mandel's h."""
    groups = {f"P{i}": (6.0 + i / 100, 6.02 + i / 100) for i in range(6)}
    found = precision({**groups, "P9": (7.0, 7.02)})
    assert found is not None
    assert found.exceptional == ("P9",)
    assert all(group.k == pytest.approx(1.0) for group in found.groups)


@pytest.mark.parametrize("p", [3, 5, 10])
def test_mandel_h_never_reaches_its_bound(p: int) -> None:
    """The largest h of p groups is (p - 1) / sqrt(p); the critical value lies below it."""
    assert 1 < mandel_h_critical(p) < (p - 1) / math.sqrt(p)


def test_nothing_to_compare() -> None:
    """One group, or nobody who measured twice, gives no precision."""
    assert precision({"P1": (6.0, 6.1)}) is None
    assert precision({"P1": (6.0,), "P2": (6.1,)}) is None
    assert precision({"P1": (6.0, 6.1), "P2": ()}) is None


def test_bland_altman_agrees_with_the_paper() -> None:
    """Bias and s as printed; the paper's interval of the lower limit takes 2 s, not 1.96 s."""
    rows = published("bland_altman_1986.csv")
    found = bland_altman([(float(row["wright"]), float(row["mini"])) for row in rows])
    assert found is not None
    assert found.bias == pytest.approx(-2.1, abs=0.05)
    assert found.s == pytest.approx(38.8, abs=0.05)
    lower = found.bias - 2 * found.s
    # The paper rounds at every step: t = 2.12, s / sqrt(n) sqrt(3) = 16.3, limit -79.7.
    assert lower - found.limit_error == pytest.approx(-114.3, abs=0.2)
    assert lower + found.limit_error == pytest.approx(-45.1, abs=0.2)


def test_two_pairs_say_nothing() -> None:
    """Fewer than three pairs have no limits."""
    assert bland_altman([(6.0, 6.1), (6.2, 6.1)]) is None
