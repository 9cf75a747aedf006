"""Sulphur beside printed rates; sources that disagree make a range."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import OrderError
from app.soil.spread import Spread, exactly
from app.soil.sulphur import (
    sulphur_for_free_lime,
    sulphur_for_reading,
    sulphur_needed,
    sulphur_per_step,
)

# Michigan State data as reprinted, lb/acre to pH 4.5; kg/ha computed
MICHIGAN = [
    (5.0, (196, 594, 897)),
    (5.5, (392, 1154, 1793)),
    (6.0, (594, 1726, 2578)),
    (6.5, (740, 2264, 3396)),
    (7.0, (942, 2869, 4293)),
]


@pytest.mark.parametrize(("start", "rates"), MICHIGAN)
def test_michigan(start: float, rates: tuple[int, ...]) -> None:
    """To pH 4.5, in kg/ha."""
    for group, rate in zip(("sand", "loam", "clay"), rates, strict=True):
        found = sulphur_per_step("sulphur_michigan", group, start, 4.5)
        assert found is not None
        assert found.rate * 10 == pytest.approx(rate, abs=0.55)


@pytest.mark.parametrize(
    ("start", "pounds"),
    [
        (7.0, (100, 150, 300)),
        (7.5, (500, 800, 1000)),
        (8.0, (1200, 1500, 2000)),
        (8.5, (2000, 2500, 3000)),
    ],
)
def test_western(start: float, pounds: tuple[int, ...]) -> None:
    """Western Fertilizer Handbook (from memory), lb/acre to 6.5; 1 lb/acre is 0.1121 g/m2."""
    for group, rate in zip(("sand", "loam", "clay"), pounds, strict=True):
        found = sulphur_per_step("sulphur_western", group, start, 6.5)
        assert found is not None
        assert found.rate == pytest.approx(rate * 0.112085, rel=1e-5)


def test_rhs() -> None:
    """135 g/m2 on sand, 270 on clay, for one unit of pH in the top 15 cm."""
    for group, grams in (("sand", 135), ("clay", 270)):
        found = sulphur_per_step("sulphur_rhs", group, 7.25, 6.25)
        assert found is not None
        assert found.rate == pytest.approx(grams)


def test_the_disagreement_is_shown() -> None:
    """7.5 to 6.5 on sand: 56 by one source, 135 by another, which holds 2 to 10 times as much."""
    found = sulphur_needed(7.5, 6.5, "sand")
    assert found.high == pytest.approx(135)
    assert found.low == pytest.approx(500 * 0.112085, rel=1e-5)
    assert len(found.citations) == 3


def test_one_source_alone_is_kept() -> None:
    """Down to 4.5 only Michigan has figures."""
    found = sulphur_needed(5.5, 4.5, "loam")
    assert found.low == found.high == pytest.approx(115.4, abs=0.1)
    assert len(found.citations) == 1


@pytest.mark.parametrize(
    ("start", "target", "texture", "what"),
    [
        (9.0, 6.5, "loam", "No table of sulphur reaches"),
        (5.0, 4.0, "loam", "No table of sulphur reaches"),
        (7.0, 6.5, "peat", "do not cover peat"),
    ],
)
def test_tables_are_not_stretched(start: float, target: float, texture: str, what: str) -> None:
    """Beyond them nothing is said."""
    with pytest.raises(OrderError, match=what):
        sulphur_needed(start, target, texture)


def test_a_soil_that_may_be_right_may_need_none() -> None:
    """The range of blueberry ground at 6.0 +- 0.3 begins at 0; inside the range it is 0."""
    wide = sulphur_for_reading(
        Spread(value=6.1, low=5.8, high=6.4), upper_limit=6.0, target=5.0, texture="loam"
    )
    assert wide.low == 0 < wide.high
    inside = sulphur_for_reading(exactly(5.5), upper_limit=6.0, target=5.0, texture="loam")
    assert (inside.low, inside.high) == (0, 0)
    with pytest.raises(OrderError, match=r"end at pH 8\.5"):
        sulphur_for_reading(
            Spread(value=8.4, low=8.0, high=8.8), upper_limit=6.0, target=5.0, texture="loam"
        )


@given(
    ph=st.floats(4.6, 8.0),
    step=st.floats(0, 0.5),
    target=st.floats(4.5, 7.0),
    texture=st.sampled_from(["sand", "silt loam", "clay"]),
)
def test_sulphur_rises_with_ph(ph: float, step: float, target: float, texture: str) -> None:
    """Both ends, never below zero, low never above high."""
    less, more = (sulphur_needed(at, target, texture) for at in (ph, ph + step))
    assert 0 <= less.low <= less.high + 1e-9
    assert less.low <= more.low + 1e-9
    assert less.high <= more.high + 1e-9


def test_free_lime_uses_up_sulphur() -> None:
    """1 % in 15 cm is about 20 t/ha of CaCO3 and 6 t/ha of S (computed for about 1.3 g/cm3)."""
    found = sulphur_for_free_lime(1, bulk_density_g_cm3=1.3, depth_cm=15)
    assert found == pytest.approx(6, abs=0.5)
    assert found * 3.12 == pytest.approx(20, abs=1)
