"""The mix of products at hand that meets what plots want.

One optimization for a bed or a whole survey: how much of each product is spread where, and how many
bags are bought for all of it.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from app.errors import OrderError
from app.soil.amendment import whole_bags
from app.soil.fertiliser import Need
from app.soil.product import Product, acidifying_effect
from app.soil.region_tables import NUTRIENTS
from app.soil.solver_noise import hushed
from app.soil.units import convert

Aim = Literal["cost", "excess"]

SAME_EXCESS = 1e-5
"""Share of what is wanted by which two mixes of the same excess may differ."""
LEAST_OF_A_BAG = 1e-5
"""Share of the largest bag below which a need is none: the solver takes 1e-6 of a bag for none."""
LEAST_KG_PER_HA = 0.1
"""Rate of a nutrient below which it is not spread (common practice)."""


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
    hectares = np.array([[convert(need.area_m2, "m2", "ha")] for need in needs])
    least = LEAST_OF_A_BAG * max(product.bag_kg or 1.0 for product in products)
    wanted = np.where(wanted < np.maximum(least, LEAST_KG_PER_HA * hectares), 0.0, wanted)
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
    """The linear program; variables are x by plot, then by product, then b by product.

    Masses on a plot are counted in what that plot wants, masses of all plots in what all want:
    the solver's tolerances then fit a bed beside a farm. What is sold loose comes in parts of one
    bag that would hold everything.
    """

    def __init__(
        self,
        grades: NDArray[np.float64],
        wanted: NDArray[np.float64],
        allowed: NDArray[np.bool_],
        products: Sequence[Product],
    ) -> None:
        self.plots, self.kinds = allowed.shape
        sizes = wanted.sum(axis=1)
        self.total = float(sizes.sum()) or 1.0
        self.size = np.where(sizes > 0, sizes, 1.0)
        self.share = sizes / self.total
        self.grades, self.wanted = grades, wanted / self.size[:, None]
        self.allowed = allowed & (sizes > 0)[:, None]
        self.loose = np.array([product.bag_kg is None for product in products])
        bags = np.array([product.bag_kg or self.total for product in products])
        self.bag = bags / self.total
        prices = [product.price for product in products]
        known = [price for price in prices if price is not None]
        self.price = bags
        if len(known) == len(prices):
            self.price = np.array(known) * np.where(self.loose, self.total, 1.0)
        self.price = self.price / (self.price.max() or 1.0)

    def _solve(
        self, costs: NDArray[np.float64], *, bags: NDArray[np.float64] | None, excess: float | None
    ) -> NDArray[np.float64]:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import block_diag, csr_array, diags_array, eye_array, hstack

        size = self.plots * self.kinds
        supply = block_diag([self.grades.T] * self.plots, format="csr")
        empty = csr_array((supply.shape[0], self.kinds))
        stock = hstack([share * eye_array(self.kinds) for share in self.share], format="csr")
        constraints: list[Any] = [
            LinearConstraint(hstack([supply, empty]), self.wanted.ravel(), np.inf),
            LinearConstraint(hstack([stock, -diags_array(self.bag)]), -np.inf, 0.0),
        ]
        if excess is not None:
            total = np.concatenate([self._nutrients(), np.zeros(self.kinds)])
            constraints.append(LinearConstraint(total, -np.inf, 1.0 + excess + SAME_EXCESS))
        ceiling = np.full(self.kinds, np.inf) if bags is None else bags
        upper = np.concatenate([np.where(self.allowed.ravel(), np.inf, 0.0), ceiling])
        whole = np.concatenate([np.zeros(size), ~self.loose]).astype(int)
        with hushed():
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
        """Nutrients by plot and product, in what all plots want."""
        return np.asarray(np.outer(self.share, self.grades.sum(axis=1)).ravel())

    def least_cost(self, *, excess: float | None = None) -> NDArray[np.float64]:
        """Return the bags of the cheapest purchase that can meet the needs."""
        costs = np.concatenate([np.zeros(self.plots * self.kinds), self.price])
        bags = self._solve(costs, bags=None, excess=excess)[-self.kinds :]
        return np.asarray(np.where(self.loose, bags * (1 + 1e-6) + 1e-9, np.round(bags)))

    def least_excess(
        self, *, bags: NDArray[np.float64] | None = None
    ) -> tuple[NDArray[np.float64], float]:
        """Return what is spread in kilograms, by plot and product, and the excess of nutrients.

        The excess is counted in what all plots want.
        """
        costs = np.concatenate([self._nutrients(), np.zeros(self.kinds)])
        answer = self._solve(costs, bags=bags, excess=None)
        spread = answer[: -self.kinds].reshape(self.plots, self.kinds)
        spread = np.where(spread > 1e-6, spread, 0.0)
        excess = float(self._nutrients() @ spread.ravel()) - float(self.share.sum())
        return spread * self.size[:, None], max(0.0, excess)


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
