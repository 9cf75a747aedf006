"""The products that a user has or can buy: fertilizers, limes and sulphur, from one sheet."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

from app.errors import OrderError
from app.soil.lime_product import LimeProduct, fineness
from app.soil.product import Product, SulphurProduct, common_products
from app.soil.units import convert
from calibration.sheet_reader import SheetRow

SIEVES = (4, 8, 20, 60, 100)
HEADINGS = ("name",)
OPTIONS = (
    *("grade", "n", "p2o5", "k2o", "acidity"),
    *("cce", "fineness", "fineness_by", *(f"pass_{sieve}" for sieve in SIEVES)),
    *("sulphur", "sulfur"),
    *("bag_kg", "bag_lb", "price"),
)
"""Headings of the sheet; which of them are filled in says what a product is."""

_GRADE = re.compile(r"(\d+(?:\.\d+)?)\s*[-–]\s*(\d+(?:\.\d+)?)\s*[-–]\s*(\d+(?:\.\d+)?)", re.A)
_Priced = TypeVar("_Priced", LimeProduct, SulphurProduct)


@dataclass(frozen=True, slots=True, kw_only=True)
class Products:
    """What the user has or can buy.

    Parameters
    ----------
    fertilisers, limes, sulphurs : tuple
        In the order of the sheet; any of them may be empty.
    """

    fertilisers: tuple[Product, ...] = ()
    limes: tuple[LimeProduct, ...] = ()
    sulphurs: tuple[SulphurProduct, ...] = ()

    @property
    def lime(self) -> LimeProduct | None:
        """The lime that costs least for what it neutralizes; the first where a price is missing."""
        return _cheapest(self.limes, lambda lime: lime.effective_percent)

    @property
    def sulphur(self) -> SulphurProduct | None:
        """The sulphur that costs least for what it holds; the first where a price is missing."""
        return _cheapest(self.sulphurs, lambda sulphur: sulphur.percent)


def _cheapest(items: Sequence[_Priced], strength: Callable[[_Priced], float]) -> _Priced | None:
    if not items or any(item.price is None for item in items):
        return items[0] if items else None
    return min(items, key=lambda item: (item.price or 0.0) / (item.bag_kg or 1.0) / strength(item))


def products_of(rows: Sequence[SheetRow]) -> Products:
    """Return the products of a sheet with the headings of `HEADINGS` and `OPTIONS`.

    A line with a grade (in one cell, or under n, p2o5 and k2o) is a fertilizer, one with a cce a
    lime, one with a sulphur content is sulphur. A lime's fineness is a percentage, or follows from
    what passes the sieves by the rule under fineness_by.

    Raises
    ------
    SheetError
        If a line makes no sense; it is named.
    """
    fertilisers, limes, sulphurs = [], [], []
    lines: dict[str, int] = {}
    for row in rows:
        name = row.needed("name")
        if name.casefold() in lines:
            raise row.error(
                f"'{name}' stands on line {lines[name.casefold()]} already.",
                "Give each product its own name.",
            )
        lines[name.casefold()] = row.line
        grade, cce = _grade(row), row.number("cce")
        sulphur = row.number("sulphur") or row.number("sulfur")
        if sum(found is not None for found in (grade, cce, sulphur)) != 1:
            raise row.error(
                f"'{name}' is no fertilizer, no lime and no sulphur, or more than one of them.",
                "Fill in the grade such as 18-46-0, or cce in percent, or sulphur in percent.",
            )
        bag_kg, price = _bag_kg(row), row.number("price")
        if price is not None and price < 0:
            raise row.error("The price is below 0.", "Correct it.")
        if grade is not None:
            fertilisers.append(_fertiliser(row, name, grade, bag_kg, price))
        elif cce is not None:
            limes.append(_lime(row, name, cce, bag_kg, price))
        elif sulphur is not None:
            if not 0 < sulphur <= 100:
                raise row.error(f"Sulphur of {sulphur:g} % cannot be.", "Write percent of mass.")
            sulphurs.append(SulphurProduct(name=name, percent=sulphur, bag_kg=bag_kg, price=price))
    return Products(fertilisers=tuple(fertilisers), limes=tuple(limes), sulphurs=tuple(sulphurs))


def _grade(row: SheetRow) -> tuple[float, float, float] | None:
    """Return percent of N, P2O5 and K2O, None where the line has no grade."""
    text, single = row.text("grade"), [row.number(part) for part in ("n", "p2o5", "k2o")]
    if text is None:
        if all(part is None for part in single):
            return None
        n, p2o5, k2o = (part or 0.0 for part in single)
    else:
        found = _GRADE.fullmatch(text.replace(",", ".") if row.decimal_comma else text)
        if found is None or any(part is not None for part in single):
            raise row.error(
                f"The grade '{text[:40]}' is not understood.",
                "Write N-P2O5-K2O such as 18-46-0, and leave n, p2o5 and k2o blank.",
            )
        n, p2o5, k2o = (float(part) for part in found.groups())
    if min(n, p2o5, k2o) < 0 or not 0 < n + p2o5 + k2o <= 100:
        raise row.error(
            f"The grade {n:g}-{p2o5:g}-{k2o:g} cannot be.", "Copy it from the bag, in percent."
        )
    return n, p2o5, k2o


def _bag_kg(row: SheetRow) -> float | None:
    kilograms, pounds = row.number("bag_kg"), row.number("bag_lb")
    if kilograms is not None and pounds is not None:
        raise row.error("The bag has a mass in kg and one in lb.", "Leave one of them blank.")
    mass = kilograms if pounds is None else convert(pounds, "lb", "kg")
    if mass is not None and not mass > 0:
        raise row.error(
            f"A bag cannot hold {mass:g} kg.", "Correct it, or leave it blank if sold loose."
        )
    return mass


def _fertiliser(
    row: SheetRow,
    name: str,
    grade: tuple[float, float, float],
    bag_kg: float | None,
    price: float | None,
) -> Product:
    """Return a fertilizer; one of a common name and the same nitrogen has its known acidity."""
    acidity = row.number("acidity")
    if acidity is None:
        alike = (p for p in common_products() if (p.name, p.n) == (name.casefold(), grade[0]))
        acidity = next((p.acidity for p in alike), None)
    return Product(
        name=name,
        n=grade[0],
        p2o5=grade[1],
        k2o=grade[2],
        bag_kg=bag_kg,
        price=price,
        acidity=acidity,
    )


def _lime(
    row: SheetRow, name: str, cce: float, bag_kg: float | None, price: float | None
) -> LimeProduct:
    if not 0 <= cce <= 250:
        raise row.error(f"A cce of {cce:g} % cannot be.", "Copy it from the bag, in percent.")
    try:
        share = _fineness(row)
        if share is not None and not 0 < share <= 100:
            raise row.error(f"A fineness of {share:g} % cannot be.", "Copy it from the label.")
        return LimeProduct(
            name=name, cce_percent=cce, fineness_percent=share, bag_kg=bag_kg, price=price
        )
    except OrderError as error:
        raise row.error(error.what_happened, error.what_to_do) from error


def _fineness(row: SheetRow) -> float | None:
    share = row.number("fineness")
    passing = {sieve: row.number(f"pass_{sieve}") for sieve in SIEVES}
    known = {sieve: percent for sieve, percent in passing.items() if percent is not None}
    if share is not None or not known:
        return share
    rule = row.one_of("fineness_by", ("cornell", "oklahoma", "iowa"))
    if rule is None:
        raise row.error(
            "It is not said by whose rule the sieves count.",
            "Write cornell, oklahoma or iowa under fineness_by.",
        )
    return fineness(rule, known)
