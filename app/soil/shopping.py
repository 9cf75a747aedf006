"""What is bought for a whole survey: fertilizers in whole bags, lime and sulphur."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from app.soil.amendment import whole_bags
from app.soil.lime_product import LimeProduct
from app.soil.mix import Aim, Mix
from app.soil.product import SulphurProduct
from app.soil.units import Amount

Kind = Literal["fertiliser", "lime", "sulphur"]

PURE = {"lime": "pure, fine calcium carbonate", "sulphur": "elemental sulphur"}
"""What amounts are of where the user has named no product."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingLine:
    """One product.

    Parameters
    ----------
    kind : {"fertiliser", "lime", "sulphur"}
        What it is for.
    name : str
        The product.
    mass : Amount
        What is spread of it, kg; with the range of the advice.
    bags : Amount or None
        Whole bags that hold as much; None where it is sold loose.
    cost : Amount or None
        In the user's money; None without a price.
    """

    kind: Kind
    name: str
    mass: Amount
    bags: Amount | None
    cost: Amount | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShoppingList:
    """All that is bought.

    Parameters
    ----------
    lines : tuple of ShoppingLine
        Fertilizers first.
    cost : Amount or None
        Of all of it; None where a price is missing.
    aim : {"cost", "excess"} or None
        What the mix of fertilizers makes least; None where there is none.
    wait : tuple of str
        Samples whose lime or sulphur is not in the list: their test is to be repeated first.
    without_area : tuple of str
        Samples that are not in the list because the area of their ground is not known.
    problem : str or None
        Why no mix of fertilizers was found.
    """

    lines: tuple[ShoppingLine, ...]
    cost: Amount | None
    aim: Aim | None = None
    wait: tuple[str, ...] = ()
    without_area: tuple[str, ...] = ()
    problem: str | None = None


def fertiliser_lines(mix: Mix) -> tuple[ShoppingLine, ...]:
    """Return the lines of a mix."""
    return tuple(
        ShoppingLine(
            kind="fertiliser",
            name=bought.name,
            mass=_exactly("spread", "kg", bought.mass_kg),
            bags=None if bought.bags is None else _exactly("bags", "1", bought.bags),
            cost=None if bought.cost is None else _exactly("cost", "1", bought.cost),
        )
        for bought in mix.purchases
    )


def amendment_line(
    kind: Literal["lime", "sulphur"],
    totals: Sequence[Amount],
    product: LimeProduct | SulphurProduct | None,
) -> ShoppingLine | None:
    """Return the line of a lime or sulphur for several plots; None where none is wanted.

    The ranges of the plots are added up end by end.
    """
    low, best, high = _added(totals)
    if high == 0:
        return None
    mass = _ranged("spread", "kg", low, best, high)
    if product is None:
        return ShoppingLine(kind=kind, name=PURE[kind], mass=mass, bags=None, cost=None)
    bag_kg, price = product.bag_kg, product.price
    bags = None
    if bag_kg is not None:
        counts = [None if m is None else float(whole_bags(m, bag_kg)) for m in (low, best, high)]
        bags = _ranged("bags", "1", counts[0] or 0.0, counts[1], counts[2] or 0.0)
    counted = mass if bags is None else bags
    cost = None if price is None else counted.scaled(price, name="cost", unit="1")
    return ShoppingLine(kind=kind, name=product.name, mass=mass, bags=bags, cost=cost)


def cost_of(lines: Sequence[ShoppingLine]) -> Amount | None:
    """Return the cost of all lines; None where a price is missing or nothing is bought."""
    known = [line.cost for line in lines if line.cost is not None]
    if not lines or len(known) < len(lines):
        return None
    return _ranged("cost", "1", *_added(known))


def _added(amounts: Sequence[Amount]) -> tuple[float, float | None, float]:
    """Add up amounts end by end; no figure where one of them has only a range."""
    figures = [amount.best for amount in amounts]
    known = [figure for figure in figures if figure is not None]
    lows = (amount.best if amount.low is None else amount.low for amount in amounts)
    highs = (amount.best if amount.high is None else amount.high for amount in amounts)
    best = math.fsum(known) if len(known) == len(figures) else None
    return math.fsum(low or 0.0 for low in lows), best, math.fsum(high or 0.0 for high in highs)


def _exactly(name: str, unit: str, number: float) -> Amount:
    return Amount(name=name, unit=unit, best=float(number))


def _ranged(name: str, unit: str, low: float, best: float | None, high: float) -> Amount:
    if low == high:
        return Amount(name=name, unit=unit, best=high)
    if best is not None:
        best = min(max(best, low), high)
    return Amount(name=name, unit=unit, best=best, low=low, high=high)
