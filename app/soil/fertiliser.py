"""What a crop wants of each nutrient, and what one plot is to get."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from app.soil.region_tables import CATEGORIES, NUTRIENTS, Recommendation
from app.soil.spread import Share
from app.soil.table_reader import Citation
from app.soil.units import Amount, convert

_QUANTITY_OF = {"N": "nitrogen", "P2O5": "phosphorus", "K2O": "potassium"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """How much of one nutrient a crop wants.

    Parameters
    ----------
    nutrient : {"N", "P2O5", "K2O"}
        What.
    rate : Amount
        kg/ha, with its range over the categories that the reading leaves open.
    ruled_out : bool
        Whether none may be given: phosphorus is high or very high already.
    citation : Citation
        Where it stands printed.
    """

    nutrient: str
    rate: Amount
    ruled_out: bool
    citation: Citation

    @property
    def may_be_none(self) -> bool:
        """Whether the reading may also mean that nothing is needed."""
        return self.rate.low == 0 and self.rate.high != 0


def requirement(row: Recommendation, categories: Sequence[Share]) -> Requirement | None:
    """Return what a recommendation says for the categories a soil may be in.

    The single figure is the middle of the rate of the most probable category. Phosphorus that is
    high or very high gets none, whatever the crop. None where the rate depends on a category and
    none is known.

    Examples
    --------
    >>> from app.soil.region import shipped_region
    >>> row = shipped_region("texas").recommendations[1]
    >>> need = requirement(row, [Share(label="low", probability=1.0)])
    >>> round(need.rate.best, 1)
    89.7
    """
    if not categories and row.needs_category:
        return None
    rates = {
        share.label: _rate(row, share.label)
        for share in (categories or [Share(label=CATEGORIES[0], probability=1.0)])
    }
    best = max(categories, key=lambda share: share.probability, default=None)
    low, high = rates[CATEGORIES[0] if best is None else best.label]
    bottom, top = min(rate[0] for rate in rates.values()), max(rate[1] for rate in rates.values())
    in_unit = Amount(name=row.nutrient, unit=row.unit, best=(low + high) / 2, low=bottom, high=top)
    if bottom == top:
        in_unit = Amount(name=row.nutrient, unit=row.unit, best=bottom)
    return Requirement(
        nutrient=row.nutrient,
        rate=in_unit.converted("kg/ha"),
        ruled_out=best is not None and _is_enough(row, best.label),
        citation=row.citation,
    )


def _rate(row: Recommendation, category: str) -> tuple[float, float]:
    if _is_enough(row, category):
        return 0.0, 0.0
    return row.rates[CATEGORIES.index(category)]


def _is_enough(row: Recommendation, category: str) -> bool:
    return row.nutrient == "P2O5" and category in ("high", "very high")


def quantity_of(nutrient: str) -> str:
    """Return the quantity that a test of a nutrient measures.

    Examples
    --------
    >>> quantity_of("P2O5")
    'phosphorus'
    """
    return _QUANTITY_OF[nutrient]


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What one plot is to get.

    Parameters
    ----------
    plot : str
        Its name.
    area_m2 : float
        Square metres.
    n, p2o5, k2o : float
        kg/ha of each nutrient, >= 0.
    without : tuple of str
        Nutrients of which nothing may be spread.
    """

    plot: str
    area_m2: float
    n: float = 0.0
    p2o5: float = 0.0
    k2o: float = 0.0
    without: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if not 0 < self.area_m2 < math.inf:
            raise ValueError(f"area_m2 must be > 0, got {self.area_m2}")
        for name, rate in zip(NUTRIENTS, (self.n, self.p2o5, self.k2o), strict=True):
            if not 0 <= rate < math.inf or (rate > 0 and name in self.without):
                raise ValueError(f"{name} must be >= 0, and 0 where it is ruled out, got {rate}")

    @property
    def masses_kg(self) -> tuple[float, float, float]:
        """Mass of each nutrient for the plot, kilograms."""
        hectares = convert(self.area_m2, "m2", "ha")
        return self.n * hectares, self.p2o5 * hectares, self.k2o * hectares
