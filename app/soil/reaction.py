"""The class of a soil's reaction, and pH in different liquids kept apart."""

import math
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from functools import cache

from app.errors import OrderError
from app.soil.soil_reading import SoilReading
from app.soil.spread import Share, Spread, Z, exactly, shares
from app.soil.statement import CalculationStep
from app.soil.table_reader import Row, load_table

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


def can_be_estimated(reading: SoilReading) -> bool:
    """Whether a pH in water (1:1) can be estimated from another liquid or ratio."""
    return reading.value is not None and _conversion(reading) is not None


def _conversion(reading: SoilReading) -> Row | None:
    is_water = reading.medium == "water"
    wanted = f"water {reading.ratio}" if is_water else reading.medium
    return next((row for row in load_table("ph_media") if row.text("from") == wanted), None)


def estimate_step(reading: SoilReading) -> CalculationStep:
    """Return the step that a reading takes to an estimate in water."""
    row = _conversion(reading)
    assert row is not None  # asked for only where `can_be_estimated`
    more = row.number("add_to_get_water", signed=True)
    text = (
        f"pH in water = {reading.value:.3g} {'+' if more > 0 else '-'} {abs(more):g}, with a "
        f"standard uncertainty of {row.number('standard_uncertainty'):g} of its own"
    )
    return CalculationStep(text=text, citation=load_table("ph_media").citation)


def estimated_in_water(reading: SoilReading) -> SoilReading:
    """Estimate the pH in water from another liquid, or 1:1 from 1:5, only on the user's request.

    The difference varies from soil to soil; its standard uncertainty is added to the reading's as
    a sum of squares. The result is never to be mixed with measured values. In calcium chloride the
    ratio hardly matters, so that only one of the two is converted.

    Raises
    ------
    OrderError
        If no difference is known for the liquid.
    """
    row, spread = _conversion(reading), reading.spread()
    if row is None and reading.medium == "water":
        return reading
    if row is None or spread is None:
        raise OrderError(
            "This pH cannot be turned into a pH in water: no difference is known here.",
            what_to_do="Measure the pH in water.",
        )
    value = spread.value + row.number("add_to_get_water", signed=True)
    half = Z * row.number("standard_uncertainty")
    low = value - math.hypot(spread.value - spread.low, half)
    high = value + math.hypot(spread.high - spread.value, half)
    ratio = "1:1" if reading.medium == "water" else reading.ratio
    return replace(reading, medium="water", value=value, low=low, high=high, ratio=ratio)
