"""From a rate of a pure substance to what is carried to a plot: strength, area, dressings, bags."""

from collections.abc import Callable
from dataclasses import dataclass

from app.soil.amendment import Cap, dressings, for_strength, whole_bags
from app.soil.lime_product import LimeProduct
from app.soil.product import SulphurProduct
from app.soil.soil_reading import Plot
from app.soil.statement import CalculationStep
from app.soil.units import Amount, rate_unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Dose:
    """What a plot gets of a lime or a sulphur.

    Parameters
    ----------
    amounts : tuple of Amount
        Total for the plot first, then bags, rate and dressings.
    total : Amount or None
        Kilograms of the product for the plot; None without an area.
    months : float
        How long the dressings take at least, at the low end of the rate.
    steps : tuple of CalculationStep
        How the amounts follow from the rate of the pure substance.
    """

    amounts: tuple[Amount, ...]
    total: Amount | None
    months: float
    steps: tuple[CalculationStep, ...]


def dose(pure: Amount, plot: Plot, cap: Cap, product: LimeProduct | SulphurProduct | None) -> Dose:
    """Return what a rate of the pure substance (g/m2, over the plot's depth) comes to.

    In this order: strength, area, dressings below the cap, whole bags.
    """
    steps = []
    rate = pure
    if product is not None:
        rate = pure.scaled(for_strength(1.0, _percent(product)), name=pure.name, unit=pure.unit)
        steps.append(CalculationStep(text=_say_strength(product), result=rate))
    unit = rate_unit(plot.area_m2)
    total = None
    count = _counted("dressings", rate, lambda grams: len(dressings(grams, cap.g_per_m2)))
    most = Amount(name="at most in one dressing", unit="g/m2", best=cap.g_per_m2)
    split = (count.high or count.best or 0) > 1
    amounts = [rate.converted(unit), count]
    amounts += [most.converted(unit), *_wait(cap)] if split else []
    if plot.area_m2 is not None:
        total = rate.scaled(plot.area_m2 / 1000, name="for this area", unit="kg")
        steps.append(CalculationStep(text=f"x {plot.area_m2:g} m2 of ground", result=total))
        in_bags = _in_bags(product, total)
        steps += in_bags
        if split:
            once = most.scaled(plot.area_m2 / 1000, name="at most at once on this area", unit="kg")
            amounts.insert(2, once)
        amounts = [total, *(step.result for step in in_bags if step.result is not None), *amounts]
    steps.append(
        CalculationStep(
            text=f"At most {cap.g_per_m2:.4g} g/m2 in one dressing, so in equal dressings:",
            result=count,
            citation=cap.citation,
        )
    )
    fewest = count.best if count.low is None else count.low
    wait = 0.0 if cap.wait_months is None else cap.wait_months[0]
    months = max(0.0, (fewest or 0.0) - 1) * wait
    return Dose(amounts=tuple(amounts), total=total, months=months, steps=tuple(steps))


def _percent(product: LimeProduct | SulphurProduct) -> float:
    return product.effective_percent if isinstance(product, LimeProduct) else product.percent


def _say_strength(product: LimeProduct | SulphurProduct) -> str:
    if isinstance(product, SulphurProduct):
        return f"/ {product.percent / 100:.4g}: {product.name} holds {product.percent:g} % sulphur"
    said = f"CCE {product.cce_percent:g} %"
    if product.fineness_percent is not None:
        said += f" x fineness {product.fineness_percent:g} %"
    return f"/ {product.effective_percent / 100:.4g}: {product.name}, {said}"


def _wait(cap: Cap) -> tuple[Amount, ...]:
    if cap.wait_months is None:
        return ()
    low, high = cap.wait_months
    ends = {"low": low, "high": high} if low < high else {"best": low}
    return (Amount(name="wait between dressings", unit="months", **ends),)


def _in_bags(
    product: LimeProduct | SulphurProduct | None, total: Amount
) -> tuple[CalculationStep, ...]:
    """Return the step to whole bags; none for a product that is sold loose."""
    bag_kg = None if product is None else product.bag_kg
    if bag_kg is None:
        return ()
    bags = _counted("bags", total, lambda mass: whole_bags(mass, bag_kg))
    return (CalculationStep(text=f"/ {bag_kg:.4g} kg a bag, rounded up", result=bags),)


def _counted(name: str, amount: Amount, count: Callable[[float], int]) -> Amount:
    """Return how many are needed at each end of an amount."""

    def of(number: float | None) -> float | None:
        return None if number is None else float(count(number))

    return Amount(
        name=name, unit="1", best=of(amount.best), low=of(amount.low), high=of(amount.high)
    )
