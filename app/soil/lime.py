"""Rates of lime from a laboratory's buffer pH or exchangeable acidity.

A pH in water alone cannot give a rate, because soils hold different reserves of acidity. A rate
belongs to the method and the region it was worked out for.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from app.errors import OrderError
from app.soil.spread import Spread, carried
from app.soil.table_reader import Citation, Row, load_table
from app.soil.units import convert, molar_mass

HIGHEST_TARGET = 7.0
"""No soil is limed beyond neutral, whatever the middle of the crop's range (common practice)."""

EXCHANGEABLE = "exchangeable_acidity"
PER_DEPTH = ("smp_kansas", EXCHANGEABLE)
"""Methods whose rates cannot be given without a depth."""

CREDITS_RECENT_LIME = "mehlich_nc"

LEAST_WORTH_TON_PER_ACRE = 0.3
"""Below this North Carolina recommends none (NCDA&CS)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeMethod:
    """A laboratory's method of finding the need for lime.

    Parameters
    ----------
    key, title : str
        Its name for programs and for people.
    measures : {"buffer_ph", "exchangeable_acidity"}
        What the laboratory reports; acidity in meq/100 g, which is cmol(+)/kg.
    span : (float, float)
        Values that the method can have.
    uses_ph : bool
        Whether it also needs the pH in water.
    targets : (float, float) or None
        Target pH that it reaches, None where it has no choice of target.
    depth_cm : float or None
        Depth of its rates, None where it is not printed.
    percent : float
        Neutralizing value of the lime of its rates, percent of CaCO3.
    unit : str
        Of its rates.
    citation : Citation
        Where it stands printed.
    """

    key: str
    title: str
    measures: str
    span: tuple[float, float]
    uses_ph: bool
    targets: tuple[float, float] | None
    depth_cm: float | None
    percent: float
    unit: str
    citation: Citation


@cache
def lime_methods() -> tuple[LimeMethod, ...]:
    """Return all methods that are known."""
    return tuple(_method(row) for row in load_table("lime_methods"))


def _method(row: Row) -> LimeMethod:
    low, high = row.maybe_number("target_from"), row.maybe_number("target_to")
    depth = row.maybe_number("depth_in")
    return LimeMethod(
        key=row.needed("key"),
        title=row.needed("title"),
        measures=row.needed("measures"),
        span=(row.number("span_from"), row.number("span_to")),
        uses_ph=row.text("uses_ph") == "yes",
        targets=None if low is None or high is None else (low, high),
        depth_cm=None if depth is None else convert(depth, "in", "cm"),
        percent=row.number("neutralizing_percent"),
        unit=row.needed("unit"),
        citation=Citation(
            source=row.needed("source"), region=row.needed("region"), year=row.needed("year")
        ),
    )


def find_lime_method(key: str) -> LimeMethod:
    """Return a method by its key.

    Raises
    ------
    OrderError
        If there is none.
    """
    for method in lime_methods():
        if method.key == key:
            return method
    keys = ", ".join(method.key for method in lime_methods())
    raise OrderError(
        f"The lime method '{key[:40]}' is not known.", what_to_do=f"Use one of {keys}."
    )


def mehlich_acidity(buffer_ph: float) -> float:
    """Acidity by the Mehlich buffer, meq/100 cm3: 4 (6.6 - buffer pH), never below 0.

    Examples
    --------
    >>> round(mehlich_acidity(6.3), 9)
    1.2
    """
    return max(0.0, 4 * (6.6 - buffer_ph))


def mehlich_nc(buffer_ph: float, *, ph: float, target: float, credit: float = 0.0) -> float:
    """Lime by North Carolina's rule, ton/acre.

    Ac (target - pH) / (6.6 - pH) less the credit of lime spread within the year; below 0.3: 0.

    Parameters
    ----------
    credit : float
        What `residual_credit` gives, ton/acre.

    References
    ----------
    NCDA&CS Agronomic Division.
    """
    if ph >= min(target, 6.6):
        return 0.0
    rate = mehlich_acidity(buffer_ph) * (target - ph) / (6.6 - ph) - credit
    return rate if rate >= LEAST_WORTH_TON_PER_ACRE else 0.0


def residual_credit(spread_rate: float, months: float, *, organic: bool = False) -> float:
    """Lime of an earlier dressing that still has to work, in the unit of its rate.

    It falls by 8 % a month on mineral and 16 % on organic soil (NCDA&CS).

    Examples
    --------
    >>> round(residual_credit(1.0, 5), 9)
    0.6
    """
    return spread_rate * max(0.0, 1 - (0.16 if organic else 0.08) * months)


def sikora_oregon(buffer_ph: float, *, target: float) -> float:
    """Lime by Oregon's table for the Sikora buffer, ton/acre; linear between its cells.

    Examples
    --------
    >>> sikora_oregon(6.0, target=5.6), sikora_oregon(6.0, target=6.4)
    (1.7, 3.5)
    """
    buffers, targets, rates = _sikora_grid()
    at_buffer = [float(np.interp(buffer_ph, buffers, column)) for column in rates]
    return float(np.interp(target, targets, at_buffer))


@cache
def _sikora_grid() -> tuple[tuple[float, ...], tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Buffer pH rising, target pH rising, and for each target the rates by buffer pH."""
    table = load_table("lime_sikora_oregon")
    rows = sorted(table, key=lambda row: row.number("buffer_ph"))
    headings = table.table.columns[1:]
    return (
        tuple(row.number("buffer_ph") for row in rows),
        tuple(float(heading) for heading in headings),
        tuple(tuple(row.number(heading) for row in rows) for heading in headings),
    )


