"""What a crop needs, and the mix of products at hand that meets it.

One optimization for a bed or a whole survey: how much of each product is spread where, and how many
bags are bought for all of it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from app.errors import OrderError
from app.soil.amendment import whole_bags
from app.soil.region import CATEGORIES, NUTRIENTS, Recommendation
from app.soil.spread import Share
from app.soil.table_reader import Citation, load_table
from app.soil.units import Amount, convert
from calibration.sheet_reader import SheetRow

Aim = Literal["cost", "excess"]

PRODUCT_HEADINGS = ("name", "n", "p2o5", "k2o")
PRODUCT_OPTIONS = ("bag_kg", "price", "acidity")

_QUANTITY_OF = {"N": "nitrogen", "P2O5": "phosphorus", "K2O": "potassium"}


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


def products_of(rows: Sequence[SheetRow]) -> tuple[Product, ...]:
    """Return the products of a sheet with the headings of `PRODUCT_HEADINGS`.

    Raises
    ------
    SheetError
        If a line makes no sense; it is named.
    """
    products = []
    for row in rows:
        numbers = {name: row.number(name) for name in (*PRODUCT_HEADINGS[1:], *PRODUCT_OPTIONS)}
        n, p2o5, k2o = (numbers[name] or 0.0 for name in PRODUCT_HEADINGS[1:])
        if min(n, p2o5, k2o) < 0 or not 0 < n + p2o5 + k2o <= 100:
            raise row.error(
                f"The grade {n:g}-{p2o5:g}-{k2o:g} cannot be.", "Copy it from the bag, in percent."
            )
        if min(numbers["bag_kg"] or 0.0, numbers["price"] or 0.0) < 0:
            raise row.error("The mass or the price of a bag is below 0.", "Correct it.")
        if numbers["bag_kg"] == 0:
            raise row.error("A bag holds 0 kg.", "Correct bag_kg, or leave it blank if loose.")
        products.append(
            Product(
                name=row.needed("name"),
                n=n,
                p2o5=p2o5,
                k2o=k2o,
                bag_kg=numbers["bag_kg"],
                price=numbers["price"],
                acidity=numbers["acidity"],
            )
        )
    return tuple(products)


def product_for(nutrient_mass: float, percent: float) -> float:
    """Return the mass of product that carries a mass of nutrient, same unit.

    Examples
    --------
    >>> round(product_for(50, 46), 1), round(product_for(1, 21), 2)
    (108.7, 4.76)
    """
    if not percent > 0:
        raise ValueError(f"percent must be > 0, got {percent}")
    return nutrient_mass * 100 / percent


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Spreading:
    """What is spread on one plot.

    Parameters
    ----------
    plot : str
        Its name.
    products : tuple of (str, float)
        Name and kilograms of each product.
    given, excess : tuple of float
        Kilograms of N, P2O5 and K2O that are spread, and by how much that is above the need.
    unmet : tuple of str
        Nutrients that no allowed product carries: they stay at what comes along.
    acidity_kg : float or None
        Kilograms of CaCO3 that offset the acid; negative where the mix makes the soil less acid;
        None where a product's effect is not known.
    """

    plot: str
    products: tuple[tuple[str, float], ...]
    given: tuple[float, float, float]
    excess: tuple[float, float, float]
    unmet: tuple[str, ...]
    acidity_kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """One line of the shopping list.

    Parameters
    ----------
    name : str
        The product.
    mass_kg : float
        What is spread of it.
    bags : int or None
        Whole bags that are bought; None where it is sold loose.
    bought_kg : float
        What is bought.
    cost : float or None
        In the user's money; None without a price.
    """

    name: str
    mass_kg: float
    bags: int | None
    bought_kg: float
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Mix:
    """The mix that meets all needs.

    Parameters
    ----------
    aim : {"cost", "excess"}
        What was made least.
    spreadings : tuple of Spreading
        One for each need, in their order.
    purchases : tuple of Purchase
        What is to be bought.
    cost : float or None
        Of all of it; None where a price is missing.
    """

    aim: Aim
    spreadings: tuple[Spreading, ...]
    purchases: tuple[Purchase, ...]
    cost: float | None


def best_mix(needs: Sequence[Need], products: Sequence[Product], aim: Aim = "excess") -> Mix:
    """Return the mix that meets every need at the least cost or with the least excess.

    Mixed-integer linear program: kilograms x[plot, product] >= 0 and whole bags b[product];
    sum over products of grade x >= need, sum over plots of x <= bag b. With aim "cost" the price
    is least, and among equal prices the excess; with aim "excess" the mass of nutrients above
    the needs is least, and among equals the price, or the mass bought where prices are missing.

    Raises
    ------
    OrderError
        If there are no products, two share a name, or the least cost is asked for without prices.
    """
    _check(products, aim)
    grades = np.array([product.grade for product in products]) / 100
    wanted = np.array([need.masses_kg for need in needs])
    allowed = _allowed(needs, grades)
    reachable = (allowed.astype(float) @ grades) > 0
    program = _Program(grades, np.where(reachable, wanted, 0.0), allowed, products)
    if aim == "cost":
        bags = program.least_cost()
        spread = program.least_excess(bags=bags)[0]
    else:
        _, excess = program.least_excess()
        bags = program.least_cost(excess=excess)
        spread = program.least_excess(bags=bags)[0]
    spreadings = tuple(
        _spreading(need, products, row, grades, wanted[i], reachable[i])
        for i, (need, row) in enumerate(zip(needs, spread, strict=True))
    )
    purchases = tuple(
        purchase(product.name, float(mass), bag_kg=product.bag_kg, price=product.price)
        for product, mass in zip(products, spread.sum(axis=0), strict=True)
        if mass > 0
    )
    costs = [line.cost for line in purchases]
    total = None if None in costs else math.fsum(cost for cost in costs if cost is not None)
    return Mix(aim=aim, spreadings=spreadings, purchases=purchases, cost=total)


def _check(products: Sequence[Product], aim: Aim) -> None:
    if not products:
        raise OrderError(
            "There are no products to mix.", what_to_do="List the fertilizers that you can get."
        )
    names = [product.name for product in products]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise OrderError(f"Two products are named '{twice}'.", what_to_do="Give each its own name.")
    without = [product.name for product in products if product.price is None]
    if aim == "cost" and without:
        raise OrderError(
            f"There is no price for {', '.join(without)}.",
            what_to_do="Fill in the prices, or ask for the least excess.",
        )


def _allowed(needs: Sequence[Need], grades: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which product may go on which plot: none that carries a nutrient ruled out there."""
    ruled_out = np.array([[name in need.without for name in NUTRIENTS] for need in needs])
    return np.asarray((ruled_out.astype(float) @ grades.T) == 0)


