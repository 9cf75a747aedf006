"""Conversions are exact, and the same there and back."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.soil.units import (
    Amount,
    conversion_factor,
    convert,
    is_rate,
    mass_of_element,
    molar_mass,
    rate_unit,
)

RATES = ("kg/ha", "g/m2", "t/ha", "lb/acre", "ton/acre", "lb/1000 ft2", "lb/100 ft2", "oz/yd2")


@pytest.mark.parametrize(
    ("source", "target", "factor"),
    [
        # NIST Handbook 44, Appendix C: the acre is 4046.8564224 m2, the pound 0.45359237 kg
        ("acre", "m2", 4046.8564224),
        ("lb", "kg", 0.45359237),
        ("in", "cm", 2.54),
        ("ton", "kg", 907.18474),
    ],
)
def test_definitions(source: str, target: str, factor: float) -> None:
    """Exactly the defined number."""
    assert convert(1, source, target) == factor


@pytest.mark.parametrize(
    ("source", "target", "factor", "half_digit"),
    [
        # computed in double precision from the definitions; 46 lb/1000 ft2 is printed by NCDA&CS
        ("kg/ha", "lb/acre", 0.8922, 5e-5),
        ("ton/acre", "t/ha", 2.2417, 5e-5),
        ("ton/acre", "lb/1000 ft2", 45.914, 5e-4),
        ("lb/1000 ft2", "g/m2", 4.8824, 5e-5),
        ("ton/acre", "lb/1000 ft2", 46, 0.5),
    ],
)
def test_field_factors(source: str, target: str, factor: float, half_digit: float) -> None:
    """Agree to the last digit; the rounded factors themselves are never used."""
    assert convert(1, source, target) == pytest.approx(factor, abs=half_digit)


@given(value=st.floats(1e-6, 1e9), source=st.sampled_from(RATES), target=st.sampled_from(RATES))
def test_round_trip(value: float, source: str, target: str) -> None:
    """There and back is the same number, to the last bit or two."""
    there = convert(value, source, target)
    assert convert(there, target, source) == pytest.approx(value, rel=4e-16)


@given(first=st.sampled_from(RATES), middle=st.sampled_from(RATES), last=st.sampled_from(RATES))
def test_a_detour_changes_no_factor(first: str, middle: str, last: str) -> None:
    """Factors are fractions: a chain of two is the direct one."""
    chained = conversion_factor(first, middle) * conversion_factor(middle, last)
    assert chained == conversion_factor(first, last)


@pytest.mark.parametrize(("source", "target"), [("kg", "m2"), ("stone", "kg"), ("kg/ha", "kg")])
def test_what_cannot_be_converted(source: str, target: str) -> None:
    """A mistake of the program's, not of the user's."""
    with pytest.raises(ValueError, match="is"):
        convert(1, source, target)


@pytest.mark.parametrize(
    ("form", "factor"),
    # computed from atomic weights; NCDA&CS prints the rounded 2.29 and 1.2
    [("P2O5", 2.2914), ("K2O", 1.2046), ("NO3", 4.4268), ("NH4", 1.2878)],
)
def test_forms(form: str, factor: float) -> None:
    """Mass of the form that holds one mass of the element."""
    assert 1 / mass_of_element(form) == pytest.approx(factor, abs=5e-5)


@pytest.mark.parametrize("form", ["NO3-N", "NH4-N", "P", "K"])
def test_an_element_is_itself(form: str) -> None:
    """Nothing is converted where nothing has to be."""
    assert mass_of_element(form) == 1


@pytest.mark.parametrize(
    ("formula", "cce", "tolerance"),
    [
        # University of Nebraska prints whole percent; MgO is printed as 250 (its formula: 248.3)
        ("CaCO3", 100, 0.5),
        ("MgCO3", 119, 0.5),
        ("CaO2H2", 135, 0.5),
        ("MgO2H2", 172, 0.5),
        ("CaO", 178, 0.5),
        ("MgO", 250, 2),
    ],
)
def test_molar_masses_give_the_printed_cce(formula: str, cce: float, tolerance: float) -> None:
    """Each mole of Ca or Mg neutralizes as much as one of CaCO3."""
    computed = 100 * molar_mass("CaCO3") / molar_mass(formula)
    assert computed == pytest.approx(cce, abs=tolerance)


def test_sulphur_against_lime() -> None:
    """1 kg of S takes 3.12 kg of CaCO3 (both give or take two charges)."""
    assert molar_mass("CaCO3") / molar_mass("S") == pytest.approx(3.12, abs=0.005)


def test_an_amount_in_both_systems() -> None:
    """Range and figure go along; what has no counterpart stays."""
    amount = Amount(name="rate", unit="g/m2", best=4.8824, low=1.0, high=10.0)
    us = amount.in_system("us")
    assert (us.unit, us.best) == ("lb/1000 ft2", pytest.approx(1.0, abs=1e-5))
    assert us.in_system("si").high == pytest.approx(10.0)
    assert amount.in_system("si") == amount
    bags = Amount(name="bags", unit="1", best=3.0)
    assert bags.in_system("us") == bags


@pytest.mark.parametrize(
    "bad",
    [
        {},
        {"low": 1.0},
        {"best": -1.0},
        {"best": 3.0, "low": 1.0, "high": 2.0},
        {"best": float("nan")},
        {"low": 1.0, "high": float("inf")},
    ],
)
def test_an_amount_is_never_nonsense(bad: dict[str, float]) -> None:
    """Negative, unordered and endless amounts cannot be made."""
    with pytest.raises(ValueError, match=r"amount|needs|together"):
        Amount(name="rate", unit="kg/ha", **bad)


def test_small_areas_are_thought_of_in_grams() -> None:
    """A bed in g/m2, a field in kg/ha; both are rates."""
    assert rate_unit(50) == "g/m2"
    assert rate_unit(20_000) == rate_unit(None) == "kg/ha"
    assert is_rate("lb/100 ft2")
    assert not is_rate("mg/kg")