def smp_tristate(buffer_ph: float, *, target: float) -> float:
    """Lime of neutralizing value 90 by the tri-state lines for the SMP buffer, ton/acre.

    Linear between the lines of two targets; never below 0.
    """
    targets, lines = _coefficients("lime_smp_tristate", "constant", "per_lime_test_index")
    rates = [max(0.0, constant + slope * 10 * buffer_ph) for constant, slope in lines]
    return float(np.interp(target, targets, rates))


def smp_kansas(buffer_ph: float, *, target: float) -> float:
    """Effective calcium carbonate by the Kansas curves for the SMP buffer, lb/acre per inch.

    Linear between the curves of two targets; never below 0.
    """
    targets, curves = _coefficients("lime_smp_kansas", "constant", "linear", "square")
    rates = [max(0.0, a + b * buffer_ph + c * buffer_ph**2) for a, b, c in curves]
    return float(np.interp(target, targets, rates))


@cache
def _coefficients(
    table: str, *headings: str
) -> tuple[tuple[float, ...], tuple[tuple[float, ...], ...]]:
    """Target pH rising, and for each the coefficients of its formula."""
    rows = tuple(load_table(table))
    return (
        tuple(row.number("target_ph") for row in rows),
        tuple(tuple(row.number(heading, signed=True) for heading in headings) for row in rows),
    )


def base_unsaturation(ph: float) -> float:
    """Unsaturated share H of the exchange places: pH = 7.79 - 5.55 H + 2.27 H^2 (Adams & Evans).

    The equation turns back at H = 1.22; H is a share and ends at 1.

    Examples
    --------
    >>> round(base_unsaturation(5.0), 5), round(base_unsaturation(6.5), 5)
    (0.70735, 0.2601)
    """
    if ph >= 7.79:
        return 0.0
    inside = 5.55**2 - 4 * 2.27 * (7.79 - ph)
    return 1.0 if inside <= 0 else min(1.0, (5.55 - math.sqrt(inside)) / (2 * 2.27))


def adams_evans(buffer_ph: float, *, ph: float, target: float) -> float:
    """Calcium carbonate by the Adams-Evans buffer, lb/acre: 8000 (8 - BpH) / H1 (H1 - H2) 1.5."""
    if ph >= target:
        return 0.0
    now, then = base_unsaturation(ph), base_unsaturation(target)
    return 8000 * max(0.0, 8.0 - buffer_ph) / now * (now - then) * 1.5


def mehlich_1976(buffer_ph: float) -> float:
    """Calcium carbonate by Mehlich's general rule, t/ha to 20 cm: 0.1 Ac^2 + Ac.

    Examples
    --------
    >>> round(mehlich_1976(6.0), 3)
    2.976
    """
    acidity = mehlich_acidity(buffer_ph)
    return 0.1 * acidity**2 + acidity


def woodruff(buffer_ph: float) -> float:
    """Calcium carbonate by the original Woodruff buffer, lb/acre furrow slice.

    10 (7.0 - BpH) meq/100 g, 1000 lb each.

    Examples
    --------
    >>> round(woodruff(6.7))
    3000
    """
    return 1000 * max(0.0, 10 * (7.0 - buffer_ph))


def acidity_as_lime_mg_per_kg(acidity_cmol_per_kg: float) -> float:
    """Calcium carbonate that neutralizes an exchangeable acidity, mg per kg of soil.

    One mole of charge takes half a mole of CaCO3.

    Examples
    --------
    >>> round(acidity_as_lime_mg_per_kg(1.0))
    500
    """
    return acidity_cmol_per_kg * 10 * molar_mass("CaCO3") / 2