class _Program:
    """The linear program; variables are x by plot, then by product, then b by product."""

    def __init__(
        self,
        grades: NDArray[np.float64],
        wanted: NDArray[np.float64],
        allowed: NDArray[np.bool_],
        products: Sequence[Product],
    ) -> None:
        self.plots, self.kinds = allowed.shape
        self.grades, self.wanted, self.allowed = grades, wanted, allowed
        self.scale = max(1.0, float(wanted.sum()))  # so that tolerances fit gardens and farms
        self.bag = np.array([product.bag_kg or 1.0 for product in products])
        self.loose = np.array([product.bag_kg is None for product in products])
        prices = [product.price for product in products]
        known = [price for price in prices if price is not None]
        priced = len(known) == len(prices)
        self.price = np.array(known) if priced else self.bag

    def _solve(
        self, costs: NDArray[np.float64], *, bags: NDArray[np.float64] | None, excess: float | None
    ) -> NDArray[np.float64]:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import block_diag, csr_array, eye_array, hstack

        size = self.plots * self.kinds
        supply = block_diag([self.grades.T] * self.plots, format="csr")
        empty = csr_array((supply.shape[0], self.kinds))
        stock = hstack([eye_array(self.kinds)] * self.plots, format="csr")
        bagged = csr_array(-np.diag(self.bag))
        constraints: list[Any] = [
            LinearConstraint(hstack([supply, empty]), self.wanted.ravel(), np.inf),
            LinearConstraint(hstack([stock, bagged]), -np.inf, 0.0),
        ]
        if excess is not None:
            slack = 1e-7 * self.scale
            total = np.concatenate([self._nutrients(), np.zeros(self.kinds)])
            constraints.append(LinearConstraint(total, -np.inf, self.wanted.sum() + excess + slack))
        ceiling = np.full(self.kinds, np.inf) if bags is None else bags
        upper = np.concatenate([np.where(self.allowed.ravel(), np.inf, 0.0), ceiling])
        whole = np.concatenate([np.zeros(size), ~self.loose]).astype(int)
        answer = milp(
            costs,
            constraints=constraints,
            bounds=Bounds(0.0, upper),
            integrality=whole,
            options={"time_limit": 20.0, "mip_rel_gap": 1e-6},
        )
        if answer.x is None:
            raise OrderError(
                "No mix was found in the time allowed.",
                what_to_do="Offer fewer products, or plan fewer plots at once.",
            )
        return np.asarray(answer.x, dtype=np.float64)

    def _nutrients(self) -> NDArray[np.float64]:
        return np.tile(self.grades.sum(axis=1), self.plots)

    def least_cost(self, *, excess: float | None = None) -> NDArray[np.float64]:
        """Return the bags of the cheapest purchase that can meet the needs."""
        costs = np.concatenate([np.zeros(self.plots * self.kinds), self.price])
        bags = self._solve(costs, bags=None, excess=excess)[-self.kinds :]
        return np.asarray(np.where(self.loose, bags * (1 + 1e-9), np.round(bags)))

    def least_excess(
        self, *, bags: NDArray[np.float64] | None = None
    ) -> tuple[NDArray[np.float64], float]:
        """Return what is spread, by plot and product, and the nutrients above the needs."""
        costs = np.concatenate([self._nutrients(), np.zeros(self.kinds)])
        answer = self._solve(costs, bags=bags, excess=None)
        spread = answer[: -self.kinds].reshape(self.plots, self.kinds)
        spread = np.where(spread > 1e-9 * self.scale, spread, 0.0)
        return spread, float((spread @ self.grades).sum() - self.wanted.sum())


