"""Fertilizers and sulphur that can be bought."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from app.soil.table_reader import load_table


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A fertilizer.

    Parameters
    ----------
    name : str
        As on the bag.
    n, p2o5, k2o : float
        Grade, percent of mass.
    bag_kg : float or None
        Mass of a bag; None where it is sold loose.
    price : float or None
        Of a bag, or of a kilogram where it is sold loose, in the user's money.
    acidity : float or None
        kg CaCO3 that offset 1 kg of its N; negative where it makes the soil less acid.
    """

    name: str
    n: float
    p2o5: float
    k2o: float
    bag_kg: float | None = None
    price: float | None = None
    acidity: float | None = None

    def __post_init__(self) -> None:
        if not all(grade >= 0 for grade in self.grade) or not 0 < sum(self.grade) <= 100:
            raise ValueError(f"the grade must be 0 to 100 in all, got {self.grade}")
        if self.bag_kg is not None and not 0 < self.bag_kg < math.inf:
            raise ValueError(f"bag_kg must be > 0, got {self.bag_kg}")
        if self.price is not None and not 0 <= self.price < math.inf:
            raise ValueError(f"price must be >= 0, got {self.price}")

    @property
    def grade(self) -> tuple[float, float, float]:
        """Percent of N, P2O5 and K2O."""
        return self.n, self.p2o5, self.k2o


@dataclass(frozen=True, slots=True, kw_only=True)
class SulphurProduct:
    """A sulphur to make a soil more acid.

    Parameters
    ----------
    name : str
        As on the bag.
    percent : float
        Elemental sulphur, percent of mass, > 0.
    bag_kg : float or None
        Mass of a bag; None where it is sold loose.
    price : float or None
        Of a bag, or of a kilogram where it is sold loose, in the user's money.
    """

    name: str
    percent: float
    bag_kg: float | None = None
    price: float | None = None

    def __post_init__(self) -> None:
        if not 0 < self.percent <= 100:
            raise ValueError(f"percent must be above 0 and at most 100, got {self.percent}")


@cache
def common_products() -> tuple[Product, ...]:
    """Return common fertilizers; the grade on the bag in hand always wins."""
    return tuple(
        Product(
            name=row.needed("name"),
            n=row.number("n"),
            p2o5=row.number("p2o5"),
            k2o=row.number("k2o"),
            acidity=row.maybe_number("acidity", signed=True),
        )
        for row in load_table("fertilisers")
    )


def acidifying_effect(used: Sequence[tuple[Product, float]]) -> float | None:
    """Return the kilograms of CaCO3 that offset the acid of a mix, None where one is not known.

    Examples
    --------
    >>> urea = Product(name="urea", n=46, p2o5=0, k2o=0, acidity=1.8)
    >>> round(acidifying_effect([(urea, 100.0)]), 1)
    82.8
    """
    effects = [
        0.0
        if product.n == 0
        else None
        if product.acidity is None
        else mass * product.n / 100 * product.acidity
        for product, mass in used
    ]
    known = [effect for effect in effects if effect is not None]
    return math.fsum(known) if len(known) == len(effects) else None
