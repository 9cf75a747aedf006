"""Exact conversions between SI and US units, and between elements, oxides and ions."""

import math
import re
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from typing import Literal

from app.soil.table_reader import load_table

System = Literal["si", "us"]

_POUND = Fraction("0.45359237")  # kg, exact since 1959, as are the next two
_FOOT = Fraction("0.3048")  # m
_INCH = Fraction("2.54")  # cm
_ACRE = 43560 * _FOOT**2  # m2
_YARD2 = 9 * _FOOT**2
_MASS = {
    "kg": Fraction(1),
    "g": Fraction(1, 1000),
    "mg": Fraction(1, 1_000_000),
    "t": Fraction(1000),
    "lb": _POUND,
    "oz": _POUND / 16,
    "ton": 2000 * _POUND,
}
_AREA = {
    "m2": Fraction(1),
    "ha": Fraction(10_000),
    "ft2": _FOOT**2,
    "yd2": _YARD2,
    "acre": _ACRE,
    "100 ft2": 100 * _FOOT**2,
    "1000 ft2": 1000 * _FOOT**2,
}
_LENGTH = {"cm": Fraction(1), "mm": Fraction(1, 10), "m": Fraction(100)}
_LENGTH |= {"in": _INCH, "ft": 12 * _INCH}
_UNITS: dict[str, tuple[str, Fraction]] = {
    **{name: ("mass", factor) for name, factor in _MASS.items()},
    **{name: ("area", factor) for name, factor in _AREA.items()},
    **{name: ("length", factor) for name, factor in _LENGTH.items()},
    **{
        f"{mass}/{area}": ("mass per area", _MASS[mass] / _AREA[area])
        for mass in _MASS
        for area in _AREA
    },
}
_COUNTERPARTS = {
    "kg/ha": "lb/acre",
    "t/ha": "ton/acre",
    "g/m2": "lb/1000 ft2",
    "kg": "lb",
    "t": "ton",
    "m2": "ft2",
    "ha": "acre",
    "cm": "in",
}

LBS_PER_ACRE_PER_MG_PER_KG = 2
"""In the US an acre furrow slice is taken as 2,000,000 lb, so lb/acre is twice the mg/kg."""


def conversion_factor(source: str, target: str) -> Fraction:
    """Return by how much a number in one unit is multiplied to be in another, exactly.

    Raises
    ------
    ValueError
        If a unit is not known or the two do not measure the same.

    References
    ----------
    International pound, foot and acre: exact by definition (NIST Handbook 44, Appendix C).

    Examples
    --------
    >>> float(conversion_factor("acre", "m2"))
    4046.8564224
    """
    (kind, factor), (other, divisor) = _look_up(source), _look_up(target)
    if kind != other:
        raise ValueError(f"{source} is {kind}, {target} is {other}")
    return factor / divisor


def _look_up(unit: str) -> tuple[str, Fraction]:
    if unit not in _UNITS:
        raise ValueError(f"{unit!r} is not a unit that is known here")
    return _UNITS[unit]


def convert(value: float, source: str, target: str) -> float:
    """Convert a number; rounded once, at the end.

    Examples
    --------
    >>> round(convert(1, "ton/acre", "t/ha"), 4), round(convert(1, "lb/1000 ft2", "g/m2"), 4)
    (2.2417, 4.8824)
    """
    return float(Fraction(value) * conversion_factor(source, target))


def is_rate(unit: str) -> bool:
    """Whether a unit is a mass per area.

    Examples
    --------
    >>> is_rate("lb/acre"), is_rate("mg/kg")
    (True, False)
    """
    return unit in _UNITS and _UNITS[unit][0] == "mass per area"


@cache
def molar_mass(formula: str) -> float:
    """Mass of one mole in grams, from a formula without brackets.

    Examples
    --------
    >>> round(molar_mass("CaCO3"), 4)
    100.0869
    """
    weights = {row.text("element"): row.number("weight") for row in load_table("atomic_weights")}
    parts = re.findall(r"([A-Z][a-z]?)(\d*)", formula)
    return sum(weights[element] * int(count or 1) for element, count in parts)


_ELEMENT_IN = {  # form: (element, how often it is in the formula, formula)
    "NO3-N": ("N", 1, "N"),
    "NO3": ("N", 1, "NO3"),
    "NH4-N": ("N", 1, "N"),
    "NH4": ("N", 1, "NH4"),
    "P": ("P", 1, "P"),
    "P2O5": ("P", 2, "P2O5"),
    "K": ("K", 1, "K"),
    "K2O": ("K", 2, "K2O"),
}


def mass_of_element(form: str) -> float:
    """Mass of the element in one mass unit of a form.

    Examples
    --------
    >>> round(1 / mass_of_element("P2O5"), 4), round(1 / mass_of_element("NO3"), 4)
    (2.2914, 4.4268)
    """
    element, count, formula = _ELEMENT_IN[form]
    return count * molar_mass(element) / molar_mass(formula)


@dataclass(frozen=True, slots=True, kw_only=True)
class Amount:
    """A quantity with its range.

    Parameters
    ----------
    name : str
        What it is an amount of: "rate", "for this area", ...
    unit : str
        Its unit; "1" for a count.
    best : float or None
        The single figure; None where only a range is honest.
    low, high : float or None
        The range; both None where none is known.
    """

    name: str
    unit: str
    best: float | None = None
    low: float | None = None
    high: float | None = None

    def __post_init__(self) -> None:
        if (self.low is None) != (self.high is None):
            raise ValueError("low and high go together")
        if self.best is None and self.low is None:
            raise ValueError("an amount needs a figure or a range")
        known = [number for number in (self.low, self.best, self.high) if number is not None]
        if not all(0 <= number < math.inf for number in known) or known != sorted(known):
            raise ValueError(f"needs 0 <= low <= best <= high, got {known}")

    def scaled(self, factor: float, *, name: str, unit: str) -> "Amount":
        """Return the amount times a factor >= 0, under another name and unit."""

        def times(number: float | None) -> float | None:
            return None if number is None else number * factor

        return Amount(
            name=name, unit=unit, best=times(self.best), low=times(self.low), high=times(self.high)
        )

    def converted(self, unit: str) -> "Amount":
        """Return the same amount in another unit."""

        def in_unit(number: float | None) -> float | None:
            return None if number is None else convert(number, self.unit, unit)

        return replace(
            self, unit=unit, best=in_unit(self.best), low=in_unit(self.low), high=in_unit(self.high)
        )

    def in_system(self, system: System) -> "Amount":
        """Return the amount in SI or US units; one that has no counterpart stays as it is.

        Examples
        --------
        >>> Amount(name="rate", unit="kg/ha", best=100.0).in_system("us").unit
        'lb/acre'
        """
        towards = _COUNTERPARTS
        if system == "si":
            towards = {us: si for si, us in _COUNTERPARTS.items()}
        return self.converted(towards[self.unit]) if self.unit in towards else self


def rate_unit(area_m2: float | None) -> str:
    """Return the SI unit in which people think of a rate on an area of this size.

    Below a tenth of a hectare g/m2 (its US counterpart is lb/1000 ft2), else kg/ha (lb/acre).
    """
    return "g/m2" if area_m2 is not None and area_m2 < 1000 else "kg/ha"
