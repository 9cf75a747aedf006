"""From a rate per area to what is carried to the field: depth, strength, area, dressings, bags."""

import math
from dataclasses import dataclass

from app.soil.table_reader import Citation, load_table
from app.soil.units import convert

USUAL_DEPTH_CM = 15.0
"""Taken where a table does not print its depth (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cap:
    """The most that is spread at once.

    Parameters
    ----------
    g_per_m2 : float
        Grams per square metre.
    wait_months : (float, float) or None
        How long to wait before the next dressing.
    citation : Citation
        Where it stands printed.
    """

    g_per_m2: float
    wait_months: tuple[float, float] | None
    citation: Citation


def caps(amendment: str, use: str) -> tuple[Cap, ...]:
    """Return the caps of "lime", "sulphur" or "nitrogen" on a use, lowest first.

    Examples
    --------
    >>> [round(cap.g_per_m2) for cap in caps("lime", "established lawn")]
    [244, 488]
    """
    found = []
    for row in load_table("caps"):
        if row.text("amendment") == amendment and row.text("use") in (use, "any"):
            low, high = (row.maybe_number(f"wait_months_{end}") for end in ("from", "to"))
            found.append(
                Cap(
                    g_per_m2=convert(row.number("cap"), row.needed("unit"), "g/m2"),
                    wait_months=None if low is None or high is None else (low, high),
                    citation=Citation(
                        source=row.text("source"), region=row.text("region"), year="not stated"
                    ),
                )
            )
    return tuple(sorted(found, key=lambda cap: cap.g_per_m2))


def for_depth(rate: float, *, table_depth_cm: float, depth_cm: float) -> float:
    """Scale a rate from the depth of its table to the depth that is worked.

    Examples
    --------
    >>> round(for_depth(3.5, table_depth_cm=6 * 2.54, depth_cm=4 * 2.54), 2)
    2.33
    """
    return rate * depth_cm / table_depth_cm


def for_strength(rate: float, percent: float) -> float:
    """Return how much of a product of this strength does the work of a pure one.

    Examples
    --------
    >>> for_strength(75, 80)
    93.75
    """
    if not percent > 0:
        raise ValueError(f"percent must be > 0, got {percent}")
    return rate * 100 / percent


def dressings(total: float, cap: float) -> tuple[float, ...]:
    """Split a rate into the fewest equal dressings of at most the cap, same unit.

    Examples
    --------
    >>> dressings(765, 488)
    (382.5, 382.5)
    """
    if not cap > 0 or not total >= 0:
        raise ValueError(f"needs total >= 0 and cap > 0, got {total} and {cap}")
    count = math.ceil(total / cap * (1 - 1e-12))
    return (total / count,) * count if count else ()


def whole_bags(mass_kg: float, bag_kg: float) -> int:
    """Return how many bags hold at least this mass.

    Examples
    --------
    >>> whole_bags(50.1, 25)
    3
    """
    if not bag_kg > 0 or not mass_kg >= 0:
        raise ValueError(f"needs mass >= 0 and bag > 0, got {mass_kg} and {bag_kg}")
    return math.ceil(mass_kg / bag_kg * (1 - 1e-12))
