"""Pooling, outliers and pH means agree with printed values and with SciPy."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from app.survey.statistics import (
    grubbs,
    grubbs_critical,
    mean_kind,
    pool,
    student_t,
    subtract_blank,
)
from tests.published import published

values = st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=12)


def test_grubbs_agrees_with_the_nist_example() -> None:
    """Agrees to the last decimal that is printed."""
    rows = published("grubbs_nist.csv")
    data = [float(row["value"]) for row in rows if row["what"] == "datum"]
    printed = {row["what"]: float(row["value"]) for row in rows if row["what"] != "datum"}
    test = grubbs(data)
    assert test is not None
    assert test.index == 7
    assert test.g == pytest.approx(printed["g"], abs=1e-4)  # printed cut, not rounded: 2.46876
    assert test.critical == pytest.approx(printed["critical_two_sided"], abs=0.5e-4)
    assert grubbs_critical(8, alpha=0.1) == pytest.approx(printed["critical_one_sided"], abs=0.5e-3)
    assert test.is_outlier


def test_grubbs_needs_three_results_that_scatter() -> None:
    """Two results, or equal ones, have no outlier."""
    assert grubbs([1.0, 2.0]) is None
    assert grubbs([6.3, 6.3, 6.3, 6.3]) is None
    assert grubbs([0.1 + 0.2, 0.3, 0.3]) is None


@pytest.mark.parametrize("n", [3, 5, 20])
def test_the_critical_value_is_passed_by_chance_once_in_twenty(n: int) -> None:
    """Normal results pass the critical value as often as it says, within three standard errors."""
    import numpy as np

    rows = np.random.default_rng(n).normal(size=(4000, n))
    g = np.abs(rows - rows.mean(axis=1, keepdims=True)).max(axis=1) / rows.std(axis=1, ddof=1)
    share = float((g > grubbs_critical(n)).mean())
    assert share == pytest.approx(0.05, abs=3 * math.sqrt(0.05 * 0.95 / 4000))


@given(values)
def test_pooling_agrees_with_scipy(series: list[float]) -> None:
    """Mean and interval are those of SciPy's t distribution."""
    pooled = pool(series)
    assert pooled.s is not None
    if pooled.s > 1e-6:
        low, high = stats.t.interval(
            0.90, len(series) - 1, loc=pooled.mean, scale=stats.sem(series)
        )
        assert pooled.low == pytest.approx(low, rel=1e-6, abs=1e-6)
        assert pooled.high == pytest.approx(high, rel=1e-6, abs=1e-6)
    assert student_t(0.95, len(series) - 1) == pytest.approx(stats.t.ppf(0.95, len(series) - 1))


def test_a_single_result_has_no_scatter() -> None:
    """What is unknown stays unknown."""
    pooled = pool([6.2])
    assert (pooled.s, pooled.low, pooled.high) == (None, None, None)


@pytest.mark.parametrize("bad", [[], [math.nan], [math.inf, 1.0]])
def test_nonsense_is_refused(bad: list[float]) -> None:
    """Nothing, or no number, has no mean."""
    with pytest.raises(ValueError, match=r"values"):
        pool(bad)


@pytest.mark.parametrize(
    ("phs", "arithmetic", "activity"),
    [
        ((5.2, 5.4, 5.9), 5.50, 5.41456),  # an extension office's example; activity computed
        ((4.5, 5.5, 6.5), 5.5, 4.9318),  # computed from the definition
    ],
)
def test_means_of_ph(phs: tuple[float, ...], arithmetic: float, activity: float) -> None:
    """Soils are averaged as they are, waters by the ion, and the result says which."""
    soil = pool(phs, how=mean_kind("ph", "soil"))
    water = pool(phs, how=mean_kind("ph", "water"))
    assert (soil.how, water.how) == ("arithmetic", "activity")
    assert soil.mean == pytest.approx(arithmetic, abs=0.5e-4)
    assert water.mean == pytest.approx(activity, abs=0.5e-4)
    assert water.low is not None
    assert water.low < water.mean


def test_the_interval_of_an_activity_mean_may_be_open() -> None:
    """Where the ion's mean may be zero, pH has no upper end."""
    assert pool((4.0, 7.0), how="activity").high is None


def test_blanks_are_taken_off_with_their_scatter() -> None:
    """Variances of both means add; a result below the blank stays negative."""
    corrected = subtract_blank([1.0, 1.2], [2.0, 2.4])
    assert corrected.value == pytest.approx(-1.1)
    assert corrected.standard_uncertainty == pytest.approx(math.hypot(0.1, 0.2))
    assert subtract_blank([1.0], [2.0, 2.4]).standard_uncertainty is None
