"""Limes that can be bought: how strong and how fine they are."""

import math
from dataclasses import dataclass

from app.errors import OrderError
from app.soil.table_reader import load_table


@dataclass(frozen=True, slots=True, kw_only=True)
class LimeProduct:
    """A lime that can be bought.

    Parameters
    ----------
    name : str
        As on the bag.
    cce_percent : float
        Calcium carbonate equivalent, > 0.
    fineness_percent : float or None
        Share that works in good time, from `fineness`; None where it is not known.
    bag_kg : float or None
        Mass of a bag; None where it is sold loose.
    price : float or None
        Of a bag, or of a kilogram where it is sold loose, in the user's money.
    """

    name: str
    cce_percent: float
    fineness_percent: float | None = None
    bag_kg: float | None = None
    price: float | None = None

    def __post_init__(self) -> None:
        if not self.cce_percent > 0:
            raise OrderError(
                f"{self.name} does not neutralize acid: it is no lime.",
                what_to_do="Choose a limestone, or leave the product out.",
            )
        if self.cce_percent > 250:
            raise ValueError(f"cce_percent must be at most 250, got {self.cce_percent}")
        if self.fineness_percent is not None and not 0 < self.fineness_percent <= 100:
            raise ValueError(f"fineness_percent must be 0 to 100, got {self.fineness_percent}")
        for name in ("bag_kg", "price"):
            number = getattr(self, name)
            if number is not None and not (0 < number < math.inf or (name, number) == ("price", 0)):
                raise ValueError(f"{name} must be > 0, got {number}")

    @property
    def effective_percent(self) -> float:
        """CCE times fineness (ENV, ECCE): percent of pure, fine calcium carbonate.

        Examples
        --------
        >>> product = LimeProduct(name="lime", cce_percent=90, fineness_percent=76)
        >>> round(product.effective_percent, 9)
        68.4
        """
        fineness = 100.0 if self.fineness_percent is None else self.fineness_percent
        return self.cce_percent * fineness / 100


def fineness(method: str, passing: dict[int, float]) -> float:
    """Share of a lime that works in good time, percent, from what passes the sieves.

    Parameters
    ----------
    method : {"cornell", "oklahoma", "iowa"}
        Whose weights.
    passing : dict of int to float
        US sieve number and percent of mass that passes it.

    Raises
    ------
    OrderError
        If a sieve of the method is missing, or more passes a finer sieve than a coarser one.

    Examples
    --------
    >>> round(fineness("cornell", {20: 95, 60: 70, 100: 50}), 9)
    76.0
    """
    rows = [row for row in load_table("lime_fineness") if row.text("method") == method]
    if not rows:
        raise ValueError(f"no weights of sieves by {method!r}")
    sieves = [int(row.number("sieve")) for row in rows]
    if any(sieve not in passing for sieve in sieves):
        listed = ", ".join(map(str, sieves))
        raise OrderError(
            f"The fineness by {method} needs the sieves {listed}.",
            what_to_do="Copy them from the product's label, or leave the fineness out.",
        )
    shares = [passing[sieve] for sieve in sorted(passing)]
    if not all(0 <= share <= 100 for share in shares) or shares != sorted(shares, reverse=True):
        raise OrderError(
            "More passes a finer sieve than a coarser one, or the percentages are not 0 to 100.",
            what_to_do="Copy the percentages again; a higher sieve number is a finer sieve.",
        )
    return sum(
        row.number("weight") * passing[sieve] for row, sieve in zip(rows, sieves, strict=True)
    )
