"""Statistics beside worked values, to the decimals that are printed."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from calibration.statistics import (
    brier_score,
    clopper_pearson,
    expected_calibration_error,
    inverse_prediction,
)
from tests.published import published

X = (4.0, 5.0, 6.0, 7.0, 8.0)
Y = (0.10, 0.31, 0.49, 0.72, 0.89)


@pytest.mark.parametrize(
    "row", published("inverse_prediction.csv"), ids=lambda row: f"m={row['repeats']}"
)
def test_inverse_prediction_matches_the_worked_example(row: dict[str, str]) -> None:
    """More repeats narrow the interval as the formula says."""
    found = inverse_prediction(X, Y, 0.60, repeats=int(row["repeats"]))
    assert found.value == pytest.approx(float(row["value"]), abs=5e-5)
    assert found.standard_uncertainty == pytest.approx(float(row["standard_uncertainty"]), abs=5e-6)
    assert found.half_width == pytest.approx(float(row["half_width_95"]), abs=5e-5)
    assert found.approximation == pytest.approx(0.00571, abs=5e-6)


@pytest.mark.parametrize(
    ("x", "y"), [((1, 2), (1, 2)), ((3, 3, 3), (1, 2, 3)), ((1, 2, 3), (2, 2, 2))]
)
def test_a_line_that_cannot_be_read_backwards_is_refused(
    x: tuple[float, ...], y: tuple[float, ...]
) -> None:
    """Too few points, one x, or a level line."""
    with pytest.raises(ValueError, match=r"line|points"):
        inverse_prediction(x, y, 1.0)


def test_calibration_of_confidence_matches_the_worked_example() -> None:
    """Expected calibration error 0.1900, Brier score 0.1808."""
    rows = published("confidence_outcomes.csv")
    confidences = [float(row["confidence"]) for row in rows]
    outcomes = [row["outcome"] == "1" for row in rows]
    error = expected_calibration_error(confidences, outcomes, bins=5)
    assert error == pytest.approx(0.1900, abs=5e-5)
    assert brier_score(confidences, outcomes) == pytest.approx(0.1808, abs=5e-5)


@pytest.mark.parametrize("confidences", [[], [1.5], [float("nan")], [0.5, 0.5]])
def test_confidences_that_cannot_be_are_refused(confidences: list[float]) -> None:
    """They must be 0 to 1, and as many as outcomes."""
    with pytest.raises(ValueError, match="confidences"):
        brier_score(confidences, [True])


def test_certainty_falls_into_the_last_bin() -> None:
    """A confidence of 1 has a bin."""
    assert expected_calibration_error([1.0, 1.0], [True, True]) == 0


def test_clopper_pearson_matches_the_printed_interval() -> None:
    """45 of 50 at 95 %: 0.7819 to 0.9667; the ends are closed where nothing or all was hit."""
    low, high = clopper_pearson(45, 50)
    assert low == pytest.approx(0.7819, abs=5e-5)
    assert high == pytest.approx(0.9667, abs=5e-5)
    assert clopper_pearson(0, 50)[0] == 0
    assert clopper_pearson(50, 50)[1] == 1
    # nothing in n trials: the closed form 1 - (alpha/2)^(1/n)
    assert clopper_pearson(0, 50)[1] == pytest.approx(1 - 0.025 ** (1 / 50))


@given(data=st.data(), trials=st.integers(1, 400), level=st.floats(0.5, 0.999))
def test_clopper_pearson_agrees_with_scipy(data: st.DataObject, trials: int, level: float) -> None:
    """SciPy's exact binomial interval is the reference."""
    hits = data.draw(st.integers(0, trials))
    reference = binomtest(hits, trials).proportion_ci(level, method="exact")
    found = clopper_pearson(hits, trials, level=level)
    assert found == pytest.approx((reference.low, reference.high), abs=1e-9)


@pytest.mark.parametrize(("hits", "trials"), [(-1, 5), (6, 5), (0, 0)])
def test_shares_that_cannot_be_are_refused(hits: int, trials: int) -> None:
    """Hits lie between nothing and all."""
    with pytest.raises(ValueError, match="hits"):
        clopper_pearson(hits, trials)