def turf_penn_state(acidity_meq_per_100g: float) -> float:
    """Calcium carbonate for turf by Penn State's table, lb/1000 ft2; linear between its rows."""
    known, rates = _turf_rates()
    return float(np.interp(acidity_meq_per_100g, known, rates))


@cache
def _turf_rates() -> tuple[tuple[float, ...], tuple[float, ...]]:
    rows = tuple(load_table("lime_turf_penn_state"))
    return (
        tuple(row.number("acidity_meq_per_100g") for row in rows),
        tuple(row.number("rate") for row in rows),
    )


def _formula(
    method: LimeMethod, target: float, soil_kg_per_m2: float | None, credit: float
) -> Callable[[float, float], float]:
    """Return a method's rate, in its unit, of what was measured and the pH."""
    if method.key == EXCHANGEABLE:
        if soil_kg_per_m2 is None:
            raise OrderError(
                "The exchangeable acidity gives no rate without the mass of the soil.",
                what_to_do="Give the depth, and the bulk density or the texture.",
            )
        soil = soil_kg_per_m2 / 100  # mg per kg of soil into kg per hectare
        return lambda measured, ph: acidity_as_lime_mg_per_kg(measured) * soil
    formulas: dict[str, Callable[[float, float], float]] = {
        "mehlich_nc": lambda measured, ph: mehlich_nc(
            measured, ph=ph, target=target, credit=credit
        ),
        "sikora_oregon": lambda measured, ph: sikora_oregon(measured, target=target),
        "smp_tristate": lambda measured, ph: smp_tristate(measured, target=target),
        "smp_kansas": lambda measured, ph: smp_kansas(measured, target=target),
        "adams_evans": lambda measured, ph: adams_evans(measured, ph=ph, target=target),
        "mehlich_1976": lambda measured, ph: mehlich_1976(measured),
        "woodruff": lambda measured, ph: woodruff(measured),
        "turf_penn_state": lambda measured, ph: turf_penn_state(measured),
    }
    return formulas[method.key]


def lime_from_laboratory(
    method: LimeMethod,
    measured: Spread,
    *,
    ph: Spread | None,
    needed_below: float,
    target: float,
    depth_cm: float,
    bulk_density_g_cm3: float | None = None,
    credit_kg_per_ha: float = 0.0,
    seed: int = 0,
) -> Spread:
    """Return pure calcium carbonate over the depth, g/m2, with its 90 % interval.

    Parameters
    ----------
    method : LimeMethod
        By which the laboratory measured.
    measured : Spread
        Its value.
    ph : Spread or None
        pH in water, where it is known; a soil that may already be right needs none then.
    needed_below : float
        pH at and above which no lime is needed.
    target : float
        The pH that is aimed at.
    depth_cm : float
        Depth that is worked. Rates whose depth is not printed are left as they are.
    bulk_density_g_cm3 : float or None
        For the exchangeable acidity only.
    credit_kg_per_ha : float
        Lime spread before that still has to work; only North Carolina's rule counts it.
    seed : int
        Of the Monte Carlo draws.

    Raises
    ------
    OrderError
        If the method cannot be used so.
    """
    low, high = method.span
    if not low <= measured.value <= high:
        raise OrderError(
            f"{measured.value:g} is outside {low:g} to {high:g}, where {method.title} works.",
            what_to_do="Check the number and the method on the laboratory's report.",
        )
    if method.targets and not method.targets[0] <= target <= method.targets[1]:
        raise OrderError(
            f"{method.title} has rates to pH {method.targets[0]:g} to {method.targets[1]:g}, "
            f"not to {target:.2f}.",
            what_to_do="Choose another method, or a crop with such a target.",
        )
    if method.uses_ph and ph is None:
        raise OrderError(
            f"{method.title} also needs the pH in water.", what_to_do="Add a pH in water."
        )
    soil = None if bulk_density_g_cm3 is None else bulk_density_g_cm3 * depth_cm * 10
    credit = convert(credit_kg_per_ha, "kg/ha", "ton/acre")
    formula = _formula(method, target, soil, credit)

    def rate(value: float, acid: float) -> float:
        if acid >= needed_below:
            return 0.0
        return formula(min(max(value, low), high), acid)

    acid = ph if ph is not None else Spread(value=0.0, low=0.0, high=0.0)
    found = carried(rate, measured, acid, seed=seed)
    scale = convert(1.0, method.unit, "g/m2") * method.percent / 100
    if method.depth_cm is not None:
        scale *= depth_cm / method.depth_cm
    return found.scaled(scale, scale, scale)