def _spreading(
    need: Need,
    products: Sequence[Product],
    kilograms: NDArray[np.float64],
    grades: NDArray[np.float64],
    wanted: NDArray[np.float64],
    reachable: NDArray[np.bool_],
) -> Spreading:
    given = [float(mass) for mass in kilograms @ grades]
    excess = [max(0.0, got - want) for got, want in zip(given, wanted, strict=True)]
    used = [
        (product, float(mass)) for product, mass in zip(products, kilograms, strict=True) if mass
    ]
    return Spreading(
        plot=need.plot,
        products=tuple((product.name, mass) for product, mass in used),
        given=(given[0], given[1], given[2]),
        excess=(excess[0], excess[1], excess[2]),
        unmet=tuple(
            name
            for name, want, can in zip(NUTRIENTS, wanted, reachable, strict=True)
            if want > 0 and not can
        ),
        acidity_kg=acidifying_effect(used),
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


def purchase(
    name: str, mass_kg: float, *, bag_kg: float | None = None, price: float | None = None
) -> Purchase:
    """Return a line of the shopping list, also for lime and sulphur.

    Parameters
    ----------
    bag_kg, price : float or None
        Of the product: `price` is of a bag, or of a kilogram where it is sold loose.

    Examples
    --------
    >>> line = purchase("lime", 60.0, bag_kg=25.0, price=4.0)
    >>> line.bags, line.bought_kg, line.cost
    (3, 75.0, 12.0)
    """
    bags = None if bag_kg is None else whole_bags(mass_kg * (1 - 1e-7), bag_kg)
    bought = mass_kg if bag_kg is None or bags is None else bags * bag_kg
    count = mass_kg if bags is None else bags
    return Purchase(
        name=name,
        mass_kg=mass_kg,
        bags=bags,
        bought_kg=bought,
        cost=None if price is None else count * price,
    )
