"""The class of a soil's reaction, and pH in different liquids kept apart."""

import math
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from app.errors import OrderError
from app.soil.soil_reading import SoilReading
from app.soil.spread import Share, Spread, Z, exactly, shares
from app.soil.table_reader import load_table

_HALF_STEP = Decimal("0.05")


def rounded_ph(ph: float) -> Decimal:
    """Round a pH half up to one decimal, as the classes ask.

    Examples
    --------
    >>> str(rounded_ph(5.05)), str(rounded_ph(5.04))
    ('5.1', '5.0')
    """
    return Decimal(str(ph)).quantize(Decimal("0.1"), ROUND_HALF_UP)


@cache
def reaction_classes() -> tuple[str, ...]:
    """Names of the classes, most acid first."""
    return tuple(row.text("name") for row in load_table("reaction_classes"))


@cache
def _limits() -> tuple[float, ...]:
    """Lowest pH of each class but the first, before rounding."""
    rows = tuple(load_table("reaction_classes"))[1:]
    return tuple(float(Decimal(row.text("from")) - _HALF_STEP) for row in rows)


def reaction_class(ph: float) -> str:
    """Return the USDA class of a pH in water.

    Examples
    --------
    >>> reaction_class(6.55), reaction_class(3.44)
    ('neutral', 'ultra acid')
    """
    return reaction_shares(exactly(float(rounded_ph(ph))))[0].label


def reaction_shares(ph: Spread) -> tuple[Share, ...]:
    """Return the classes that the 90 % interval touches, each with its probability.

    Examples
    --------
    >>> [share.label for share in reaction_shares(Spread(value=6.4, low=6.2, high=6.6))]
    ['slightly acid', 'neutral']
    """
    return shares(ph, _limits(), reaction_classes())


def estimated_in_water(reading: SoilReading) -> SoilReading:
    """Estimate the pH in water from one in calcium chloride, only because the user asks for it.

    The difference varies from soil to soil; its standard uncertainty is added to the reading's as
    a sum of squares. The result is never to be mixed with measured values.

    Raises
    ------
    OrderError
        If no difference is known for the medium.
    """
    if reading.medium == "water":
        return reading
    rows = [row for row in load_table("ph_media") if row.text("medium") == reading.medium]
    spread = reading.spread()
    if not rows or spread is None:
        raise OrderError(
            "This pH cannot be turned into a pH in water: no difference is known here.",
            what_to_do="Measure the pH in water.",
        )
    value = spread.value + rows[0].number("add_to_get_water")
    half = Z * rows[0].number("standard_uncertainty")
    low = value - math.hypot(spread.value - spread.low, half)
    high = value + math.hypot(spread.high - spread.value, half)
    return replace(reading, medium="water", value=value, low=low, high=high)
