"""Formulas and tables of laboratories' methods of finding the need for lime, each as printed."""

import math
from functools import cache

import numpy as np

from app.soil.table_reader import load_table
from app.soil.units import molar_mass

LEAST_WORTH_TON_PER_ACRE = 0.3
"""Below this North Carolina recommends none (NCDA&CS)."""


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
