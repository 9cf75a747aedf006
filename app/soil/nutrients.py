"""From what a tube says to what the soil holds: mg/kg, mass per area, category.

Nothing is computed from what is unknown: the answer then says what to fill in.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from app.soil.region_tables import CATEGORIES, CategoryScale
from app.soil.soil_reading import Plot, SoilReading, bulk_density
from app.soil.spread import Share, Spread, shares
from app.soil.statement import CalculationStep
from app.soil.table_reader import load_table
from app.soil.units import LBS_PER_ACRE_PER_MG_PER_KG, Amount, mass_of_element
from calibration.indicator import normal_ratio

_FORMS = {"nitrogen": "NO3-N or NO3", "phosphorus": "P or P2O5", "potassium": "K or K2O"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Content:
    """What a soil holds of an element.

    Parameters
    ----------
    element : {"N", "P", "K"} or str
        The element, or the reading's own quantity.
    unit : {"mg/kg", "mg/L"}
        Per kilogram of dry soil, or per litre of soil.
    spread : Spread
        The amount with its interval.
    notes : tuple of str
        What was assumed on the way.
    steps : tuple of CalculationStep
        How it was computed.
    """

    element: str
    unit: str
    spread: Spread
    notes: tuple[str, ...] = ()
    steps: tuple[CalculationStep, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """Why something was not computed, and what to fill in."""

    missing: str
    fill_in: str


def extract_factor(
    ratio: tuple[float, float], *, scoop_density: float | None = None, moisture: float = 0.0
) -> float:
    """mg/kg of dry soil for 1 mg/L in the extract.

    (V + w m) / (m (1 - w)), V the liquid, m the moist soil, w its share of water; m = 1 for a ratio
    by mass, m = the scoop's density for one by volume.

    Parameters
    ----------
    ratio : (float, float)
        Soil and liquid.
    scoop_density : float or None
        g/mL of loose soil in the scoop, for a ratio by volume; None for one by mass.
    moisture : float
        Share of water in the moist soil's mass, 0 <= moisture < 1.

    Examples
    --------
    >>> extract_factor((1, 5)), extract_factor((1, 5), scoop_density=1.25)
    (5.0, 4.0)
    """
    soil, liquid = ratio
    mass = soil * (1.0 if scoop_density is None else scoop_density)
    return (liquid + moisture * mass) / (mass * (1 - moisture))


def soil_content(reading: SoilReading, plot: Plot) -> Content | Gap:
    """Return what a reading says of the soil, as element and per mass (or volume) of dry soil.

    A value whose basis is soil is taken as it is, whatever the ratio. A ratio that is not said to
    be by mass is taken by volume, with the range of a scoop's density.
    """
    spread = reading.spread()
    if spread is None:
        return Gap(missing="a value", fill_in="Read the tube on a chart whose span reaches it.")
    if reading.form is None and reading.quantity in _FORMS:
        forms = _FORMS[reading.quantity]
        return Gap(missing="the form", fill_in=f"Say whether it is counted as {forms}.")
    if reading.basis is None:
        fill = "Say whether the values are of the extract or of the soil."
        return Gap(missing="the basis", fill_in=fill)
    element, share, steps = reading.quantity, 1.0, []
    if reading.form is not None:
        element, share = reading.form[0], mass_of_element(reading.form)
    if share != 1:
        text = f"x {share:.4f}: {element} in {reading.form}, from the atomic weights"
        citation = load_table("atomic_weights").citation
        steps.append(CalculationStep(text=text, citation=citation))
    spread = spread.at_least_zero().scaled(share, share, share)
    if reading.basis == "soil":
        unit = {"mg/kg": "mg/kg", "ppm": "mg/kg", "mg/L": "mg/L"}.get(reading.unit or "")
        if unit is None:
            return Gap(missing="a unit of soil", fill_in="Use mg/kg, ppm or mg/L (of soil).")
        text = "The value is of the soil: no ratio of soil to liquid is counted"
        steps.append(CalculationStep(text=text, result=as_amount(element, unit, spread)))
        return Content(element=element, unit=unit, spread=spread, steps=tuple(steps))
    return _from_extract(reading, plot, element, spread, steps)


def as_amount(name: str, unit: str, spread: Spread) -> Amount:
    """Return a spread as an amount; without a range where it has none."""
    low, high = (None, None) if spread.low == spread.high else (spread.low, spread.high)
    return Amount(name=name, unit=unit, best=spread.value, low=low, high=high)


def _from_extract(
    reading: SoilReading,
    plot: Plot,
    element: str,
    spread: Spread,
    steps: Sequence[CalculationStep],
) -> Content | Gap:
    if reading.unit not in ("mg/L", "ppm"):
        return Gap(missing="a unit of liquid", fill_in="Use mg/L or ppm for an extract.")
    if reading.ratio is None:
        return Gap(missing="the ratio", fill_in="Say how much soil and liquid, such as 1:5.")
    soil, _, liquid = (normal_ratio(reading.ratio) or "").partition(":")
    ratio, moisture = (float(soil), float(liquid)), plot.moisture or 0.0
    notes, citation = [], None
    if plot.moisture is None:
        notes.append("the sample is taken as dry")
    if reading.ratio_by == "mass":
        factor = extract_factor(ratio, moisture=moisture)
        factors = (factor, factor, factor)
    else:
        (row,) = load_table("scoop_density")
        citation = load_table("scoop_density").citation
        dense, loose = row.number("high"), row.number("low")
        low, best, high = (
            extract_factor(ratio, scoop_density=density, moisture=moisture)
            for density in (dense, math.sqrt(dense * loose), loose)
        )
        factors = (low, best, high)
        notes.append(
            f"the ratio is taken by volume, a scoop of soil as {loose:g} to {dense:g} g/mL "
            "(from memory, verify locally)"
        )
    found = spread.scaled(*factors)
    said = f"{factors[0]:.4g}" + ("" if factors[0] == factors[2] else f" to {factors[2]:.4g}")
    text = f"x {said} for soil to liquid {reading.ratio}"
    if moisture:
        text += f", {100 * moisture:g} % water in the soil"
    result = as_amount(element, "mg/kg", found)
    return Content(
        element=element,
        unit="mg/kg",
        spread=found,
        notes=tuple(notes),
        steps=(*steps, CalculationStep(text=text, result=result, citation=citation)),
    )


def content_per_area(content: Content, plot: Plot) -> Amount | Gap:
    """Return the mass of an element per area, kg/ha, over the plot's depth.

    kg/ha = mg/kg x bulk density (g/cm3) x depth (cm) x 0.1; per litre of soil without the density.

    Examples
    --------
    >>> spread = Spread(value=10.0, low=8.0, high=12.0)
    >>> found = Content(element="N", unit="mg/kg", spread=spread)
    >>> amount = content_per_area(found, Plot(bulk_density_g_cm3=1.3, depth_cm=15))
    >>> round(amount.best, 9)
    19.5
    """
    if plot.depth_cm is None:
        return Gap(missing="the depth", fill_in="Say how deep the sample was taken.")
    densities = (1.0, 1.0) if content.unit == "mg/L" else bulk_density(plot)
    if densities is None:
        return Gap(
            missing="the bulk density", fill_in="Give the soil's bulk density, or its texture."
        )
    low, high = (0.1 * density * plot.depth_cm for density in densities)
    spread = content.spread.scaled(low, (low + high) / 2, high)
    return as_amount(f"{content.element} in the soil", "kg/ha", spread)


def as_fertiliser_counts(amount: Amount, element: str) -> Amount | None:
    """Return an amount of P or K as the oxide that fertilizers are counted in; None for others.

    Examples
    --------
    >>> found = as_fertiliser_counts(Amount(name="P", unit="kg/ha", best=10.0), "P")
    >>> round(found.best, 2), found.name
    (22.91, 'counted as P2O5')
    """
    oxide = {"P": "P2O5", "K": "K2O"}.get(element)
    if oxide is None:
        return None
    return amount.scaled(1 / mass_of_element(oxide), name=f"counted as {oxide}", unit=amount.unit)


def in_unit_of(content: Content, scale: CategoryScale) -> Spread | None:
    """Return an amount in the unit of a scale; None where the two cannot be compared."""
    if content.unit == scale.unit:
        return content.spread
    if content.unit == "mg/kg" and scale.unit == "lb/acre":
        factor = LBS_PER_ACRE_PER_MG_PER_KG
        return content.spread.scaled(factor, factor, factor)
    return None


def category(value: float, scale: CategoryScale) -> str:
    """Return the category of a value that is in the scale's unit.

    Examples
    --------
    >>> from app.soil.region import shipped_region
    >>> category(45, shipped_region("new_jersey").categories[0])
    'low'
    """
    step = Decimal(str(scale.step))
    rounded = (Decimal(str(value)) / step).quantize(Decimal(1), ROUND_HALF_UP) * step
    return CATEGORIES[sum(float(rounded) >= limit for limit in scale.limits)]


def category_shares(content: Content, scale: CategoryScale) -> tuple[Share, ...]:
    """Return the categories that the interval touches, each with its probability.

    Empty where the units cannot be compared. Values are rounded half up to the scale's step, so
    that a limit begins half a step below the printed number.
    """
    spread = in_unit_of(content, scale)
    if spread is None:
        return ()
    limits = [limit - scale.step / 2 if limit > 0 else -math.inf for limit in scale.limits]
    return shares(spread, limits, CATEGORIES)


def matching_scale(
    reading: SoilReading, content: Content, scales: Sequence[CategoryScale]
) -> CategoryScale | None:
    """Return the scale of a reading's quantity, extractant and unit, None where there is none."""
    for scale in scales:
        fits = scale.quantity == reading.quantity and scale.takes(reading.extractant)
        if fits and in_unit_of(content, scale) is not None:
            return scale
    return None


def widest_category(
    reading: SoilReading, content: Content, scales: Sequence[CategoryScale]
) -> tuple[tuple[str, ...], tuple[CategoryScale, ...]]:
    """Return the categories that any of the region's scales gives, and those scales.

    For a test that is none of the extractants: an orientation, no more.
    """
    used, found = [], set()
    for scale in scales:
        of_scale = category_shares(content, scale) if scale.quantity == reading.quantity else ()
        if of_scale:
            used.append(scale)
            found |= {share.label for share in of_scale}
    places = [CATEGORIES.index(label) for label in found]
    labels = CATEGORIES[min(places) : max(places) + 1] if places else ()
    return labels, tuple(used)
