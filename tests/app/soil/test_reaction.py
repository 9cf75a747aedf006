"""Classes of reaction at their edges, across them, and in other liquids."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.errors import OrderError
from app.soil.reaction import (
    estimated_in_water,
    reaction_class,
    reaction_classes,
    reaction_shares,
)
from app.soil.soil_reading import SoilReading
from app.soil.spread import Spread


@pytest.mark.parametrize(
    ("ph", "name"),
    [
        # USDA Soil Survey Manual / NRCS 1998; rounded half up to 0.1 first
        (5.04, "very strongly acid"),
        (5.05, "strongly acid"),
        (6.55, "neutral"),
        (7.34, "neutral"),
        (3.44, "ultra acid"),
        (3.45, "extremely acid"),
        (4.5, "very strongly acid"),
        (5.6, "moderately acid"),
        (6.1, "slightly acid"),
        (7.4, "slightly alkaline"),
        (7.9, "moderately alkaline"),
        (8.5, "strongly alkaline"),
        (9.0, "strongly alkaline"),
        (9.1, "very strongly alkaline"),
        (0.0, "ultra acid"),
        (14.0, "very strongly alkaline"),
    ],
)
def test_edges(ph: float, name: str) -> None:
    """Each class begins where it is printed to begin."""
    assert reaction_class(ph) == name


@given(st.floats(0, 14), st.floats(0, 14))
def test_classes_rise_with_ph(one: float, other: float) -> None:
    """Never a more acid class at a higher pH."""
    order = reaction_classes()
    low, high = sorted((one, other))
    assert order.index(reaction_class(low)) <= order.index(reaction_class(high))


def test_both_classes_are_named() -> None:
    """6.5 +- 0.3 crosses 6.55; the chances are those of a normal distribution."""
    shares = reaction_shares(Spread(value=6.5, low=6.2, high=6.8))
    assert [share.label for share in shares] == ["slightly acid", "neutral"]
    # z of 6.55 is 0.05 x 1.6449 / 0.3 = 0.2741, of 6.05 it is -2.467: 0.6080 - 0.0068
    assert shares[0].probability == pytest.approx(0.6012, abs=5e-4)


def test_a_narrow_interval_names_one() -> None:
    """Nothing is hedged that need not be."""
    (share,) = reaction_shares(Spread(value=7.0, low=6.9, high=7.1))
    assert share.label == "neutral"


def test_calcium_chloride_is_estimated_with_its_own_doubt() -> None:
    """Water is taken 0.6 above, standard uncertainty 0.3 (from memory), added as squares."""
    reading = SoilReading(quantity="ph", value=5.0, low=4.8, high=5.2, medium="cacl2")
    water = estimated_in_water(reading)
    assert (water.medium, water.value) == ("water", pytest.approx(5.6))
    assert water.high == pytest.approx(5.6 + (0.2**2 + (1.6449 * 0.3) ** 2) ** 0.5, abs=1e-4)


@pytest.mark.parametrize("medium", ["kcl", None])
def test_no_difference_is_invented(medium: str | None) -> None:
    """Potassium chloride, or an unknown liquid."""
    with pytest.raises(OrderError, match="no difference is known"):
        estimated_in_water(SoilReading(quantity="ph", value=5.0, medium=medium))


def test_water_stays_as_it_is() -> None:
    """Nothing to do."""
    reading = SoilReading(quantity="ph", value=5.0, medium="water")
    assert estimated_in_water(reading) is reading
