"""Shewhart limits, the rules that break them, and drift."""

import pytest
from scipy import stats

from app.survey.control_chart import ControlLimits, control_limits, drift, signals

LIMITS = ControlLimits(center=7.0, s=0.1, n=20)


def rules_of(*scores: float) -> list[tuple[int, str]]:
    """Rules broken by results that lie so many standard deviations from the center."""
    found = signals([LIMITS.center + LIMITS.s * score for score in scores], LIMITS)
    return [(signal.index, signal.rule) for signal in found]


def test_limits_are_two_and_three_standard_deviations() -> None:
    """Center from the mean, or from a certificate."""
    baseline = [6.9, 7.1] * 5
    limits = control_limits(baseline)
    assert limits is not None
    assert limits.s == pytest.approx(0.105409, abs=1e-6)
    assert limits.warning == pytest.approx((7 - 2 * limits.s, 7 + 2 * limits.s))
    assert limits.action == pytest.approx((7 - 3 * limits.s, 7 + 3 * limits.s))
    certified = control_limits(baseline, center=7.02)
    assert certified is not None
    assert certified.center == 7.02


def test_few_or_equal_results_make_no_limits() -> None:
    """Unknown stays unknown."""
    assert control_limits([7.0, 7.1] * 3) is None
    assert control_limits([7.0] * 20) is None


def test_rules() -> None:
    """Each rule is broken by its own pattern, by the last result of it, and not one earlier."""
    assert rules_of(0, 3.1) == [(1, "beyond_action")]
    assert rules_of(0, -3.1) == [(1, "beyond_action")]
    assert rules_of(2.1, 0, 2.1) == [(0, "beyond_warning"), (2, "two_of_three")]
    assert rules_of(2.1, 0, 0, 2.1) == [(0, "beyond_warning"), (3, "beyond_warning")]
    assert rules_of(2.1, -2.1) == [(0, "beyond_warning"), (1, "beyond_warning")]
    assert rules_of(*[0.5] * 7) == []
    assert rules_of(*[0.5] * 8) == [(7, "run_of_eight")]
    assert rules_of(*[-0.5] * 9) == [(7, "run_of_eight"), (8, "run_of_eight")]
    assert rules_of(0.5, 0.5, 0.5, -0.5, 0.5, 0.5, 0.5, 0.5) == []
    assert rules_of(1.9, -1.9, 0) == []


def test_warnings_are_no_actions() -> None:
    """One result beyond the warning limit is only watched."""
    (warning,) = signals([7.25], LIMITS)
    assert not warning.is_action
    (action,) = signals([7.35], LIMITS)
    assert action.is_action


def test_drift_agrees_with_scipy() -> None:
    """Slope and its interval are those of SciPy's regression."""
    days = [0.0, 3.0, 8.0, 15.0, 31.0]
    values = [7.00, 7.03, 7.05, 7.04, 7.16]
    found = drift(days, values)
    expected = stats.linregress(days, values)
    half = stats.t.ppf(0.95, 3) * expected.stderr
    assert found is not None
    assert found.per_30_days == pytest.approx(30 * expected.slope)
    assert (found.low, found.high) == pytest.approx(
        (30 * (expected.slope - half), 30 * (expected.slope + half))
    )
    assert found.is_sure


def test_drift_needs_time_and_results() -> None:
    """Three results, or all of one moment, tell nothing of time."""
    assert drift([0, 1, 2], [7, 7, 7]) is None
    assert drift([5, 5, 5, 5], [7, 7.1, 7, 7.1]) is None
    with pytest.raises(ValueError, match="do not go with"):
        drift([1, 2], [7.0])
