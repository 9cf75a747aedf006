"""Intervals, probabilities of classes, and what becomes of them in a formula."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.soil.spread import Spread, carried, exactly, shares

sides = st.floats(0.01, 3)


@st.composite
def spreads(draw: st.DrawFn) -> Spread:
    """Any lopsided interval round a value."""
    value = draw(st.floats(3, 10))
    return Spread(value=value, low=value - draw(sides), high=value + draw(sides))


@given(spreads())
def test_ninety_percent_lie_inside(spread: Spread) -> None:
    """5 % beyond each end, half on each side of the value."""
    assert spread.below(spread.low) == pytest.approx(0.05)
    assert spread.below(spread.high) == pytest.approx(0.95)
    assert spread.below(spread.value) == pytest.approx(0.5)


@given(spreads(), st.floats(0.01, 0.99))
def test_quantile_and_probability_are_inverse(spread: Spread, probability: float) -> None:
    """One undoes the other."""
    assert spread.below(spread.quantile(probability)) == pytest.approx(probability, abs=1e-9)


@given(spreads(), st.lists(st.floats(2, 12), min_size=1, max_size=6, unique=True))
def test_classes_hold_the_interval(spread: Spread, limits: list[float]) -> None:
    """What the interval touches holds at least its 90 %, and never more than everything."""
    total = sum(share.probability for share in shares(spread, sorted(limits), "abcdefg"))
    assert 0.9 - 1e-9 <= total <= 1 + 1e-9


def test_an_exact_number_is_in_one_class() -> None:
    """A limit belongs to the class above it."""
    (share,) = shares(exactly(6.0), [6.0], "ab")
    assert (share.label, share.probability) == ("b", 1.0)


@pytest.mark.parametrize(
    "bad", [(5.0, 6.0, 7.0), (5.0, 4.0, 4.5), (math.nan, 1.0, 2.0), (1.0, 0.0, math.inf)]
)
def test_nonsense_is_refused(bad: tuple[float, float, float]) -> None:
    """The value lies inside its interval."""
    value, low, high = bad
    with pytest.raises(ValueError, match="low <= value <= high"):
        Spread(value=value, low=low, high=high)


def test_monte_carlo_of_a_sum() -> None:
    """Two normal numbers: widths add up as squares (JCGM 100), within the noise of the draws."""
    one = Spread(value=10.0, low=7.0, high=13.0)
    other = Spread(value=20.0, low=16.0, high=24.0)
    total = carried(lambda a, b: a + b, one, other, seed=1, draws=20_000)
    assert total.value == 30
    assert total.high - total.low == pytest.approx(10.0, rel=0.03)


def test_the_same_seed_gives_the_same_range() -> None:
    """And another one another."""
    spread = Spread(value=6.0, low=5.0, high=7.0)
    first, again, other = (carried(lambda x: x * x, spread, seed=seed) for seed in (3, 3, 4))
    assert first == again != other


def test_nothing_is_drawn_without_uncertainty() -> None:
    """Exact inputs give an exact result."""
    assert carried(lambda x: 2 * x, exactly(1.5), seed=0) == exactly(3.0)
